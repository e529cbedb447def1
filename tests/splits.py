"""What the tests of handing out share: a small shoot, three loggers, and people who act at once."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from review import frames, roles
from review.crew import people
from review.models import Person, Stint
from review.refusals import Refusal
from review.team import handing_out, planning

MINUTE = 60 * 25  # frames


@pytest.fixture
def crew(cast):
    """Three loggers."""
    for name in ("ilse", "bram", "odd"):
        people.add_member(name, cast.kb04, roles.LOGGER)
    return {name: Person.objects.get(username=name) for name in ("ilse", "bram", "odd")}


@pytest.fixture
def shoot(make_clip):
    """Two days, two cameras, three clips of ten minutes a card: two hours. Returns the clips by name."""
    clips = {}
    for day in ("12", "13"):
        for camera in "AB":
            for number in range(3):
                name = f"{camera}{day}-{number}"
                card = f"KB04-2611{day}-{camera}01"
                start = f"{10 + number}:00:00:00"
                clips[name] = make_clip(name, card=card, frames=10 * MINUTE, start=start, proxy_state="ready")
    return clips


def plan(cast, hours=None, **wanted):
    return planning.propose(cast.producer, cast.kb04, wanted, hours or {"ilse": 8, "bram": 8})


def given(split):
    """Names of clips by logger, in the order of watching."""
    found = {}
    for piece in split.pieces.select_related("logger", "clip"):
        found.setdefault(piece.logger and piece.logger.username, []).append(piece.clip.name)
    return found


def accept(cast, split):
    split.refresh_from_db()
    return handing_out.accept(cast.producer, split, split.version)


def lock_step(count, work):
    """Do `work(at)` in `count` threads that begin together, each with a connection of its own; what it returned, or
    the Refusal that it raised."""
    barrier = Barrier(count, timeout=30)

    def one(at):
        barrier.wait()
        try:
            return work(at)
        except Refusal as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(one, range(count)))


def overlaps():
    """Pairs of live first looks that hold one frame twice."""
    live = list(Stint.objects.filter(ended_at=None, second=False))
    return [
        (one.id, other.id)
        for one in live
        for other in live
        if one.id < other.id and one.clip_id == other.clip_id
        if frames.intersect([(one.in_frame, one.out_frame)], [(other.in_frame, other.out_frame)])
    ]


@pytest.fixture
def reel(make_clip):
    """Four clips of a camera of ten minutes, and one of another camera."""
    clips = {
        f"A{at}": make_clip(f"A{at}", frames=10 * MINUTE, start=f"1{at}:00:00:00", proxy_state="ready")
        for at in range(4)
    }
    clips["B"] = make_clip("B", card="KB04-261112-B01", frames=10 * MINUTE, proxy_state="ready")
    return clips
