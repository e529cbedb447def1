"""Selects as a table for spreadsheets and scripts: CSV as in RFC 4180, UTF-8.

A byte order mark comes first, or spreadsheets take the text for an 8-bit code page.
"""

import csv
import io
import re
from collections.abc import Callable, Sequence

from review.exports.pull import Event, ExportFile, SelectsList
from review.exports.text import file_name, without_controls

_FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]")  # some spreadsheets take the full-width signs too


def csv_table(selects: SelectsList, columns: Sequence[str] | None = None) -> list[ExportFile]:
    """One row for each event, in list order, under a row of names of EVERY_COLUMN; one file."""
    columns = columns or COLUMNS
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns)
    values = [_VALUES[column] for column in columns]
    writer.writerows([value(event, place) for value in values] for place, event in enumerate(selects.events, 1))
    content = text.getvalue().encode("utf-8-sig")
    return [ExportFile(file_name(selects.title, "csv"), content, "text/csv; charset=utf-8")]


def cell(text: str) -> str:
    """Line breaks are kept, tabs become spaces, other controls go; a formula is made text by an apostrophe."""
    text = without_controls(text).replace("\t", " ")
    return f"'{text}" if is_formula(text) else text


def is_formula(text: str) -> bool:
    """Whether a spreadsheet might run `text`."""
    return bool(_FORMULA.match(text))


# Column -> its value of an event at a place in the list, counted from 1.
_VALUES: dict[str, Callable[[Event, int], str | int]] = {
    "card": lambda event, _: cell(event.card),
    "camera": lambda event, _: cell(event.camera),
    "shoot date": lambda event, _: event.shoot_date.isoformat() if event.shoot_date else "",
    "file": lambda event, _: cell("; ".join((event.file, *event.more_files))),
    "clip": lambda event, _: cell(event.clip),
    "reel": lambda event, _: cell(event.reel),
    "rate": lambda event, _: str(event.timebase.rate),
    "drop": lambda event, _: "DF" if event.timebase.drop else "NDF",
    "source in": lambda event, _: event.source_in,
    "source out": lambda event, _: event.source_out,
    "in frame": lambda event, _: event.in_frame,
    "out frame": lambda event, _: event.out_frame,
    "duration": lambda event, _: event.timebase.label(event.length),
    "duration frames": lambda event, _: event.length,
    "tags": lambda event, _: cell(", ".join(event.tags)),
    "note": lambda event, _: cell(event.note),
    "rating": lambda event, _: event.rating,
    "logger": lambda event, _: cell(event.logger),
    "select id": lambda event, _: "; ".join((event.select_id, *event.also)),
    "source timecode": lambda event, _: "yes" if event.source_timecode else "no",
    "place": lambda _, place: place,
    "section": lambda event, _: cell(event.section),
    "seconds": lambda event, _: f"{float(event.timebase.rate.seconds(event.length)):.3f}",
    "channels": lambda event, _: event.channels,
    "kind": lambda event, _: "picture" if event.has_picture else "sound",
    "handle before": lambda event, _: event.handles[0],
    "handle after": lambda event, _: event.handles[1],
}
EVERY_COLUMN = tuple(_VALUES)
COLUMNS = EVERY_COLUMN[: EVERY_COLUMN.index("place")]  # what a table has when nobody chose
