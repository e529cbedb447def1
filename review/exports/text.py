"""Free text made fit for the places it goes to: one line of ASCII, a cell, or a file name any computer accepts."""

import re

from anyascii import anyascii

_CONTROLS = dict.fromkeys((*range(32), 127), " ")
_FOREIGN = re.compile(r"[^\x00-\x7f]+")
_UNSAFE = re.compile(r"[^A-Za-z0-9 ._-]+")
_LINE_BREAK = re.compile("\r\n|[\r\x0b\x0c\x85\u2028\u2029]")
_CONTROL_CHARACTER = re.compile(r"[\x00-\x08\x0e-\x1f\x7f-\x9f]")
_DEVICE = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)
_LONGEST_STEM = 100


def ascii_line(text: str) -> str:
    """`text` in printable 7-bit ASCII on one line; other scripts are spelt out in Latin letters."""
    if not text.isascii():
        text = _FOREIGN.sub(lambda run: anyascii(run[0]), text)
    if not text.isprintable():
        text = text.translate(_CONTROLS)
    return text.strip()


def without_controls(text: str) -> str:
    """`text` in its own script: line breaks of any kind as a newline, tabs kept, other control characters gone."""
    return _CONTROL_CHARACTER.sub("", _LINE_BREAK.sub("\n", text))


def has_controls(text: str) -> bool:
    """Whether `without_controls` takes anything out of `text`."""
    return bool(_CONTROL_CHARACTER.search(text))


def file_name(title: str, extension: str) -> str:
    """A name for `title` that Windows, macOS and Linux all accept: "Day 3: goats?" gives "Day 3- goats.edl"."""
    stem = _UNSAFE.sub("-", " ".join(ascii_line(title).split())).strip(" .-")[:_LONGEST_STEM].rstrip(" .-")
    if _DEVICE.match(stem):  # Windows keeps these for devices, whatever the extension
        stem = f"list {stem}"
    return f"{stem or 'selects'}.{extension}"
