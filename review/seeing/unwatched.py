"""The stretches that nobody has watched, longest first; read from rows that are kept as watching arrives, a page of
them at a time."""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from heapq import merge
from itertools import islice

from django.db.models import (
    BooleanField,
    Count,
    ExpressionWrapper,
    F,
    FloatField,
    IntegerField,
    Q,
    QuerySet,
    Sum,
    Value,
)
from django.db.models.functions import Cast

from review.exports import ExportFile
from review.exports.table import cell
from review.exports.text import file_name
from review.models import Clip, Production, SecondLook, Stint, Unwatched, WatchedRange
from review.record.coverage import Stretch
from review.seeing.coverage_asked import Asked, Condition
from review.seeing.coverage_tables import length

_AT_ONCE = 500
_FILES = {"unwatched": "unwatched", "skimmed": "only skimmed", "both": "unwatched and only skimmed"}
MOST_LINES = 200_000  # of a CSV
_KINDS = {False: ("unwatched", "both"), True: ("skimmed", "both")}  # whether skimmed, and who asks for it
_UNTOUCHED = Q(watched_frames=0, skimmed_frames=0, frames__gt=0)
_SECONDS = ExpressionWrapper(
    Cast("frames", FloatField()) * Cast("rate_denominator", FloatField()) / F("rate_numerator"), FloatField()
)


class Stretches(Sequence):
    """All that fit, to be cut into pages: only those that are looked at are read. The whole of a clip of which nothing
    was seen is a stretch; other stretches are rows."""

    def __init__(self, production: Production, asked: Asked | None = None):
        asked = asked or Asked()
        self._condition, self._kind = asked.condition(production), asked.stretches
        self._parts = _parts(self._condition, self._kind)

    def __len__(self) -> int:
        """From what clips keep count of, as there may be hundreds of thousands."""
        found = 0
        if self._kind != "skimmed":
            untouched = Count("id", filter=_UNTOUCHED)
            sums = Clip.objects.filter(self._condition("")).aggregate(rows=Sum("unseen_count"), whole=untouched)
            found += (sums["rows"] or 0) + sums["whole"]
        if self._kind != "unwatched":
            found += Unwatched.objects.filter(self._condition("clip__"), skimmed=True).count()
        return found

    def in_parts(self, most: int, at_once: int) -> Iterator[list[Stretch]]:
        """The `most` longest, so many at once, from one reading."""
        rows = self._longest(most)
        while some := list(islice(rows, at_once)):
            yield _with_clips(some)

    def __getitem__(self, which):
        if isinstance(which, slice):
            return _with_clips(islice(self._longest(which.stop), which.start, None))
        (only,) = self[which : which + 1] or [None]
        if only is None:
            raise IndexError(which)
        return only

    def _longest(self, most: int | None) -> Iterator[tuple]:
        """Each part comes in order, most by an index; a union of them would be written out and sorted."""
        return islice(merge(*(part[:most].iterator() for part in self._parts), key=_longest_first), most)


def _longest_first(row: tuple) -> tuple:
    clip, start, _, _, seconds = row
    return -seconds, clip, start


def _parts(condition: Condition, kind: str) -> list[QuerySet]:
    """(clip, in_frame, out_frame, skimmed, seconds) of each, from the rows and from the clips that have none; the
    longest first."""
    rows = Unwatched.objects.filter(condition("clip__")).order_by("-seconds", "clip_id", "in_frame")
    facts = ("clip_id", "in_frame", "out_frame", "skimmed", "seconds")
    parts = [rows.filter(skimmed=each).values_list(*facts) for each in (False, True) if kind in _KINDS[each]]
    if kind != "skimmed":
        whole = Clip.objects.filter(condition("") & _UNTOUCHED)
        whole = whole.annotate(start=Value(0, IntegerField()), no=Value(False, BooleanField()), lasts=_SECONDS)
        parts.append(whole.order_by("-lasts", "id").values_list("id", "start", "frames", "no", "lasts"))
    return parts


