"""What was on the screen, written down as evidence.

Frames count as *watched* when they were shown at up to twice the speed with the sound on (or the
clip has none), as *skimmed* when faster, muted or backwards. A page sends what it showed in numbered batches;
a batch that comes twice counts once, and no batch can hold more than the clock since the page was
opened allows.
"""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.utils import timezone

from review import access, frames, roles
from review.frames import FrameRange
from review.models import Clip, Person, Viewing, WatchedRange
from review.refusals import Refusal

FASTEST_WATCHED = 2.0  # times real time
SLACK_SECONDS = 1.5  # the page opens a little before the server hears of it
WATCHED, SKIMMED = WatchedRange.Manner.WATCHED, WatchedRange.Manner.SKIMMED


@dataclass(frozen=True)
class Span:
    """Frames [in_frame, out_frame) shown one after the other in `seconds` of playing (never less
    than the frames take at `speed`), at `speed` times real time."""

    in_frame: int
    out_frame: int
    speed: float
    muted: bool


def open_viewing(person: Person, clip: Clip, viewing_id: uuid.UUID) -> Viewing:
    """Start the clock of one opening of a clip. Opening the same one again changes nothing."""
    access.require(person, clip.card.production, roles.WATCH)
    try:
        with transaction.atomic():
            viewing, _ = Viewing.objects.get_or_create(id=viewing_id, defaults={"person": person, "clip": clip})
    except IntegrityError:
        viewing = Viewing.objects.get(id=viewing_id)
    if viewing.person_id != person.id or viewing.clip_id != clip.id:
        raise Refusal("This viewing belongs to another clip or person; open the clip's page again.", "viewing")
    return viewing


def record(person: Person, clip: Clip, viewing_id: uuid.UUID, batch: int, spans: Iterable[Span]) -> Clip:
    """Count batch number `batch` (from 1) of a viewing. Returns the clip with its new totals."""
    spans = [_checked(clip, span) for span in spans]
    open_viewing(person, clip, viewing_id)
    with transaction.atomic():
        clip = Clip.objects.select_for_update().select_related("card__production").get(id=clip.id)
        viewing = Viewing.objects.select_for_update().get(id=viewing_id)
        if batch <= viewing.last_batch:
            return clip
        elapsed = (timezone.now() - viewing.opened_at).total_seconds() + SLACK_SECONDS
        seen: dict[str, list[FrameRange]] = {WATCHED: [], SKIMMED: []}
        for span in spans:
            left = max(0.0, elapsed - viewing.seconds_used)
            allowed = int(left * span.speed * clip.timebase.rate.fraction)
            shown = FrameRange(span.in_frame, min(span.out_frame, span.in_frame + allowed))
            if shown.length:
                viewing.seconds_used += float(clip.timebase.rate.seconds(shown.length)) / span.speed
                seen[_manner(clip, span)].append(shown)
        viewing.last_batch = batch
        viewing.save(update_fields=["seconds_used", "last_batch"])
        for manner, ranges in seen.items():
            _add(clip, person, manner, ranges)
        count_seen(clip)
        clip.save(update_fields=["watched_frames", "skimmed_frames"])
    return clip


def _checked(clip: Clip, span: Span) -> Span:
    if not 0 <= span.in_frame < span.out_frame <= clip.frames:
        raise Refusal(
            f"[{span.in_frame}, {span.out_frame}) is not a range of frames of {clip.name}, which has {clip.frames}.",
            "spans",
        )
    if not 0 < span.speed <= 16:
        raise Refusal(f"A speed of {span.speed} cannot be; it is a number above 0 and up to 16.", "spans")
    return span


def _manner(clip: Clip, span: Span) -> str:
    heard = clip.channels == 0 or not span.muted
    return WATCHED if span.speed <= FASTEST_WATCHED and heard else SKIMMED


def _add(clip: Clip, person: Person, manner: str, ranges: list[FrameRange]) -> None:
    """Join new ranges to those that they touch."""
    for new in frames.union(ranges):
        touching = WatchedRange.objects.filter(
            clip=clip, person=person, manner=manner, in_frame__lte=new.out_frame, out_frame__gte=new.in_frame
        )
        old = list(touching.values_list("in_frame", "out_frame"))
        joined = frames.union([new, *old])[0]
        if old == [joined]:
            continue
        touching.delete()
        WatchedRange.objects.create(
            clip=clip, person=person, manner=manner, in_frame=joined.in_frame, out_frame=joined.out_frame
        )


def seen_ranges(clip: Clip, person: Person | None = None) -> dict[str, list[FrameRange]]:
    """The frames watched, and those skimmed by somebody and watched by nobody; of one person if given."""
    rows = WatchedRange.objects.filter(clip=clip)
    if person is not None:
        rows = rows.filter(person=person)
    ranges: dict[str, list[tuple[int, int]]] = {WATCHED: [], SKIMMED: []}
    for manner, start, end in rows.values_list("manner", "in_frame", "out_frame"):
        ranges[manner].append((start, min(end, clip.frames)))
    watched = frames.union(ranges[WATCHED])
    return {WATCHED: watched, SKIMMED: frames.subtract(ranges[SKIMMED], watched)}


def count_seen(clip: Clip) -> None:
    """Set (not save) the totals that coverage is read from."""
    if clip.id is None:
        return
    seen = seen_ranges(clip)
    clip.watched_frames = frames.count(seen[WATCHED])
    clip.skimmed_frames = frames.count(seen[SKIMMED])
