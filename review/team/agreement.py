"""How far two people who watched the same frames marked the same.

Only frames that both watched are compared, and of their selects only what lies in those:

    agreement = frames that both marked / frames that either marked

It is 1 when every frame was marked by both, 0 when no frame was, and unknown (None) when neither marked anything. It
does not ask what they wrote or how they rated. Of two who share a few seconds only it says next to nothing: under
LEAST_SECONDS no page tells it. Two selects, one of each, are *the same find* when they overlap, taken
from the first to the last frame that both watched; each select is in one pair at most, and there are as many pairs as
there can be.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import combinations

from django.db.models import Count, QuerySet

from review import frames
from review.frames import FrameRange
from review.models import Clip, Production, SeenBy, Select
from review.record.coverage import footage
from review.record.seen import Seen
from review.record.seen_sums import seen_of_each

LEAST_SECONDS = 10  # that both watched


@dataclass(frozen=True)
class Difference:
    """Frames that one of the two marked and the other, who watched them, did not; `before` or `after` frames that both
    did, if they touch such."""

    marked_by: str
    in_frame: int
    out_frame: int
    before: bool = False
    after: bool = False

    @property
    def frames(self) -> int:
        return self.out_frame - self.in_frame


@dataclass(frozen=True)
class Agreement:
    """Of two people on one clip. Counts are frames, but for `finds` (how many selects each has there) and `same`
    (how many of them are the same find). `watched` and `marked` are ranges: what both watched, and what each marked."""

    names: tuple[str, str]
    both_watched: int
    both_marked: int
    either_marked: int
    finds: tuple[int, int]
    same: int
    differences: list[Difference]
    watched: list[FrameRange]
    marked: tuple[list[FrameRange], list[FrameRange]]

    @property
    def share(self) -> float | None:
        """From 0 to 1; None when neither marked anything."""
        return self.both_marked / self.either_marked if self.either_marked else None


def compare(
    names: tuple[str, str],
    watched: tuple[Iterable[tuple[int, int]], Iterable[tuple[int, int]]],
    marked: tuple[Sequence[tuple[int, int]], Sequence[tuple[int, int]]],
) -> Agreement:
    """What two people watched and marked of one clip, as ranges of frames, compared where both watched."""
    both = frames.intersect(*watched)
    kept = [[part for mark in marks if (part := _within(mark, both))] for marks in marked]
    one, other = (frames.union(each for part in parts for each in part) for parts in kept)
    shared = frames.intersect(one, other)
    begin, end = ({getattr(each, edge) for each in shared} for edge in ("in_frame", "out_frame"))
    differences = [
        Difference(name, *stretch, before=stretch.out_frame in begin, after=stretch.in_frame in end)
        for name, mine, theirs in ((names[0], one, other), (names[1], other, one))
        for stretch in frames.subtract(mine, theirs)
    ]
    return Agreement(
        names,
        frames.count(both),
        frames.count(shared),
        frames.count([*one, *other]),
        (len(kept[0]), len(kept[1])),
        _same_finds(*kept),
        sorted(differences, key=lambda each: (each.in_frame, each.marked_by)),
        both,
        (one, other),
    )


def _within(mark: tuple[int, int], both: list[FrameRange]) -> list[FrameRange]:
    cut = (FrameRange(max(mark[0], part.in_frame), min(mark[1], part.out_frame)) for part in both)
    return [each for each in cut if each.length]


def _same_finds(ours: Sequence[list[FrameRange]], theirs: Sequence[list[FrameRange]]) -> int:
    """The most pairs that overlap. Whichever select ends first is paired with the one of the other's that it overlaps
    and that ends first: that one has the fewest others left to be paired with."""
    sides = [sorted((parts[0].in_frame, parts[-1].out_frame) for parts in side) for side in (ours, theirs)]
    begun: tuple[list, list] = [], []  # heaps of (end, number) of each side
    reached = [0, 0]
    over: set[tuple[int, int]] = set()  # (side, number) that are paired, or ended unpaired
    pairs = 0
    for end, side, number in sorted((end, at, n) for at in (0, 1) for n, (_, end) in enumerate(sides[at])):
        if (side, number) in over:
            continue
        over.add((side, number))
        other = 1 - side
        while reached[other] < len(sides[other]) and sides[other][reached[other]][0] < end:
            heappush(begun[other], (sides[other][reached[other]][1], reached[other]))
            reached[other] += 1
        while begun[other]:
            _, candidate = heappop(begun[other])
            if (other, candidate) not in over:
                over.add((other, candidate))
                pairs += 1
                break
    return pairs


def on(clip: Clip, in_frame: int = 0, out_frame: int | None = None) -> list[Agreement]:
    """Of every two people who both watched some of frames [in_frame, out_frame) of a clip, to its end if not said."""
    stretch = in_frame, clip.frames if out_frame is None else out_frame
    return on_each([(clip, *stretch)])[0]


def on_each(stretches: Sequence[tuple[Clip, int, int]]) -> list[list[Agreement]]:
    """As `on`, for each of a page of (clip, in_frame, out_frame), with the queries of one."""
    clips = {clip.id: clip for clip, *_ in stretches}
    seen = seen_of_each(clips.values())
    names = dict(SeenBy.objects.filter(clip__in=clips).values_list("person", "person__username"))
    marked: dict[int, dict[int, list[tuple[int, int]]]] = {}
    selects = Select.objects.filter(clip__in=clips, deleted=None).order_by("in_frame", "id")
    for clip, person, start, end in selects.values_list("clip", "logger", "in_frame", "out_frame"):
        marked.setdefault(clip, {}).setdefault(person, []).append((start, end))
    return [
        _on(seen[clip.id], marked.get(clip.id, {}), names, [(in_frame, out_frame)])
        for clip, in_frame, out_frame in stretches
    ]


def _on(seen: Seen, marked: Mapping, names: Mapping[int, str], stretch: list[tuple[int, int]]) -> list[Agreement]:
    watched = {person: frames.intersect(seen.watched(person), stretch) for person in seen.people}
    watched = {person: ranges for person, ranges in watched.items() if ranges}
    found = []
    for one, other in combinations(sorted(watched, key=lambda person: names[person]), 2):
        told = compare(
            (names[one], names[other]), (watched[one], watched[other]), (marked.get(one, []), marked.get(other, []))
        )
        if told.both_watched:
            found.append(told)
    return found


def watched_by_several(production: Production) -> QuerySet[Clip]:
    """The clips that two people or more have watched some of, whether anybody asked for that or not."""
    several = footage(production).filter(seen_by__watched_frames__gt=0).annotate(people=Count("seen_by"))
    order = ("card__shoot_date", "start_frame", "id")
    return several.filter(people__gt=1).select_related("card").defer("probe", "files", "file_frames").order_by(*order)
