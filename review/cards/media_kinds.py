"""Kinds of medium that copies are kept on: how often to prove them, when to replace them, what still reads them.

Lifetimes and intervals are common practice, no source, and every medium may have its own. What LTO drives read and
write is the LTO Program's rule: up to generation 7 a drive reads two generations back and writes one; 8 and 9 read and
write one back; 10 none. Native capacities are from memory.
"""

import calendar
from dataclasses import dataclass
from datetime import date

OLDEST_TAPE, NEWEST_TAPE = 1, 10
_NATIVE_TERABYTES = (0.1, 0.2, 0.4, 0.8, 1.5, 2.5, 6, 12, 18, 30)


@dataclass(frozen=True)
class MediumKind:
    """`check_every` is in days; `lasts` in years, from when to think of replacing it to when at the latest."""

    key: str
    words: str
    check_every: int
    lasts: tuple[int, int] | None
    advice: str = ""


@dataclass(frozen=True)
class TapeGeneration:
    """An LTO generation: what its drives read and write, and how much a cartridge holds, in terabytes."""

    number: int
    reads: tuple[int, ...]
    writes: tuple[int, ...]
    native_terabytes: float

    @property
    def key(self) -> str:
        return f"lto-{self.number}"


def _generation(number: int) -> TapeGeneration:
    reads_back = 2 if number <= 7 else 1 if number <= 9 else 0
    writes_back = 1 if number <= 9 else 0
    return TapeGeneration(
        number,
        tuple(range(number, max(OLDEST_TAPE, number - reads_back) - 1, -1)),
        tuple(range(number, max(OLDEST_TAPE, number - writes_back) - 1, -1)),
        _NATIVE_TERABYTES[number - 1],
    )


TAPES = {number: _generation(number) for number in range(OLDEST_TAPE, NEWEST_TAPE + 1)}

UNKNOWN = "unknown"
ORIGINAL = "camera-card"

KINDS = {
    kind.key: kind
    for kind in (
        MediumKind(UNKNOWN, "not described yet", 182, None, "Say what it is and where it is kept."),
        MediumKind("disk", "hard disk", 182, (3, 8), "Power it up regularly: a disk that lies still may stick."),
        MediumKind("ssd", "solid-state drive", 182, (3, 5), "It loses its charge in a drawer: power it up regularly."),
        MediumKind(
            "server", "server or disk array", 365, (3, 8), "One array is one device, however many disks it has."
        ),
        MediumKind(
            "cloud", "storage of a provider", 365, None, "Read it back now and then; it is paid for by the month."
        ),
        MediumKind("optical", "optical disc, dye-based", 365, (10, 25), "Keep it dark, cool and dry."),
        MediumKind(ORIGINAL, "camera card", 30, None, "It is what would be wiped, so it is never counted as a copy."),
        *(
            MediumKind(each.key, f"LTO-{each.number} tape", 365, (10, 30), "Replace it while a drive still reads it.")
            for each in TAPES.values()
        ),
    )
}


def kind_of(key: str) -> MediumKind:
    """The kind of that key; a key that is not known any more is a medium not described yet."""
    return KINDS.get(key, KINDS[UNKNOWN])


def tape_generation(key: str) -> int | None:
    """The LTO generation of a kind of medium; None if it is no tape."""
    return int(key.removeprefix("lto-")) if key.startswith("lto-") and key in KINDS else None


def drives_that_read(generation: int) -> list[int]:
    """The generations of LTO drives that read a tape of this one, oldest first."""
    return [drive.number for drive in TAPES.values() if generation in drive.reads]


def drives_that_write(generation: int) -> list[int]:
    """The generations of LTO drives that write a tape of this one, oldest first."""
    return [drive.number for drive in TAPES.values() if generation in drive.writes]


def replacement(kind: MediumKind, in_use_since: date | None) -> tuple[date, date] | None:
    """From when to think of replacing a medium, and when at the latest; None where nobody can say."""
    if kind.lasts is None or in_use_since is None:
        return None
    return _years_on(in_use_since, kind.lasts[0]), _years_on(in_use_since, kind.lasts[1])


def _years_on(day: date, years: int) -> date:
    year = day.year + years
    return date(year, day.month, min(day.day, calendar.monthrange(year, day.month)[1]))
