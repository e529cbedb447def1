"""The stretches that nobody has watched, longest first; read from rows that are kept as watching arrives, a page of
them at a time."""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from django.db.models import BooleanField, ExpressionWrapper, F, FloatField, IntegerField, Q, QuerySet, Value
from django.db.models.functions import Cast

from review.coverage import Stretch
from review.coverage_asked import Asked, Condition
from review.coverage_tables import length
from review.exports import ExportFile
from review.exports.table import cell
from review.exports.text import file_name
from review.models import Clip, Production, Stint, Unwatched, WatchedRange

_HEAVY = ("probe", "files", "file_frames", "sound_files", "sidecars")
_AT_ONCE = 500
MOST_LINES = 200_000  # of a CSV


class Stretches(Sequence):
    """All that fit, to be cut into pages: only those that are looked at are read. The whole of a clip of which nothing
    was seen is a stretch; other stretches are rows."""

    def __init__(self, production: Production, asked: Asked | None = None):
        asked = asked or Asked()
        self._parts = _parts(asked.condition(production), asked.stretches)
        first, *others = self._parts
        self._found = first.union(*others, all=True).order_by("-lasts", "clip_id", "in_frame")

    def __len__(self) -> int:
        return sum(part.count() for part in self._parts)  # one by one: the database would write out their union

    def in_parts(self, most: int, at_once: int) -> Iterator[list[Stretch]]:
        """The `most` longest, so many at once, from one reading: each slice would sort all of them again."""
        rows = list(self._found[:most])
        for at in range(0, len(rows), at_once):
            yield _with_clips(rows[at : at + at_once])

    def __getitem__(self, which):
        if isinstance(which, slice):
            return _with_clips(self._found[which])
        (only,) = _with_clips(self._found[which : which + 1]) or [None]
        if only is None:
            raise IndexError(which)
        return only


def _parts(condition: Condition, kind: str) -> list[QuerySet]:
    """(clip, in_frame, out_frame, skimmed, seconds) of each, from the rows and from the clips that have none."""
    rows = Unwatched.objects.filter(condition("clip__")).order_by()
    if kind != "both":
        rows = rows.filter(skimmed=kind == "skimmed")
    rows = rows.annotate(lasts=_lasts("clip__", F("out_frame") - F("in_frame")))
    parts = [rows.values_list("clip_id", "in_frame", "out_frame", "skimmed", "lasts")]
    if kind != "skimmed":
        untouched = condition("") & Q(watched_frames=0, skimmed_frames=0, frames__gt=0)
        whole = Clip.objects.filter(untouched).order_by()
        whole = whole.annotate(start=Value(0, IntegerField()), no=Value(False, BooleanField()))
        whole = whole.annotate(lasts=_lasts("", F("frames")))
        parts.append(whole.values_list("id", "start", "frames", "no", "lasts"))
    return parts


def _lasts(clip: str, count):
    """Seconds."""
    rate = Cast(F(f"{clip}rate_denominator"), FloatField()) / F(f"{clip}rate_numerator")
    return ExpressionWrapper(Cast(count, FloatField()) * rate, FloatField())


def _with_clips(rows: Iterable[tuple]) -> list[Stretch]:
    rows = list(rows)
    known = Clip.objects.select_related("card").defer(*_HEAVY).in_bulk({row[0] for row in rows})
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
            *("length (frames)", "length (h:min:s:frames)", "how", "skimmed by"),
        ]
    )
    for some in Stretches(production, asked).in_parts(MOST_LINES, _AT_ONCE):
        for each in with_skimmers(some):
            writer.writerow(_line(each))
    return ExportFile(
        file_name(f"{production.code} nobody has watched", "csv"),
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
        *("only skimmed" if each.skimmed else "unwatched", cell("; ".join(each.skimmed_by))),
    ]
