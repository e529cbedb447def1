"""Who is at a clip, where they are, and what was left for whoever comes next.

A page that watches says every few seconds where it is; so the others on the same clip see each other, and each
other's marks, within five seconds.
"""

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from review import frames
from review.crew import access
from review.models import Clip, Person, Select, Stint, Viewing
from review.record import watching
from review.refusals import Refusal

PULSE_EVERY = 4  # seconds between two words of a page
GONE_AFTER = timedelta(seconds=20)  # without a word
LONGEST_REMARK = 500  # letters


@dataclass(frozen=True)
class Pulse:
    """What a page is told: who else is here, the selects that changed after `since`, and who holds what of it."""

    others: list[Viewing]
    selects: list[Select]
    stints: list[Stint]
    now: datetime  # to be given as `since` the next time


def pulse(person: Person, clip: Clip, viewing_id: uuid.UUID, frame: int, since: datetime | None) -> Pulse:
    """A page says that it is open at `frame`, and hears what is new."""
    viewing = watching.open_viewing(person, clip, viewing_id)
    if not 0 <= frame < clip.frames:
        raise Refusal(f"{clip.name} has no frame {frame}.", "frame")
    now = timezone.now()
    Viewing.objects.filter(id=viewing.id).update(frame=frame, heard_at=now, left_at=None)
    changed = Select.objects.filter(clip=clip).select_related("clip__card", "logger").prefetch_related("tags")
    # A little before, because a mark that was being written then has an earlier time than its arrival.
    news = changed.filter(modified__gt=since - timedelta(seconds=2)) if since else changed.none()
    return Pulse(others_at(clip, viewing_id), list(news), held(clip), now)


def held(clip: Clip) -> list[Stint]:
    """The stints that people hold of a clip, with their loggers."""
    return list(Stint.objects.filter(clip=clip, ended_at=None).select_related("logger"))


def others_at(clip: Clip, viewing_id: uuid.UUID | None = None) -> list[Viewing]:
    """The openings of a clip that were heard of lately, but for one's own; of each person the latest."""
    alive = clip.viewings.filter(heard_at__gte=timezone.now() - GONE_AFTER, left_at=None).exclude(id=viewing_id)
    latest = {viewing.person_id: viewing for viewing in alive.select_related("person").order_by("heard_at")}
    return sorted(latest.values(), key=lambda viewing: viewing.person.username)


# Leaving a clip ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class HandOver:
    """Where the last person left a clip, and what they said. `unseen` frames of it nobody has seen."""

    viewing: Viewing
    unseen: int

    @property
    def frame(self) -> int:
        return min(self.viewing.frame, self.viewing.clip.frames - 1)


def leave(person: Person, clip: Clip, viewing_id: uuid.UUID, frame: int, remark: str | None = None) -> None:
    """A page is closed at `frame`; with a remark, that is for whoever comes next."""
    viewing = watching.open_viewing(person, clip, viewing_id)
    frame = min(max(frame, 0), clip.frames - 1)
    changes = {"frame": frame, "heard_at": timezone.now(), "left_at": timezone.now()}
    if remark is not None:
        remark = " ".join(remark.replace("\0", "").split())
        if len(remark) > LONGEST_REMARK:
            raise Refusal(f"The remark has {len(remark)} letters; {LONGEST_REMARK} is the most.", "remark")
        changes["remark"] = remark
    Viewing.objects.filter(id=viewing.id).update(**changes)


def last_left(clip: Clip, person: Person) -> HandOver | None:
    """Where somebody else left the clip last, with what they said; None if nobody else was there."""
    access.require(person, clip.card.production, watching.roles.SEE)
    heard = clip.viewings.exclude(heard_at=None).exclude(person=person).select_related("person", "clip")
    gone = heard.exclude(person__in=[viewing.person_id for viewing in others_at(clip)]).order_by("-heard_at")
    # Whoever only looked in, and neither watched nor said anything, hides nobody who did.
    viewing = gone.exclude(remark="", last_batch=0).first() or gone.first()
    if viewing is None:
        return None
    seen = clip.watched_ranges.values_list("in_frame", "out_frame")
    return HandOver(viewing, frames.count(frames.gaps(seen, clip.frames)))
