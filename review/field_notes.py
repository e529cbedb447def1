"""Field notes: what was written down on set, tied to whatever was rolling then.

A CSV is previewed before it is taken: each line says what it would be tied to, and what is wrong with it. Notes that
match nothing are kept and listed, because the card they belong to may come later.
"""

import csv
import hashlib
import io
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db import transaction
from django.db.models import Q, QuerySet

from review import access, activity, angles, findables, roles
from review.clock import time_of
from review.models import Clip, FieldNote, Person, Production
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
    """A line of the CSV, numbered as in the file. With a `problem` it cannot be taken."""

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


@dataclass(frozen=True)
class Preview:
    """What taking a file would do: each good line with the clips that were rolling, and the lines that are not."""

    matched: list[tuple[Line, list[tuple[Clip, int]]]]
    unmatched: list[Line]
    bad: list[Line]
    known: int  # lines that were taken before


def preview(person: Person, production: Production, data: bytes) -> Preview:
    access.require(person, production, roles.TAKE_NOTES)
    lines = read_csv(data, production.timebase)
    good = [line for line in lines if not line.problem]
    digests = {line.digest for line in good}
    taken = set(production.field_notes.filter(digest__in=list(digests)[:900]).values_list("digest", flat=True))
    if len(digests) > 900:
        taken = digests & set(production.field_notes.values_list("digest", flat=True))
    fresh = [line for line in good if line.digest not in taken]
    matched, unmatched = [], []
    rolling = Rolling(production)
    for line in fresh:
        clips = rolling.at(line.day, line.at, line.camera)
        if clips:
            matched.append((line, clips))
        else:
            unmatched.append(line)
    return Preview(matched, unmatched, [line for line in lines if line.problem], len(good) - len(fresh))


def take(person: Person, production: Production, data: bytes) -> int:
    """Take the file's good lines; one that was taken before is not taken twice. Returns how many are new."""
    access.require(person, production, roles.TAKE_NOTES)
    good = {line.digest: line for line in read_csv(data, production.timebase) if not line.problem}
    with transaction.atomic():
        before = production.field_notes.count()
        notes = [
            FieldNote(
                production=production,
                day=line.day,
                timecode=line.timecode,
                at=math.ceil(line.at * 1_000_000),  # never before the frame that it names
                camera=line.camera,
                text=line.text,
                tag=line.tag,
                digest=digest,
                taken_by=person,
            )
            for digest, line in good.items()
        ]
        FieldNote.objects.bulk_create(notes, ignore_conflicts=True, batch_size=500)
        taken = production.field_notes.count() - before
        if taken:
            words = f"{taken} field note{'' if taken == 1 else 's'}"
            activity.happened(production, person, "took", words, activity.About.NOTE)
            findables.look_again(production, {line.day for line in good.values()})
        return taken


def delete(person: Person, note: FieldNote) -> None:
    access.require(person, note.production, roles.TAKE_NOTES)
    with transaction.atomic():
        words = f"the field note of {note.day:%Y-%m-%d} {note.timecode}: {note.text}"
        activity.happened(note.production, person, "deleted", words, activity.About.NOTE, note.id)
        note.delete()
        findables.look_again(note.production, {note.day})


def find(production: Production, text: str = "") -> QuerySet[FieldNote]:
    """The production's notes, with every word of `text` in them."""
    found = production.field_notes.all()
    for word in text.replace("\0", "").split()[:20]:
        found = found.filter(Q(text__icontains=word) | Q(tag__icontains=word) | Q(timecode__startswith=word))
    return found


def on_clip(clip: Clip) -> list[tuple[int, FieldNote]]:
    """The notes that were written while a clip was rolling, with the frame, in order."""
    if clip.card.shoot_date is None:
        return []
    start, end = angles.time_on(clip, 0), angles.time_on(clip, clip.frames)
    if not angles.has_time(clip):
        return []
    found = []
    for days in sorted({int(start // angles.DAY), int(end // angles.DAY)}):
        day = date.fromordinal(clip.card.shoot_date.toordinal() + days)
        shift = days * angles.DAY
        since, until = max(0, int((start - shift) * 1_000_000)), max(0, int((end - shift) * 1_000_000))
        notes = clip.card.production.field_notes.filter(day=day, at__gte=since, at__lt=until)
        for note in notes.filter(Q(camera="") | Q(camera=clip.card.camera)):
            frame = angles.frame_on(clip, Fraction(note.at, 1_000_000) + shift)
            found.append((min(max(frame, 0), clip.frames - 1), note))
    return sorted(found, key=lambda each: (each[0], each[1].id))


class Rolling:
    """What was rolling at many times of a production's days; each day's clips are looked up once."""

    def __init__(self, production: Production):
        self._production = production
        self._days: dict[date, list[tuple[Clip, int, int, Fraction, Fraction]]] = {}

    def at(self, day: date, time: Fraction, camera: str = "") -> list[tuple[Clip, int]]:
        """The clips that were rolling, with the frame; of one camera if given."""
        found = []
        second = math.floor(time)  # most clips are told apart by whole seconds, much faster than by fractions
        for clip, first, last, start, end in self._of(day):
            if first <= second <= last and start <= time < end and camera in ("", clip.card.camera):
                later = (clip.card.shoot_date - day).days * angles.DAY
                found.append((clip, min(max(angles.frame_on(clip, time - later), 0), clip.frames - 1)))
        return found

    def of(self, note: FieldNote) -> list[tuple[Clip, int]]:
        """The clips that were rolling when a note was written, with the frame."""
        return self.at(note.day, Fraction(note.at, 1_000_000), note.camera)

    def _of(self, day: date) -> list[tuple[Clip, int, int, Fraction, Fraction]]:
        if day not in self._days:
            found = self._days[day] = []
            for clip in angles.shot_near(self._production, day):
                later = (clip.card.shoot_date - day).days * angles.DAY
                start, end = (angles.time_on(clip, frame) + later for frame in (0, clip.frames))
                found.append((clip, math.floor(start), math.floor(end), start, end))
        return self._days[day]


def without_footage(production: Production, notes: Iterable[FieldNote]) -> list[FieldNote]:
    """Those of the notes that nothing was rolling for, as far as cards have come."""
    rolling = Rolling(production)
    return [note for note in notes if not rolling.of(note)]
