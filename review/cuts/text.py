"""The lines of a cut list, whatever wrote it: any line end, any of the encodings that lists come in."""

import re

from review.cuts.events import CutUnreadable

MOST_BYTES = 8_000_000
MOST_LINES = 100_000
LONGEST_LINE = 1_000  # characters; what is longer is cut

_LINE_END = re.compile("\r\n|\r|\n")
_MARKS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


def lines_of(content: bytes) -> list[str]:
    """The lines without their ends, tabs as spaces, trailing space gone. Raises CutUnreadable for what is no text."""
    if len(content) > MOST_BYTES:
        raise CutUnreadable(
            f"The file has {len(content):,} bytes, and a cut list of {MOST_BYTES:,} is the longest that is read. "
            "Make sure that it is an EDL, or export it in parts."
        )
    lines = _LINE_END.split(_decoded(content))
    if len(lines) > MOST_LINES:
        raise CutUnreadable(
            f"The file has {len(lines):,} lines; {MOST_LINES:,} is the most that is read. Export it in parts."
        )
    return [_CONTROLS.sub("", line[:LONGEST_LINE].replace("\t", " ")).rstrip() for line in lines]


def _decoded(content: bytes) -> str:
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            return content[len(mark) :].decode(encoding, errors="replace")
    if b"\0" in content[:400]:  # in UTF-16, one of two bytes of plain letters is zero
        if not content[1:400:2].strip(b"\0"):
            return content.decode("utf-16-le", errors="replace")
        if not content[0:400:2].strip(b"\0"):
            return content.decode("utf-16-be", errors="replace")
        raise CutUnreadable("The file is not text. A returned cut is a CMX3600 EDL: export the sequence as one.")
    try:
        return content.decode()
    except UnicodeDecodeError:
        return content.decode("latin-1")  # which every byte is a letter of
