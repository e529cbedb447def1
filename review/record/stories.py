"""Which story each clip belongs to: the tag of most of the field notes that were written while it rolled."""

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable
from datetime import date, timedelta
from fractions import Fraction

from django.db.models import Count, F, Max, Sum

from review.clock import DAY, time_of
from review.models import Production
from review.record.coverage import footage, timebase
from review.remembered import Remembered
from review.timecode import Rate, Timebase

_MICRO = 1_000_000
_TOLD = Remembered(most=4)


def told(production: Production) -> dict[int, Counter[str]]:
    """For each clip that rolled while tagged notes were written, the tags and how many notes have each. Remembered as
    long as clips, clocks and notes are the same; it must not be changed."""
    return _TOLD.get((production.id, production.created), version(production), lambda: _told(production))


def version(production: Production) -> tuple:
    """Another one when a note, a clip or a clock is."""
    notes = production.field_notes.exclude(tag="").order_by()
    clips = footage(production).order_by().aggregate(Count("id"), Max("id"), Sum("start_frame"), Sum("frames"))
    clocks = production.cards.filter(clock_set=True).order_by("id")
    clocks = tuple(clocks.values_list("id", "clock_numerator", "clock_denominator"))
    return (*notes.aggregate(Count("id"), Max("id"), Sum("at")).values(), *clips.values(), clocks)


def _told(production: Production) -> dict[int, Counter[str]]:
    notes = production.field_notes.exclude(tag="").order_by("day", "at")
    by_day: dict[date, list[tuple[int, str, str]]] = {}
    for day, *note in notes.values_list("day", "at", "camera", "tag"):
        by_day.setdefault(day, []).append(tuple(note))
    found: dict[int, Counter[str]] = {}
    rolling = rolled(production, by_day) if by_day else {}
    for day, written in by_day.items():
        times = [note[0] for note in written]
        for later in (-1, 0, 1):  # a clip may go on past midnight, and a card's clock may be set across it
            shift = later * DAY * _MICRO
            for clip, camera, start, end in rolling.get(day + timedelta(later), ()):
                for at in range(bisect_left(times, start + shift), bisect_left(times, end + shift)):
                    _, of, tag = written[at]
                    if of in ("", camera):
                        found.setdefault(clip, Counter())[tag] += 1
    return found


def story(tags: Counter[str] | None) -> str:
    """The one of most notes; of several, the first by the alphabet; '' without any."""
    return min(tags, key=lambda tag: (-tags[tag], tag)) if tags else ""


def unwatched(production: Production) -> dict[str, Fraction]:
    """The seconds that nobody has seen of the clips that rolled while notes of each tag were written. A clip of several
    tags counts for each."""
    sums: dict[tuple[str, Rate], int] = {}
    tags_of = told(production)
    rows = (
        footage(production)
        .order_by()
        .values_list(
            "id", "rate_numerator", "rate_denominator", F("frames") - F("watched_frames") - F("skimmed_frames")
        )
    )
    for clip, numerator, denominator, unseen in rows if tags_of else ():
        for tag in tags_of.get(clip, ()):
            key = tag, Rate(numerator, denominator)
            sums[key] = sums.get(key, 0) + unseen
    found: dict[str, Fraction] = {}
    for (tag, rate), unseen in sums.items():
        found[tag] = found.get(tag, Fraction(0)) + rate.seconds(unseen)
    return found


def rolled(production: Production, days: Iterable[date]) -> dict[date, list[tuple[int, str, int, int]]]:
    """By shoot date, the clips of some days and of those beside them, with their camera and when they began and ended:
    the first whole microseconds of that day's clock that are not before."""
    near = {day + timedelta(by) for day in days for by in (-1, 0, 1)}
    rows = footage(production).filter(card__shoot_date__range=(min(near), max(near))).order_by()
    found: dict[date, list[tuple[int, str, int, int]]] = {}
    columns = (
        *("id", "card__shoot_date", "card__camera", "timecode_source", "card__clock_set"),
        *("card__clock_numerator", "card__clock_denominator"),
        *("rate_numerator", "rate_denominator", "drop", "start_frame", "frames"),
    )
    for clip, day, camera, source, clock_set, over, under, *base, start, length in rows.values_list(*columns):
        if day not in near or not (source or clock_set):
            continue
        began, ended = (_micro(timebase(*base), frame, over, under) for frame in (start, start + length))
        found.setdefault(day, []).append((clip, camera, began, ended))
    return found


def _micro(base: Timebase, frame: int, over: int, under: int) -> int:
    """The label time of a frame in microseconds, rounded up, on a clock that is over / under seconds ahead."""
    if base.drop:
        time = time_of(base, frame)
        return -(-(time.numerator * under + over * time.denominator) * _MICRO // (time.denominator * under))
    nominal = base.rate.nominal  # labels that are never dropped count whole frames a second
    return -(-(frame * under + over * nominal) * _MICRO // (nominal * under))
