"""The timecodes of an MXF file's packages: of the material (what to play) and of its sources (what it was made from).

Sets, tags and keys as in SMPTE ST 377-1 (from memory, and as ffmpeg writes them). Only the header partition is read.
"""

from collections.abc import Iterator
from typing import BinaryIO, NamedTuple

_MOST_BYTES = 8 << 20  # of header metadata
_MOST_RUN_IN = 65536
_MOST_SETS = 20_000
_LONGEST_SET = 65536
_HIGHEST_BASE = 60  # frames a second that a label can count
_PARTITION = bytes.fromhex("060e2b34020501010d010201")
_SET = bytes.fromhex("060e2b34025301010d0101010101")
_MATERIAL, _SOURCE, _TRACK, _SEQUENCE, _TIMECODE = 0x36, 0x37, 0x3B, 0x0F, 0x14
_INSTANCE, _TRACKS, _TRACK_SEQUENCE, _COMPONENTS = 0x3C0A, 0x4403, 0x4803, 0x1001
_START, _BASE, _DROP = 0x1501, 0x1502, 0x1503


class PackageTimecode(NamedTuple):
    """`start` is in frames of the timecode's own `base` a second, since midnight."""

    material: bool  # else of a source package
    start: int
    base: int
    drop: bool


class _Set(NamedTuple):
    kind: int
    items: dict[int, bytes]


def package_timecodes(file: BinaryIO) -> list[PackageTimecode]:
    """Those of the material packages first. What cannot be followed is left out."""
    sets = {each.items[_INSTANCE]: each for each in _sets(file) if _INSTANCE in each.items}
    found = []
    for package in sets.values():
        if package.kind not in (_MATERIAL, _SOURCE):
            continue
        for track in _named(package, _TRACKS, sets):
            for sequence in _named(track, _TRACK_SEQUENCE, sets):
                parts = [sequence] if sequence.kind == _TIMECODE else _named(sequence, _COMPONENTS, sets)
                found += [_timecode(package, part) for part in parts[:1] if part.kind == _TIMECODE]
    return sorted((each for each in dict.fromkeys(found) if each), key=lambda each: not each.material)


def _timecode(package: _Set, part: _Set) -> PackageTimecode | None:
    start, base = part.items.get(_START, b""), part.items.get(_BASE, b"")
    if len(start) != 8 or not 1 <= int.from_bytes(base, "big") <= _HIGHEST_BASE:
        return None
    frames = int.from_bytes(start, "big", signed=True)
    drop = any(part.items.get(_DROP, b""))
    return PackageTimecode(package.kind == _MATERIAL, max(frames, 0), int.from_bytes(base, "big"), drop)


def _named(owner: _Set, tag: int, sets: dict[bytes, _Set]) -> list[_Set]:
    """The sets that an item refers to: one reference of 16 bytes, or a batch of them after its count and their size."""
    value = owner.items.get(tag, b"")
    references = value[8:] if len(value) != 16 else value
    names = [references[at : at + 16] for at in range(0, min(len(references), 16 * 256), 16)]
    return [sets[name] for name in names if name in sets]


def _sets(file: BinaryIO) -> Iterator[_Set]:
    head = file.read(_MOST_RUN_IN + len(_PARTITION))
    at = head.find(_PARTITION)
    if at < 0:
        return
    end = at + _MOST_BYTES
    for _ in range(_MOST_SETS):
        file.seek(at)
        header = file.read(16 + 9)
        if len(header) < 17 or at >= end:
            return
        key, (size, taken) = header[:16], _length(header[16:])
        if size < 0 or key[:4] != _PARTITION[:4]:
            return
        at += 16 + taken + size
        if key[:14] == _SET and size <= _LONGEST_SET:
            file.seek(at - size)
            yield _Set(key[14], _items(file.read(size)))
        elif key[:12] == bytes.fromhex("060e2b34010201010d010301"):  # essence: the metadata is behind
            return


def _length(data: bytes) -> tuple[int, int]:
    """A BER length and how many bytes it took; -1 for none."""
    if data[0] < 0x80:
        return data[0], 1
    count = data[0] & 0x7F
    if not 1 <= count <= 8 or len(data) <= count:
        return -1, 1
    return int.from_bytes(data[1 : 1 + count], "big"), 1 + count


def _items(data: bytes) -> dict[int, bytes]:
    items, at = {}, 0
    while at + 4 <= len(data):
        tag, size = int.from_bytes(data[at : at + 2], "big"), int.from_bytes(data[at + 2 : at + 4], "big")
        items.setdefault(tag, data[at + 4 : at + 4 + size])
        at += 4 + size
    return items
