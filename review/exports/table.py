"""Selects as a table for spreadsheets and scripts: CSV as in RFC 4180, UTF-8.

A byte order mark comes first, or spreadsheets take the text for an 8-bit code page.
"""

import csv
import io
import re

from review.exports.pull import Event, ExportFile, SelectsList
from review.exports.text import file_name, without_controls

COLUMNS = (
    "card",
    "camera",
    "shoot date",
    "file",
    "clip",
    "reel",
    "rate",
    "drop",
    "source in",
    "source out",
    "in frame",
    "out frame",
    "duration",
    "duration frames",
    "tags",
    "note",
    "rating",
    "logger",
    "select id",
    "source timecode",
)

_FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]")  # some spreadsheets take the full-width signs too


def csv_table(selects: SelectsList) -> list[ExportFile]:
    """One row for each select, in list order, under a row of column names; one file."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows(_row(event) for event in selects.events)
    content = text.getvalue().encode("utf-8-sig")
    return [ExportFile(file_name(selects.title, "csv"), content, "text/csv; charset=utf-8")]


def _row(event: Event) -> tuple[str | int, ...]:
    return (
        _cell(event.card),
        _cell(event.camera),
        event.shoot_date.isoformat() if event.shoot_date else "",
        _cell("; ".join((event.file, *event.more_files))),
        _cell(event.clip),
        _cell(event.reel),
        str(event.timebase.rate),
        "DF" if event.timebase.drop else "NDF",
        event.source_in,
        event.source_out,
        event.in_frame,
        event.out_frame,
        event.timebase.label(event.length),
        event.length,
        _cell(", ".join(event.tags)),
        _cell(event.note),
        event.rating,
        _cell(event.logger),
        event.select_id,
        "yes" if event.source_timecode else "no",
    )


def _cell(text: str) -> str:
    """Line breaks are kept, tabs become spaces, other controls go; a formula is made text by an apostrophe."""
    text = without_controls(text).replace("\t", " ")
    return f"'{text}" if _FORMULA.match(text) else text
