"""Which story each clip belongs to: the tag of most of the field notes that were written while it rolled."""

from collections import Counter
from datetime import date, timedelta
from fractions import Fraction

from review.clock import DAY, time_of
from review.coverage import footage
from review.models import Production
from review.timecode import Rate, Timebase

_MICRO = 1_000_000


def told(production: Production) -> dict[int, Counter[str]]:
    """For each clip that rolled while tagged notes were written, the tags and how many notes have each."""
    notes = production.field_notes.exclude(tag="").order_by()
    by_day: dict[date, list[tuple[int, str, str]]] = {}
    for day, at, camera, tag in notes.values_list("day", "at", "camera", "tag"):
        by_day.setdefault(day, []).append((at, camera, tag))
    found: dict[int, Counter[str]] = {}
    rolled = _rolled(production, by_day) if by_day else {}
    for day, written in by_day.items():
        for later in (-1, 0, 1):  # a clip may go on past midnight, and a card's clock may be set across it
            for clip, camera, start, end in rolled.get(day + timedelta(later), ()):
                shift = later * DAY * _MICRO
                for at, of, tag in written:
                    if start <= at - shift < end and of in ("", camera):
                        found.setdefault(clip, Counter())[tag] += 1
    return found


def story(tags: Counter[str] | None) -> str:
    """The one of most notes; of several, the first by the alphabet; '' without any."""
    return min(tags, key=lambda tag: (-tags[tag], tag)) if tags else ""


def _rolled(production: Production, days) -> dict[date, list[tuple[int, str, int, int]]]:
    """By shoot date, clips with their camera, and when they began and ended, in microseconds of that day's clock."""
    near = {day + timedelta(by) for day in days for by in (-1, 0, 1)}
    rows = footage(production).filter(card__shoot_date__range=(min(near), max(near))).order_by()
    found: dict[date, list[tuple[int, str, int, int]]] = {}
    bases: dict[tuple, Timebase] = {}
    columns = (
        *("id", "card__shoot_date", "card__camera", "timecode_source", "card__clock_set"),
        *("card__clock_numerator", "card__clock_denominator"),
        *("rate_numerator", "rate_denominator", "drop", "start_frame", "frames"),
    )
    for clip, day, camera, source, clock_set, *clock, numerator, denominator, drop, start, length in rows.values_list(
        *columns
    ):
        if day not in near or not (source or clock_set):
            continue
        base = bases.setdefault((numerator, denominator, drop), Timebase(Rate(numerator, denominator), drop))
        offset = Fraction(*clock)
        began, ended = (int((time_of(base, frame) + offset) * _MICRO) for frame in (start, start + length))
        found.setdefault(day, []).append((clip, camera, began, ended))
    return found
