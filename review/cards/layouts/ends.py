"""Footage that was cut short, by what its own beginning says about its length.

A WAV file declares its chunks' sizes (EBU Tech 3306 above 4 GB). The header partition of an MXF file, when it was
closed, says where the footer begins (SMPTE ST 377-1: the partition pack's key and the place of FooterPartition in it,
from memory; files written by ffmpeg agree).
"""

from collections.abc import Iterable
from typing import BinaryIO

from review.cards.findings import STOP, Finding
from review.cards.layouts.base import extension, opened
from review.cards.tree import CardTree
from review.cards.wav_family import read_wav_facts

_PARTITION = bytes.fromhex("060e2b34020501010d01020101")  # and three bytes for the kind; 02 is a header
_RUN_IN = 64 * 1024  # bytes that may lie in front of the header
_FOOTER_AT = 24  # bytes into the pack


def cut_short(tree: CardTree, paths: Iterable[str]) -> list[Finding]:
    """What is to be said of those of `paths` that end before the place that they themselves name."""
    readers = {".wav": wav_end, ".bwf": wav_end, ".mxf": mxf_end}
    findings = []
    for path in paths:
        if (reader := readers.get(extension(path))) is None or not tree.sizes[path]:
            continue
        try:
            with opened(tree, path) as file:
                end = reader(file)
        except (OSError, ValueError):
            continue  # told when it is read, or by the media probe
        if end > tree.sizes[path]:
            findings.append(_cut_short(path, tree.sizes[path], end))
    return findings


def wav_end(file: BinaryIO) -> int:
    """How many bytes the file has at least. Raises ValueError if it is no WAV file."""
    return read_wav_facts(file).ends_at


def mxf_end(file: BinaryIO) -> int:
    """How many bytes the file has at least; 0 if it does not say. Raises ValueError if it is no MXF file."""
    head = file.read(_RUN_IN + 256)
    at = head.find(_PARTITION + b"\2")
    if at < 0:
        raise ValueError("it does not begin as an MXF file does")
    length = head[at + 16] if at + 16 < len(head) else 0
    pack = at + 17 + (length & 0x7F if length & 0x80 else 0)
    footer = head[pack + _FOOTER_AT : pack + _FOOTER_AT + 8]
    return at + int.from_bytes(footer, "big") + 1 if len(footer) == 8 and any(footer) else 0


def _cut_short(path: str, size: int, end: int) -> Finding:
    what = (
        f"{path} is cut short: it should have {end:,} bytes or more, as it says itself, and has {size:,}. "
        "It was perhaps the last file when the copying stopped."
    )
    return Finding("cut-short", STOP, what, "Copy this file again from the card, then check again.", path)
