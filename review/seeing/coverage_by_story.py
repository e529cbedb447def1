"""The coverage of each story. A clip may be of several, and a production has many of both: so the sums of all clips are
read once, as columns by clip, and each story adds up its own."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from django.db.models import Count, Q, Sum

from review.models import Clip, Person, SecondLook, SeenBy, Select
from review.record.coverage import Coverage, timebase
from review.timecode import Timebase

_COUNTS = ("shot", "watched", "skimmed", "asked", "twice")  # the names of coverage.Frames


@dataclass(frozen=True)
class Columns:
    """What is known of each clip that was asked for, at its place among the `clips`, whose ids rise: frames and how
    many selects, and what each of the `people` watched, and skimmed and did not watch."""

    clips: np.ndarray
    bases: list[Timebase]
    base: np.ndarray  # which of the bases
    counts: np.ndarray  # _COUNTS by clips
    selects: np.ndarray
    people: list[str]
    seen: np.ndarray  # watched and skimmed, by people, by clips

    @classmethod
    def read(cls, condition: Callable[[str], Q], marked_by: str = "") -> "Columns":
        """Of the clips that fit `condition`, as coverage.grouped takes it; selects of one person alone if given."""
        columns = ("id", "rate_numerator", "rate_denominator", "drop")
        columns += ("frames", "watched_frames", "skimmed_frames", "select_count")
        rows = list(Clip.objects.filter(condition("")).order_by("id").values_list(*columns))
        place = {row[0]: at for at, row in enumerate(rows)}
        bases = {base: at for at, base in enumerate(dict.fromkeys(row[1:4] for row in rows))}
        counts, selects = np.zeros((len(_COUNTS), len(rows)), np.int64), np.zeros(len(rows), np.int64)
        if rows:
            *counts[:3], selects[:] = np.array(rows, np.int64).T[4:]
        looks = SecondLook.objects.filter(condition("clip__"), ended_at=None).order_by().values_list("clip")
        for clip, end, start, twice in looks.annotate(Sum("out_frame"), Sum("in_frame"), Sum("seen_frames")):
            counts[3:, place[clip]] = end - start, twice
        if marked_by:
            selects[:] = 0
            marked = Select.objects.filter(condition("clip__"), deleted=None, logger__username=marked_by).order_by()
            for clip, many in marked.values_list("clip").annotate(Count("id")):
                selects[place[clip]] = many
        columns = ("person", "clip", "watched_frames", "skimmed_frames")
        sums = list(SeenBy.objects.filter(condition("clip__")).order_by().values_list(*columns))
        person = {each: at for at, each in enumerate(dict.fromkeys(row[0] for row in sums))}
        names = dict(Person.objects.filter(id__in=person).values_list("id", "username"))
        seen = np.zeros((2, len(person), len(rows)), np.int64)
        if sums:
            who, where = ([index[row[at]] for row in sums] for at, index in enumerate((person, place)))
            seen[:, who, where] = np.array(sums, np.int64)[:, 2:].T
        return cls(
            np.array(list(place), np.int64),
            [timebase(*base) for base in bases],
            np.array([bases[row[1:4]] for row in rows], np.int64),
            counts,
            selects,
            [names[each] for each in person],
            seen,
        )

    def places(self, clips: np.ndarray) -> np.ndarray:
        """Of these clips, each of which is there once, as far as they were asked for."""
        return np.searchsorted(self.clips, clips[np.isin(clips, self.clips)])

    def coverage(self, places: np.ndarray) -> Coverage:
        """Of the clips at these places, each of which is there once."""
        made = Coverage(clips=len(places), selects=int(self.selects[places].sum()))
        for at, base in enumerate(self.bases):
            here = places[self.base[places] == at]
            if not len(here):
                continue
            sums = self.counts[:, here].sum(axis=1)
            made.put(base, **dict(zip(_COUNTS, sums.tolist(), strict=True)))
            for name, watched, skimmed in zip(self.people, *self.seen[:, :, here].sum(axis=2).tolist(), strict=True):
                if watched or skimmed:
                    made.put_person(name, base, watched, skimmed)
        return made
