"""The coverage of each story. A clip may be of several, and a production has many of both: so the sums of all clips are
read once, as columns by clip, and each story adds up its own."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, field

from django.db.models import Count, Q, Sum

from review.models import Clip, SecondLook, SeenBy, Select
from review.record.coverage import Coverage, timebase
from review.timecode import Timebase

Column = dict[int, int]  # clip -> frames, or how many


@dataclass
class Columns:
    """What is known of each clip that was asked for. `people` are what each watched, and skimmed and did not watch."""

    bases: dict[Timebase, set[int]] = field(default_factory=dict)
    counts: dict[str, Column] = field(default_factory=dict)  # of frames, by the names of coverage.Frames
    selects: Column = field(default_factory=dict)
    people: dict[str, tuple[Column, Column]] = field(default_factory=dict)

    @classmethod
    def read(cls, condition: Callable[[str], Q], marked_by: str = "") -> "Columns":
        """Of the clips that fit `condition`, as coverage.grouped takes it; selects of one person alone if given."""
        made = cls(counts={name: {} for name in ("shot", "watched", "skimmed", "asked", "twice")})
        shot, watched, skimmed, asked, twice = made.counts.values()
        rows = Clip.objects.filter(condition("")).order_by()
        columns = ("id", "rate_numerator", "rate_denominator", "drop")
        columns += ("frames", "watched_frames", "skimmed_frames", "select_count")
        selects = made.selects
        for clip, *base, shot[clip], watched[clip], skimmed[clip], selects[clip] in rows.values_list(*columns):
            made.bases.setdefault(timebase(*base), set()).add(clip)
        looks = SecondLook.objects.filter(condition("clip__"), ended_at=None).order_by().values_list("clip")
        for clip, end, start, seen in looks.annotate(Sum("out_frame"), Sum("in_frame"), Sum("seen_frames")):
            asked[clip], twice[clip] = end - start, seen
        if marked_by:
            selects = Select.objects.filter(condition("clip__"), deleted=None, logger__username=marked_by).order_by()
            made.selects = dict(selects.values_list("clip").annotate(Count("id")))
        columns = ("clip", "person__username", "watched_frames", "skimmed_frames")
        for clip, name, *sums in SeenBy.objects.filter(condition("clip__")).order_by().values_list(*columns):
            of_person = made.people.get(name) or made.people.setdefault(name, ({}, {}))
            of_person[0][clip], of_person[1][clip] = sums
        return made

    @property
    def clips(self) -> set[int]:
        return set().union(*self.bases.values())

    def coverage(self, clips: Collection[int]) -> Coverage:
        """Of these clips, as far as they were asked for."""
        made = Coverage()
        for base, of_base in self.bases.items():
            here = of_base.intersection(clips)
            if not here:
                continue
            made.clips += len(here)
            made.selects += _sum(self.selects, here)
            made.put(base, **{name: _sum(column, here) for name, column in self.counts.items()})
            for name, (watched, skimmed) in self.people.items():
                seen = here & watched.keys()
                if seen:
                    made.put_person(name, base, _sum(watched, seen), _sum(skimmed, seen))
        return made


def _sum(column: Column, clips: set[int]) -> int:
    return sum(map(column.__getitem__, clips & column.keys()))
