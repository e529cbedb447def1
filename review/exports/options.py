"""What a person may choose about an export, read once from a query, a form or the command line.

Everything has a default, so that an export without any choice is the same from year to year.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields

from review.exports.pull import ExportRefused
from review.exports.table import COLUMNS, EVERY_COLUMN
from review.timecode import Rate, Timebase, TimecodeError

CLIPS_OWN = "clip"  # channels as each clip has them
# The codes of CMX3600 by picture and tracks of sound, as public parsers read them (pycmx's channel map).
CHANNEL_CODES = {
    "V": (True, ()),
    "A": (False, (1,)),
    "A2": (False, (2,)),
    "AA": (False, (1, 2)),
    "B": (True, (1,)),
    "A2/V": (True, (2,)),
    "AA/V": (True, (1, 2)),
}
RECORD, SOURCE = "record", "source"
SHORT, LONG = "short", "long"
_YES, _NO = ("yes", "true", "1", "on"), ("no", "false", "0", "off", "")


class OptionRefused(ExportRefused):
    """A choice that there is not; `field` is the option's name."""

    def __init__(self, field: str, message: str):
        super().__init__(message)
        self.field = field


@dataclass(frozen=True)
class ExportOptions:
    """What was chosen. The first six are of the EDL, `columns` is of the CSV.

    `channels`: 'clip' or a key of CHANNEL_CODES. `order`: 'record' (as the list) or 'source' (by reel and source in).
    `start`: the record timecode of each file's first event. `rate`: the record rate and its counting; None for each
    source's own. `reels`: 'short' (eight characters) or 'long' (the card folder's name, in a field of 32).
    `table`: whether the table of reels, card folders and files is written, in comments and beside the list.
    """

    channels: str = CLIPS_OWN
    order: str = RECORD
    start: str = "01:00:00:00"
    rate: Timebase | None = None
    reels: str = SHORT
    table: bool = False
    columns: tuple[str, ...] = COLUMNS

    @classmethod
    def read(cls, given: Mapping[str, object]) -> "ExportOptions":
        """The options among `given`: texts, as a query has them, or the values that `chosen` gave. What is missing or
        empty is the default; raises OptionRefused for what cannot be."""
        read = {name: _READERS[name](given[name]) for name in _READERS if given.get(name) not in (None, "", [], ())}
        return cls(**read)

    def chosen(self) -> dict[str, object]:
        """What differs from the defaults, as JSON can hold it; `read` takes it back."""
        told = {
            each.name: getattr(self, each.name) for each in fields(self) if getattr(self, each.name) != each.default
        }
        if self.rate:
            told["rate"] = rate_words(self.rate)
        if "columns" in told:
            told["columns"] = list(self.columns)
        return told

    def record_start(self, timebase: Timebase) -> int:
        """The frame of the day at which a file of `timebase` starts; raises OptionRefused if it has no such label."""
        try:
            return timebase.frame(self.start if timebase.rate.can_drop else self.start.replace(";", ":"))
        except TimecodeError as problem:
            raise OptionRefused(
                "start", f"The record start cannot be that at {rate_words(timebase)}: {problem}. Choose another."
            ) from None


DEFAULTS = ExportOptions()


def rate_words(timebase: Timebase) -> str:
    """'25', '29.97DF' or '29.97NDF': the kind is named where there are two."""
    if not timebase.rate.can_drop:
        return str(timebase.rate)
    return f"{timebase.rate}{'DF' if timebase.drop else 'NDF'}"


def read_switch(name: str, given: object) -> bool:
    """Yes or no, as a query, a form or JSON says it."""
    said = str(given).strip().lower()
    if said in _YES or said in _NO:
        return said in _YES
    raise OptionRefused(name, f"{name} is yes or no, not {_short(given)}.")


def _one_of(name: str, known: tuple[str, ...], given: object) -> str:
    by_name = {each.lower(): each for each in known}
    try:
        return by_name[str(given).strip().lower()]
    except KeyError:
        raise OptionRefused(name, f"{name} is one of {', '.join(known)}, not {_short(given)}.") from None


def _start(given: object) -> str:
    said = str(given).strip()
    try:  # whether it fits the rates that are in the list is known when they are
        Timebase(Rate(60000, 1001)).frame(said)
    except TimecodeError as problem:
        raise OptionRefused("start", f"The record start {_short(said)} cannot be: {problem}.") from None
    return said


def _rate(given: object) -> Timebase:
    said = str(given).strip().upper()
    drop = said.endswith("DF") and not said.endswith("NDF")
    try:
        return Timebase(Rate.parse(said.removesuffix("DF").removesuffix("N")), drop)
    except TimecodeError as problem:
        raise OptionRefused("rate", f"The record rate cannot be that: {problem}.") from None


def _columns(given: object) -> tuple[str, ...]:
    parts = given if isinstance(given, list | tuple) else str(given).split(",")
    wanted = tuple(dict.fromkeys(" ".join(str(part).lower().replace("_", " ").split()) for part in parts))
    unknown = [each for each in wanted if each not in EVERY_COLUMN]
    if unknown:
        raise OptionRefused(
            "columns", f"There is no column {_short(unknown[0])}. The columns are: {', '.join(EVERY_COLUMN)}."
        )
    return wanted


def _short(given: object) -> str:
    said = str(given)
    return ascii(said if len(said) <= 40 else f"{said[:39]}…")


_READERS = {
    "channels": lambda given: _one_of("channels", (CLIPS_OWN, *CHANNEL_CODES), given),
    "order": lambda given: _one_of("order", (RECORD, SOURCE), given),
    "start": _start,
    "rate": _rate,
    "reels": lambda given: _one_of("reels", (SHORT, LONG), given),
    "table": lambda given: read_switch("table", given),
    "columns": _columns,
}
