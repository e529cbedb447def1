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

from review import frames, roles
from review.crew import access
from review.frames import FrameRange
from review.models import Clip, Person, Viewing, WatchedRange
from review.record import findables, pace, seen_sums, stints
from review.record.seen import Seen
from review.record.seen_sums import seen_of
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
    viewing = Viewing.objects.filter(id=viewing_id).first()
    if viewing is None:
        try:
            with transaction.atomic():
                viewing = Viewing.objects.create(id=viewing_id, person=person, clip=clip)
        except IntegrityError:  # another request was faster
            viewing = Viewing.objects.get(id=viewing_id)
    if viewing.person_id != person.id or viewing.clip_id != clip.id:
        raise Refusal("This viewing belongs to another clip or person; open the clip's page again.", "viewing")
    return viewing


def record(person: Person, clip: Clip, viewing_id: uuid.UUID, batch: int, spans: Iterable[Span]) -> Clip:
    """Count batch number `batch` (from 1) of a viewing. Returns the clip with its new totals."""
    with transaction.atomic():
        locked = Clip.objects.select_for_update(of=("self",)).select_related("card__production")
        clip = locked.defer(*Clip.HEAVY).get(id=clip.id)
        spans = [_checked(clip, span) for span in spans]
        viewing = open_viewing(person, clip, viewing_id)
        if batch <= viewing.last_batch:
            return clip
        shown, seconds = _allowed(clip, viewing, spans)
        viewing.seconds_used += seconds
        viewing.last_batch = batch
        viewing.save(update_fields=["seconds_used", "last_batch"])
        if any(shown.values()):
            _count(person, clip, shown, seconds)
    return clip


def _allowed(clip: Clip, viewing: Viewing, spans: list[Span]) -> tuple[dict[str, list[FrameRange]], float]:
    """What of the spans the clock allows, by manner, and how many seconds of playing that took."""
    elapsed = (timezone.now() - viewing.opened_at).total_seconds() + SLACK_SECONDS
    shown: dict[str, list[FrameRange]] = {WATCHED: [], SKIMMED: []}
    seconds = 0.0
    for span in spans:
        left = max(0.0, elapsed - viewing.seconds_used - seconds)
        allowed = int(left * span.speed * clip.timebase.rate.fraction)
        part = FrameRange(span.in_frame, min(span.out_frame, span.in_frame + allowed))
        if part.length:
            seconds += float(clip.timebase.rate.seconds(part.length)) / span.speed
            shown[_manner(clip, span)].append(part)
    return shown, seconds


def _count(person: Person, clip: Clip, shown: dict[str, list[FrameRange]], seconds: float) -> None:
    """Write down frames that were on the screen in `seconds` of playing, and what follows from it."""
    seen = seen_of(clip)
    before = seen.anybody()
    watched = frames.subtract(shown[WATCHED], before)
    skimmed = frames.subtract(shown[SKIMMED], [*before, *watched])
    for manner, ranges in shown.items():
        _add(clip, person, manner, ranges)
        seen.add(person.id, manner == SKIMMED, ranges)
    seen_sums.keep(clip, seen, [person.id])
    clip.save(update_fields=seen_sums.TOTALS)
    on_screen = sum(each.length for ranges in shown.values() for each in ranges)
    worked = pace.Worked(on_screen, frames.count(watched), frames.count(skimmed))
    pace.write_down(person, clip, worked, seconds)
    stints.touched(person, clip)
    if shown[WATCHED]:
        findables.watched(clip)


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
        mine = WatchedRange.objects.filter(clip=clip, person=person, manner=manner)
        touching = mine.filter(in_frame__lte=new.out_frame, out_frame__gte=new.in_frame)
        old = {row: (start, end) for row, start, end in touching.values_list("id", "in_frame", "out_frame")}
        start, end = frames.union([new, *old.values()])[0]
        if not old:
            WatchedRange.objects.create(clip=clip, person=person, manner=manner, in_frame=start, out_frame=end)
            continue
        first, *others = old
        if others:
            WatchedRange.objects.filter(id__in=others).delete()
        if old[first] != (start, end):
            WatchedRange.objects.filter(id=first).update(in_frame=start, out_frame=end)


def seen_ranges(clip: Clip, person: Person | None = None) -> dict[str, list[FrameRange]]:
    """The frames watched, and those skimmed by somebody and watched by nobody; of one person if given."""
    return _ranges(seen_of(clip), person)


def seen_by_all_and_by(clip: Clip, person: Person) -> tuple[dict[str, list[FrameRange]], dict[str, list[FrameRange]]]:
    """As `seen_ranges` of everybody, and of one person: every batch of every page asks for both."""
    seen = seen_of(clip)
    return _ranges(seen), _ranges(seen, person)


def _ranges(seen: Seen, person: Person | None = None) -> dict[str, list[FrameRange]]:
    who = person.id if person else None
    return {WATCHED: seen.watched(who), SKIMMED: seen.skimmed(who)}


def count_seen(clip: Clip) -> None:
    """Set (not save) the totals that coverage is read from, and write down the rest that it is read from. For a clip
    that may have changed its length, in a transaction that has locked its row."""
    if clip.id is not None:
        seen_sums.keep(clip, seen_of(clip))
