"""Rows for spreadsheets and scripts: CSV as in RFC 4180, UTF-8."""

import csv
import io
import re
from collections.abc import Iterable, Sequence

from review.exports import ExportFile
from review.exports.text import file_name, without_controls

_FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]")  # some spreadsheets take the full-width signs too


def table(title: str, columns: Sequence[str], rows: Iterable[Sequence[str | int]]) -> ExportFile:
    """One file. A byte order mark comes first, or spreadsheets take the text for an 8-bit code page."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([_cell(each) for each in row] for row in rows)
    return ExportFile(file_name(title, "csv"), text.getvalue().encode("utf-8-sig"), "text/csv; charset=utf-8")


def _cell(value: str | int) -> str | int:
    """Line breaks are kept, tabs become spaces, other controls go; a formula is made text by an apostrophe."""
    if isinstance(value, int):
        return value
    value = without_controls(value).replace("\t", " ")
    return f"'{value}" if _FORMULA.match(value) else value
