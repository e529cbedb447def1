"""Coverage in rows: per card, camera, day, story or logger; and as CSV, exact to the frame."""

import csv
import io
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from django.db.models import Count

from review import roles
from review.exports import ExportFile
from review.exports.table import cell
from review.exports.text import file_name
from review.models import Card, Membership, Person, Production, Select
from review.record import coverage, story_footage
from review.record.coverage import Coverage, Frames
from review.seeing.coverage_asked import Asked, Condition
from review.seeing.coverage_by_story import Columns
from review.timecode import Timebase

_COLUMNS = {"card": "card", "camera": "card__camera", "day": "card__shoot_date"}


@dataclass(frozen=True)
class Row:
    """`value` is what the row's footage is asked for by: a card's name, a camera, an ISO day or "none"."""

    name: str
    value: str
    coverage: Coverage
    card: Card | None = None
    day: date | None = None


@dataclass(frozen=True)
class Table:
    """The rows, and the whole of what was asked for. Rows by story or logger may hold the same frames, so they add up
    to more or less than the whole; `shared` is how many clips are in several rows."""

    asked: Asked
    rows: list[Row]
    total: Coverage = field(default_factory=Coverage)
    shared: int = 0

    @property
    def adds_up(self) -> bool:
        return self.asked.by in _COLUMNS


def table(production: Production, asked: Asked, *, people: bool = True) -> Table:
    """Without `people`, rows that can be many come without who saw what: see `name_people`."""
    condition = asked.condition(production)
    if asked.by in _COLUMNS:
        if people or asked.narrowed or asked.person:
            named = people or bool(asked.person)  # of one person, that is what is counted
            found = coverage.grouped(_COLUMNS[asked.by], condition, people=named, marked_by=asked.person)
        else:
            found = _as_known(production, asked.by)
        rows = _named(production, asked.by, found)
        made = Table(asked, rows, coverage.total(row.coverage for row in rows))
    elif asked.by == "logger":
        made = _by_logger(production, asked, condition)
    else:
        made = _by_story(production, asked, condition)
    if asked.person:
        for part in (made.total, *(row.coverage for row in made.rows)):
            _narrow_to(asked.person, part)
    _sort(made.rows, asked.sort)
    return made


def _as_known(production: Production, by: str) -> dict:
    """What coverage.grouped finds of the whole production, made of what is remembered of its cards."""
    found: dict = {}
    for card, part in coverage.by_card_as_known(production).items():
        if part.clips:
            key = {"card": card.id, "day": card.shoot_date, "camera": card.camera}[by]
            found.setdefault(key, Coverage()).add(part)
    return found


def name_people(production: Production, asked: Asked, rows: list[Row]) -> None:
    """Put in who saw what, into rows that came without."""
    if asked.by not in _COLUMNS or asked.person:
        return
    column = _COLUMNS[asked.by]
    by_key = {_key(asked.by, row): row.coverage for row in rows}
    coverage.add_people(by_key, column, asked.condition(production))


def _key(by: str, row: Row):
    """What the row's column holds in the database."""
    if by == "card":
        return row.card.id
    return row.day if by == "day" else "" if row.value == "?" else row.value


def _named(production: Production, by: str, found: dict) -> list[Row]:
    if by == "card":
        cards = production.cards.filter(state__in=Card.TRUSTED).only(
            "id", "production", "name", "shoot_date", "camera", "number"
        )
        return [Row(card.name, card.name, found[card.id], card) for card in cards if card.id in found]
    if by == "day":
        days = sorted(found, key=lambda day: (day is None, day))
        return [Row(str(day or "no date"), str(day or "none"), found[day], day=day) for day in days]
    return [Row(camera or "?", camera or "?", found[camera]) for camera in sorted(found)]


