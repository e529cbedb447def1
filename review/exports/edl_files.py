"""An export of lists as it is handed over: where there are several, with a page of plain text that says what is in
each, and with the table of reels, card folders and files."""

import hashlib
from collections.abc import Sequence
from fractions import Fraction

from review.exports.edl import Part, edl_parts, short_title
from review.exports.options import DEFAULTS, LONG, SOURCE, ExportOptions, rate_words
from review.exports.pull import ExportFile, SelectsList
from review.exports.reels import as_csv, reel_table
from review.exports.text import ascii_line, file_name

_TEXT = "text/plain; charset=us-ascii"


def edl_export(selects: SelectsList, options: ExportOptions = DEFAULTS) -> list[ExportFile]:
    """The lists that `cmx3600` writes; where there are several, or the table is wanted, with a manifest and the table
    of reels, card folders and files beside them."""
    parts = edl_parts(selects, options)
    files = [part.file(selects.title) for part in parts]
    if len(files) == 1 and not options.table:
        return files
    table = as_csv(reel_table(selects.events, options.reels))
    return [
        *files,
        ExportFile(_name(selects.title, " manifest", "txt"), manifest(selects, parts, files, options), _TEXT),
        ExportFile(_name(selects.title, " reels", "csv"), table, "text/csv; charset=utf-8"),
    ]


def _name(title: str, suffix: str, extension: str) -> str:
    return file_name(short_title(title, suffix), extension)


def manifest(selects: SelectsList, parts: Sequence[Part], files: Sequence[ExportFile], options: ExportOptions) -> bytes:
    """The files with their rates, events, record times and hashes, and why there are several."""
    seconds = sum((event.timebase.rate.seconds(event.length) for event in selects.events), start=Fraction(0))
    whole = round(seconds)
    lines = [
        f"{ascii_line(selects.title) or 'SELECTS'} ({selects.production})",
        f"{len(selects.events)} selects, {whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02} in all",
        "",
    ]
    if len(files) > 1:
        lines += [f"{len(files)} lists: an EDL holds one frame rate, 999 events and less than a day.", ""]
    for part, file in zip(parts, files, strict=True):
        lines += [
            file.name,
            f"  {len(part.lines)} events at {rate_words(part.timebase)}, record {part.first} to {part.record_in}",
            *([f"  {part.why_apart}"] if part.why_apart else []),
            f"  sha256 {hashlib.sha256(file.content).hexdigest()}",
        ]
    lines += ["", "Outs are exclusive: the frame after the last."]
    if options.order == SOURCE:
        lines.append("Events are in source order (reel, then source in); record times are those of the list's order.")
    if options.reels == LONG:
        lines.append("Reels are the cards' folder names, in a field of 32 characters.")
    lines.append("Which reel is which card folder, and its files, is in the table of reels beside this page.")
    return ("\r\n".join(lines) + "\r\n").encode("ascii")
