"""What people hold and how much of it is left, and what nobody holds: read in bulk, for pages of many stints.

What is left of a first look is what nobody has seen; of a second look, what its logger has not seen.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from functools import cached_property

from django.db.models import Exists, F, OuterRef, Prefetch, QuerySet, Sum, prefetch_related_objects

from review import frames
from review.frames import FrameRange
from review.many_ids import among
from review.models import Card, Clip, Person, Production, Select, Stint, Unwatched, WatchedRange
from review.record.coverage import footage, timebase
from review.record.stints import idle_before
from review.timecode import Rate

_FACTS = ("rate_numerator", "rate_denominator", "drop", "card__state", "proxy_state")


@dataclass(frozen=True)
class Held:
    """A stint that is held, and the frames of it that are to be watched still. Its clip is looked up when it is asked
    for, or for a page of them by `with_clips`."""

    stint: Stint
    left: list[FrameRange]
    idle: bool
    rate: Rate
    counts: bool  # whether the clip can be watched, and its card is trusted

    @property
    def frames(self) -> int:
        return self.stint.out_frame - self.stint.in_frame

    @cached_property
    def frames_left(self) -> int:
        return sum(end - start for start, end in self.left)

    @property
    def seconds(self) -> Fraction:
        return self.rate.seconds(self.frames)

    @property
    def seconds_left(self) -> Fraction:
        return self.rate.seconds(self.frames_left)

    @property
    def seconds_done(self) -> Fraction:
        return self.rate.seconds(self.frames - self.frames_left)

    @property
    def next_frame(self) -> int:
        """Where to go on; the stint's start when nothing is left."""
        return self.left[0].in_frame if self.left else self.stint.in_frame


def held(production: Production, person: Person | None = None) -> list[Held]:
    """What is held in a production, or by one person of it, in the order of watching."""
    live = Stint.objects.filter(clip__card__production=production, ended_at=None)
    if person is not None:
        live = live.filter(logger=person)
    stints = list(live.order_by("logger__username", "place", "clip", "in_frame"))
    here = Clip.objects.filter(id__in=among({stint.clip_id for stint in stints}))
    unseen, own = unseen_in(here), _own_of(live) if any(stint.second for stint in stints) else {}
    clips = {row[0]: row[1:] for row in here.order_by().values_list("id", *_FACTS)}
    people = Person.objects.in_bulk({stint.logger_id for stint in stints})
    since = idle_before(production)
    found = []
    for stint in stints:
        stint.logger = people[stint.logger_id]
        if stint.second:
            mine = own.get((stint.clip_id, stint.logger_id), ())
            left = frames.subtract([(stint.in_frame, stint.out_frame)], mine)
        else:
            left = _within(stint, unseen.get(stint.clip_id, ()))
        *base, card, proxy = clips[stint.clip_id]
        counts = card in Card.TRUSTED and proxy != Clip.ProxyState.FAILED
        found.append(Held(stint, left, stint.touched_at < since, timebase(*base).rate, counts))
    return found


def _own_of(live: QuerySet[Stint]) -> dict[tuple[int, int], list[tuple[int, int]]]:
    """What the loggers of second looks have seen themselves, by clip and person."""
    seconds = live.filter(second=True).order_by()
    rows = WatchedRange.objects.filter(clip__in=seconds.values("clip"), person__in=seconds.values("logger")).order_by()
    own: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for clip, who, start, end in rows.values_list("clip", "person", "in_frame", "out_frame"):
        own.setdefault((clip, who), []).append((start, end))
    return own


def _within(stint: Stint, ranges: Iterable[tuple[int, int]]) -> list[FrameRange]:
    """What of ranges that are in order and apart is in a stint."""
    first, last = stint.in_frame, stint.out_frame
    return [FrameRange(max(start, first), min(end, last)) for start, end in ranges if start < last and end > first]


def with_clips(some: Iterable[Held]) -> None:
    """Look up the clips of a page of stints, with their cards, at once."""
    clips = Clip.objects.select_related("card__production").defer(*Clip.HEAVY)
    prefetch_related_objects([each.stint for each in some], Prefetch("clip", clips))


def seconds_of(some: Iterable[Held], count: Callable[[Held], int]) -> Fraction:
    """The seconds that all of them have, of the frames that `count` gives of each; exact."""
    sums: dict[Rate, int] = {}
    for each in some:
        sums[each.rate] = sums.get(each.rate, 0) + count(each)
    return sum((rate.seconds(total) for rate, total in sums.items()), start=Fraction(0))


def unbegun(stints: QuerySet[Stint]) -> QuerySet[Stint]:
    """Those in which their logger has neither watched nor marked anything since they have them."""
    within = {
        "clip": OuterRef("clip"),
        "in_frame__lt": OuterRef("out_frame"),
        "out_frame__gt": OuterRef("in_frame"),
    }
    watched = WatchedRange.objects.filter(person=OuterRef("logger"), **within)
    marked = Select.objects.filter(logger=OuterRef("logger"), deleted=None, **within)
    return stints.filter(~Exists(watched), ~Exists(marked))


