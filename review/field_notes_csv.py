"""Field notes as a CSV, written by whoever kept them on set: each line with what is wrong with it, if anything."""

import csv
import hashlib
import io
import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from review.clock import time_of
from review.refusals import Refusal
from review.timecode import Timebase, TimecodeError

MOST_BYTES = 1_800_000  # the page sends a preview back in a field, a third longer, and a form may hold 2.5 MB
MOST_LINES = 20_000
LONGEST_TEXT = 4000

# The names that columns go by, in lower case; common practice, no source.
_COLUMNS = {
    "day": ("date", "day", "shoot date", "shoot day"),
    "timecode": ("timecode", "time", "tc", "time of day"),
    "camera": ("camera", "cam"),
    "text": ("text", "note", "notes", "description", "comment", "what"),
    "tag": ("tag", "story", "tags"),
}
_DATES = (
    re.compile(r"(?P<y>\d{4})[-./](?P<m>\d{1,2})[-./](?P<d>\d{1,2})"),
    re.compile(r"(?P<d>\d{1,2})\.(?P<m>\d{1,2})\.(?P<y>\d{4})"),
    re.compile(r"(?P<y>20\d\d)(?P<m>\d\d)(?P<d>\d\d)"),
)
_TIME = re.compile(r"(\d{1,2})[:.](\d\d)(?:[:.](\d\d)(?:[:;.,](\d\d))?)?")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True)
class Line:
    """A line of the CSV, numbered as in the file: the names of the columns are line 1. With a `problem` it cannot be
    taken."""

    number: int
    day: date | None = None
    timecode: str = ""
    at: Fraction = Fraction(0)  # seconds since midnight
    camera: str = ""
    text: str = ""
    tag: str = ""
    problem: str = ""

    @property
    def digest(self) -> str:
        facts = "\0".join((str(self.day), str(self.at), self.camera, self.text, self.tag))
        return hashlib.blake2b(facts.encode(), digest_size=16).hexdigest()


def read_csv(data: bytes, timebase: Timebase) -> list[Line]:
    """The lines of a CSV of field notes; times of day are read as the production's timecode.

    Raises Refusal when it is no CSV with the columns that are needed; what is wrong with one line is said in it.
    """
    if len(data) > MOST_BYTES:
        raise Refusal(f"The file has {len(data):,} bytes; {MOST_BYTES:,} is the most. Split it by shoot day.", "file")
    text = _decode(data)
    first = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as problem:
        raise Refusal(f"The file is not a CSV: {problem}. Save it as CSV from the spreadsheet again.", "file") from None
    columns = _columns(rows[0] if rows else [])
    if len(rows) > MOST_LINES + 1:
        raise Refusal(f"The file has {len(rows) - 1:,} lines; {MOST_LINES:,} is the most. Split it.", "file")
    found = []
    for number, row in enumerate(rows[1:], start=2):
        if any(cell.strip() for cell in row):
            cells = {name: row[at].strip() if at < len(row) else "" for name, at in columns.items()}
            found.append(_line(number, cells, timebase))
    return found


def _decode(data: bytes) -> str:
    for encoding in ("utf-8-sig", "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8"):
        try:
            return data.decode(encoding).replace("\r\n", "\n").replace("\r", "\n")
        except UnicodeDecodeError:
            pass
    raise Refusal("The file's letters are not UTF-8: save it as 'CSV UTF-8' from the spreadsheet.", "file")


def _columns(header: list[str]) -> dict[str, int]:
    """Which column is which, by the names in the first line."""
    names = [name.strip().casefold() for name in header]
    found = {}
    for column, known in _COLUMNS.items():
        at = next((names.index(name) for name in known if name in names), None)
        if at is not None:
            found[column] = at
    missing = [column for column in ("day", "timecode", "text") if column not in found]
    if missing:
        words = {"day": "date", "timecode": "timecode", "text": "text"}
        raise Refusal(
            "The first line must name the columns: date, timecode and text, and camera and tag if there are any. "
            f"Missing: {', '.join(words[each] for each in missing)}.",
            "file",
        )
    return found


def _line(number: int, cells: dict[str, str], timebase: Timebase) -> Line:
    problems = []
    day = _day(cells["day"])
    if day is None:
        problems.append(f"{cells['day'][:30]!r} is no date; write it as 2026-11-12")
    timecode, at = _time(cells["timecode"], timebase)
    if at is None:
        problems.append(f"{cells['timecode'][:30]!r} is no time of day; write it as 10:04:31:12 or 10:04")
    camera = cells.get("camera", "").upper()
    if camera and not re.fullmatch("[A-Z]", camera):
        problems.append(f"{camera[:30]!r} is no camera letter")
    text = _CONTROL.sub("", cells["text"]).strip()
    if not text:
        problems.append("it says nothing")
    elif len(text) > LONGEST_TEXT:
        problems.append(f"it has {len(text):,} letters; {LONGEST_TEXT:,} is the most")
    tag = " ".join(_CONTROL.sub("", cells.get("tag", "")).split())[:60]
    if problems:
        return Line(number, text=text[:200], problem="; ".join(problems))
    return Line(number, day, timecode, at, camera, text, tag)


def _day(text: str) -> date | None:
    for pattern in _DATES:
        if match := pattern.fullmatch(text):
            try:
                return date(int(match["y"]), int(match["m"]), int(match["d"]))
            except ValueError:
                return None
    return None


def _time(text: str, timebase: Timebase) -> tuple[str, Fraction | None]:
    match = _TIME.fullmatch(text)
    if not match:
        return text, None
    hours, minutes, seconds, frames = (int(each or 0) for each in match.groups())
    separator = ";" if timebase.drop else ":"
    label = f"{hours:02}:{minutes:02}:{seconds:02}{separator}{frames:02}"
    try:
        return label, time_of(timebase, timebase.frame(label))
    except TimecodeError:
        if frames == 0 and hours < 24 and minutes < 60 and seconds < 60:  # a label that drop-frame skips
            return label, Fraction(3600 * hours + 60 * minutes + seconds)
        return text, None
