"""Taking what nobody holds, in stretches of some minutes: near what the person watches, ending at a quiet point."""

import json
from dataclasses import dataclass

from django.db import transaction
from django.db.models import F

from review import roles
from review.crew import access
from review.crew.activity import About, happened
from review.frames import gaps
from review.media import lanes
from review.models import Clip, Person, Production, Select, Stint, Viewing
from review.record import stints
from review.record.coverage import footage
from review.refusals import Refusal
from review.team.holding import Span, first_looks, open_spans, seen_in
from review.team.quiet import quiet_frame
from review.work.workshop import media_folder

MINUTES = (15, 30, 60)  # that are offered
LONGEST = 8 * 60  # minutes
MOST_CLIPS = 400  # in one stretch
_GIVE = 0.2  # a stretch may be this much shorter or longer than was asked for
_TRIES = 4


@dataclass(frozen=True)
class _Part:
    clip: Clip
    in_frame: int
    out_frame: int


def take_stretch(person: Person, production: Production, minutes: int) -> list[Stint]:
    """Take about so many minutes of what nobody holds and nobody has seen, over as many clips as that needs."""
    access.require(person, production, roles.TAKE_STINTS)
    if not 1 <= minutes <= LONGEST:
        raise Refusal(f"A stretch is 1 to {LONGEST} minutes long.", "minutes")
    for tries_left in reversed(range(_TRIES)):
        try:
            with transaction.atomic():
                return _take(person, production, minutes)
        except Refusal:
            if not tries_left:
                raise  # else somebody took a clip of it by itself in this very moment: the next best is free
    raise AssertionError


def _take(person: Person, production: Production, minutes: int) -> list[Stint]:
    lock(production)
    parts = _choose(person, production, 60.0 * minutes)
    if not parts:
        raise Refusal(
            f"Nothing of {production.code} that can be watched is free: all of it is seen or held. Ask for a stretch "
            "to be handed back, or look again when new cards have come.",
            "minutes",
        )
    lock_clips({part.clip.id for part in parts})
    place = stints.next_place(person, production)
    taken = [
        stints.lay(person, part.clip, part.in_frame, part.out_frame, place=place + at) for at, part in enumerate(parts)
    ]
    more = f" and {len(taken) - 1} stretches after it" if len(taken) > 1 else ""
    said = f"{stints.words(taken[0])}{more}: about {minutes} minutes"
    happened(production, person, "took", said, About.STINT, taken[0].id, clip=taken[0].clip)
    return taken


def lock(production: Production) -> None:
    """Whoever gives out what nobody holds comes one after the other. Marks and watching do not wait for it."""
    Production.objects.select_for_update(no_key=True).get(id=production.id)


def lock_clips(ids: set[int]) -> None:
    """Lock clips in the order of their ids, so that two who lock several never wait for each other."""
    ordered = sorted(ids)
    for at in range(0, len(ordered), 500):
        some = Clip.objects.filter(id__in=ordered[at : at + 500]).order_by("id")
        list(some.select_for_update().values_list("id", flat=True))


def _choose(person: Person, production: Production, wanted: float) -> list[_Part]:
    """What to take of what is free, `wanted` seconds long."""
    taken = first_looks(production)
    parts: list[_Part] = []
    for clip_id, length in _nearest(person, production):
        if clip_id in taken and not gaps(taken[clip_id], length):
            continue
        clip = Clip.objects.select_related("card__production").get(id=clip_id)
        seen = seen_in(Clip.objects.filter(id=clip_id)).get(clip_id, [])
        rate = float(clip.timebase.rate.fraction)
        for span in open_spans(clip.watchable_frames, seen, taken.get(clip_id, ())):
            if span.frames / rate > wanted * (1 + _GIVE):
                parts.append(_first_of(clip, span, wanted, rate))
                return parts
            parts.append(_Part(clip, span.in_frame, span.out_frame))
            wanted -= span.frames / rate
            if wanted < 60 or len(parts) == MOST_CLIPS:
                return parts
    return parts


def _first_of(clip: Clip, span: Span, wanted: float, rate: float) -> _Part:
    frames = [span.frame_after(int(times * wanted * rate)) for times in (1, 1 - _GIVE, 1 + _GIVE)]
    cut = quiet_point(clip, *frames)
    return _Part(clip, span.in_frame, frames[0] if cut is None else cut)


def _nearest(person: Person, production: Production) -> list[tuple[int, int]]:
    """The clips with something unseen that can be watched, and how many frames they have: first those after what the
    person watched last, of that day and camera; then the others in the order of the shoot, and round."""
    rows = list(
        footage(production)
        .filter(proxy_state__in=Clip.PLAYABLE)
        .order_by(F("card__shoot_date").asc(nulls_last=True), "card__camera", "start_frame", "id")
        .values_list("id", "card__shoot_date", "card__camera", "frames", F("watched_frames") + F("skimmed_frames"))
    )
    last = Viewing.objects.filter(person=person, clip__card__production=production).order_by("-opened_at").first()
    here = next((at for at, row in enumerate(rows) if last and row[0] == last.clip_id), 0)
    beside = rows[here][1:3] if rows else ()
    order = [*range(here, len(rows)), *range(here)]
    order.sort(key=lambda at: rows[at][1:3] != beside)  # which keeps the order of those that are alike
    return [(rows[at][0], rows[at][3]) for at in order if rows[at][3] > rows[at][4]]


def quiet_point(clip: Clip, wanted: int, low: int, high: int) -> int | None:
    """The frame near `wanted`, from `low` to `high`, at which a clip is best cut; None if selects take all of them."""
    selects = Select.objects.filter(clip=clip, deleted=None, in_frame__lt=high, out_frame__gt=low)
    return quiet_frame(wanted, low, high, _lanes(clip), selects.values_list("in_frame", "out_frame"))


def _lanes(clip: Clip) -> dict | None:
    if not clip.has_lanes:
        return None
    try:
        return json.loads((media_folder(clip.id) / lanes.FILE).read_text())
    except (OSError, ValueError):
        return None  # derived, and lost: it is made again when the card is checked