def _with_clips(rows: Iterable[tuple]) -> list[Stretch]:
    rows = list(rows)
    known = Clip.objects.select_related("card").defer(*Clip.HEAVY).in_bulk({row[0] for row in rows})
    return [Stretch(known[clip], start, end, bool(skimmed)) for clip, start, end, skimmed, _ in rows]


def with_skimmers(stretches: Iterable[Stretch]) -> list[Stretch]:
    """The same, each with the names of who skimmed it."""
    stretches = list(stretches)
    clips = {stretch.clip.id for stretch in stretches if stretch.skimmed}
    rows = WatchedRange.objects.filter(clip__in=clips, manner=WatchedRange.Manner.SKIMMED).order_by("person__username")
    over = _names_over(rows.values_list("clip", "person__username", "in_frame", "out_frame"))
    return [replace(each, skimmed_by=over(each) if each.skimmed else ()) for each in stretches]


def with_holders(stretches: Iterable[Stretch]) -> list[Stretch]:
    """The same, each with the names of who holds any of it for a first look."""
    stretches = list(stretches)
    clips = {stretch.clip.id for stretch in stretches}
    rows = Stint.objects.filter(clip__in=clips, ended_at=None, second=False).order_by("logger__username")
    over = _names_over(rows.values_list("clip", "logger__username", "in_frame", "out_frame"))
    return [replace(each, held_by=over(each)) for each in stretches]


def with_askers(stretches: Iterable[Stretch]) -> list[Stretch]:
    """The same, each with the names of who asks for two pairs of eyes on any of it."""
    stretches = list(stretches)
    clips = {stretch.clip.id for stretch in stretches}
    rows = SecondLook.objects.filter(clip__in=clips, ended_at=None).order_by("asked_by__username")
    over = _names_over(rows.values_list("clip", "asked_by__username", "in_frame", "out_frame"))
    return [replace(each, asked_by=over(each)) for each in stretches]


def _names_over(rows: Iterable[tuple[int, str, int, int]]) -> Callable[[Stretch], tuple[str, ...]]:
    """Whose ranges, of (clip, name, in_frame, out_frame), lie over a stretch."""
    found: dict[int, list[tuple[str, int, int]]] = {}
    for clip, name, start, end in rows:
        found.setdefault(clip, []).append((name, start, end))

    def over(each: Stretch) -> tuple[str, ...]:
        there = found.get(each.clip.id, ())
        return tuple(
            dict.fromkeys(name for name, start, end in there if start < each.out_frame and end > each.in_frame)
        )

    return over


def as_csv(production: Production, asked: Asked) -> ExportFile:
    """Every stretch, one a line; of more than 200,000 the longest."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(
        [
            *("card", "camera", "shoot date", "clip", "rate (frames a second)", "counting"),
            *("from (frame)", "to, not included (frame)", "from (timecode)", "to, not included (timecode)"),
            *("length (frames)", "length (h:min:s:frames)", "how", "skimmed by", "held by"),
        ]
    )
    for some in Stretches(production, asked).in_parts(MOST_LINES, _AT_ONCE):
        for each in with_holders(with_skimmers(some)):
            writer.writerow(_line(each))
    return ExportFile(
        file_name(f"{production.code} {_FILES[asked.stretches]}", "csv"),
        text.getvalue().encode("utf-8-sig"),
        "text/csv; charset=utf-8",
    )


def _line(each: Stretch) -> list:
    clip, base = each.clip, each.clip.timebase
    return [
        *(cell(clip.card.name), cell(clip.card.camera), clip.card.shoot_date or "", cell(clip.name)),
        *(str(base.rate), "DF" if base.drop else "NDF"),
        *(each.in_frame, each.out_frame, clip.label(each.in_frame), clip.label(each.out_frame)),
        *(each.frames, length(base, each.frames)),
        "only skimmed" if each.skimmed else "unwatched",
        *(cell("; ".join(names)) for names in (each.skimmed_by, each.held_by)),
    ]