def _by_logger(production: Production, asked: Asked, condition: Condition) -> Table:
    """What each person saw of all of it; those who saw nothing are there if they are loggers."""
    whole = coverage.total(coverage.grouped("card__production", condition, selects=False).values())
    loggers = Membership.objects.filter(production=production, role=roles.LOGGER, person__is_active=True)
    names = {*whole.by_person, *loggers.values_list("person__username", flat=True)}
    marked = Select.objects.filter(condition("clip__"), deleted=None).order_by().values_list("logger")
    counts = dict(marked.annotate(many=Count("*")))
    people = Person.objects.filter(id__in=counts).values_list("id", "username")
    selects = {username: counts[person] for person, username in people}
    whole.selects = selects.get(asked.person, 0) if asked.person else sum(selects.values())
    rows = []
    for name in [asked.person] if asked.person else sorted(names, key=str.casefold):
        part = Coverage(clips=whole.clips, by_person={name: whole.by_person.get(name, {})})
        part.selects = selects.get(name, 0)
        for base, shot in whole.bases.items():
            part.put(base, shot=shot.shot)
        _narrow_to(name, part)
        rows.append(Row(name, name, part))
    return Table(asked, rows, whole)


def _by_story(production: Production, asked: Asked, condition: Condition) -> Table:
    columns = Columns.read(condition, asked.person)
    rows, times = [], np.zeros(len(columns.clips), np.int64)
    for name, clips in story_footage.by_story(production).items():
        if len(here := columns.places(clips)):
            rows.append(Row(name, name, columns.coverage(here)))
            times[here] += 1
    if len(none := np.flatnonzero(times == 0)):
        rows.append(Row("no story", "none", columns.coverage(none)))
    return Table(asked, rows, columns.coverage(np.arange(len(times))), int((times > 1).sum()))


def _narrow_to(person: str, part: Coverage) -> None:
    """Watched and skimmed as if nobody else had seen anything."""
    own = part.by_person.get(person, {})
    part.by_person = {person: own} if own else {}
    for base, sums in part.bases.items():
        mine = own.get(base, Frames())
        sums.watched, sums.skimmed = mine.watched, mine.skimmed


def _sort(rows: list[Row], sort: str) -> None:
    """In place; equal ones stay in the order of their names, in which they are."""
    name, most_first = sort.removeprefix("-"), sort.startswith("-")
    if name == "name":
        if most_first:
            rows.reverse()
    elif name == "seen":
        rows.sort(key=lambda row: row.coverage.share(row.coverage.watched + row.coverage.skimmed), reverse=most_first)
    else:
        rows.sort(key=lambda row: getattr(row.coverage, name), reverse=most_first)


# As CSV -----------------------------------------------------------------------------------------

COUNTS = ("shot", "watched", "skimmed", "unwatched", "asked", "twice")
_WORDS = {"asked": "second looks asked for", "twice": "second looks seen by two"}


def length(base: Timebase, frames: int) -> str:
    """A length as timecode, hours:minutes:seconds:frames; the hours may go beyond 23."""
    days, within = divmod(frames, base.frames_per_day)
    label = base.label(within)
    return f"{24 * days + int(label[:2]):02}{label[2:]}"


def as_csv(production: Production, made: Table) -> ExportFile:
    """One line for each row and rate, so that every count is exact; clips and selects stand on a row's first line."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    header = [made.asked.by, "rate (frames a second)", "counting"]
    for count in COUNTS:
        words = _WORDS.get(count, count)
        header += [f"{words} (frames)", f"{words} (h:min:s:frames)"]
    writer.writerow([*header, "clips", "selects", "watched by (frames)", "skimmed by, and not watched (frames)"])
    for row in made.rows:
        own = [row.coverage.clips, row.coverage.selects]
        for base, part in sorted(row.coverage.bases.items(), key=lambda each: str(each[0])):
            line = [cell(row.name), str(base.rate), "DF" if base.drop else "NDF"]
            for count in COUNTS:
                frames = getattr(part, count)
                line += [frames, length(base, frames)]
            people = [_people(row.coverage, base, what) for what in ("watched", "skimmed")]
            writer.writerow([*line, *own, *people])
            own = ["", ""]
    name = file_name(f"{production.code} coverage by {made.asked.by}", "csv")
    return ExportFile(name, text.getvalue().encode("utf-8-sig"), "text/csv; charset=utf-8")


def _people(part: Coverage, base: Timebase, what: str) -> str:
    counted = {name: getattr(bases[base], what) for name, bases in sorted(part.by_person.items()) if base in bases}
    return cell("; ".join(f"{name} {count}" for name, count in counted.items() if count))