def seen_in(clips: QuerySet[Clip]) -> dict[int, list[tuple[int, int]]]:
    """The ranges that anybody saw of each clip; clips that nobody did are left out."""
    found: dict[int, list[tuple[int, int]]] = {}
    rows = WatchedRange.objects.filter(clip__in=clips.order_by().values("id")).order_by()
    for clip, start, end in rows.values_list("clip", "in_frame", "out_frame").iterator():
        found.setdefault(clip, []).append((start, end))
    return found


def unseen_in(clips: QuerySet[Clip]) -> dict[int, list[tuple[int, int]]]:
    """What nobody has seen of each clip, in order and apart, as it is kept; without clips that were wholly seen."""
    untouched = clips.filter(watched_frames=0, skimmed_frames=0).order_by().values_list("id", "frames")
    found = {clip: [(0, length)] for clip, length in untouched}
    rows = Unwatched.objects.filter(clip__in=clips.order_by().values("id"), skimmed=False)
    for clip, start, end in rows.order_by("in_frame").values_list("clip", "in_frame", "out_frame"):
        found.setdefault(clip, []).append((start, end))
    return found


def first_looks(production: Production, without: Iterable[int] = ()) -> dict[int, list[tuple[int, int]]]:
    """The ranges that are held of each clip for a first look, but for those stints `without`."""
    without = set(without)
    rows = Stint.objects.filter(clip__card__production=production, ended_at=None, second=False).order_by()
    found: dict[int, list[tuple[int, int]]] = {}
    for stint, clip, start, end in rows.values_list("id", "clip", "in_frame", "out_frame"):
        if stint not in without:
            found.setdefault(clip, []).append((start, end))
    return found


@dataclass(frozen=True)
class Span:
    """Frames [in_frame, out_frame) of a clip that nobody holds, from the first to the last that nobody has seen."""

    in_frame: int
    out_frame: int
    unseen: tuple[FrameRange, ...]

    @property
    def frames(self) -> int:
        return sum(each.length for each in self.unseen)

    def frame_after(self, count: int) -> int:
        """The frame before which `count` frames of the span are unseen, from 0 to all of them."""
        for each in self.unseen:
            if count < each.length:
                return each.in_frame + count
            count -= each.length
        return self.out_frame

    def halves(self, frame: int) -> tuple["Span", "Span"] | None:
        """What is to be seen before a frame, and from it on; None if either is nothing."""
        before = frames.intersect(self.unseen, [(self.in_frame, frame)])
        after = frames.intersect(self.unseen, [(frame, self.out_frame)])
        return (span_of(before), span_of(after)) if before and after else None


def span_of(unseen: list[FrameRange]) -> Span:
    return Span(unseen[0].in_frame, unseen[-1].out_frame, tuple(unseen))


def open_spans(
    length: int,
    seen: Iterable[tuple[int, int]],
    taken: Iterable[tuple[int, int]],
    apart: Iterable[tuple[int, int]] = (),
) -> list[Span]:
    """The spans of a clip of `length` frames that can be given to somebody. What was seen in the middle of one stays
    in it, so that a clip stays whole; the ranges `apart` are spans of their own."""
    if not seen and not taken and not apart:
        return [Span(0, length, (FrameRange(0, length),))]
    free = frames.gaps([*taken, *apart], length)
    free += [each for one in apart for each in frames.subtract(frames.intersect([one], [(0, length)]), taken)]
    found = (frames.subtract([each], seen) for each in sorted(free))
    return [span_of(unseen) for unseen in found if unseen]


def unassigned_seconds(production: Production, everything: Iterable[Held]) -> Fraction:
    """How much footage nobody has seen and nobody holds: the database sums up, and what is left of `everything` that is
    held is taken off."""
    clips = footage(production).exclude(proxy_state=Clip.ProxyState.FAILED)
    total = Fraction(0)
    by_rate = clips.order_by().values("rate_numerator", "rate_denominator")
    for row in by_rate.annotate(unseen=Sum(F("frames") - F("watched_frames") - F("skimmed_frames"))):
        total += Rate(row["rate_numerator"], row["rate_denominator"]).seconds(row["unseen"])
    first = [each for each in everything if each.counts and not each.stint.second]
    return total - seconds_of(first, lambda each: each.frames_left)


def by_person(everything: Iterable[Held]) -> Mapping[Person, list[Held]]:
    found: dict[Person, list[Held]] = {}
    for each in everything:
        found.setdefault(each.stint.logger, []).append(each)
    return found


def resting(everything: Iterable[Held], apart_from: Person) -> list[Held]:
    """What others let rest and have not finished: whoever wants it takes it."""
    return [each for each in everything if each.idle and each.left and each.stint.logger_id != apart_from.id]


def last_touched(everything: Iterable[Held]) -> datetime | None:
    return max((each.stint.touched_at for each in everything), default=None)
