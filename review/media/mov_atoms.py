"""Two things in a MOV or MP4 that no tag tells: how a timecode track counts, and clip XML that the camera put inside.

Atoms and the timecode sample description as in the QuickTime File Format specification (from memory, and as ffmpeg
writes them).
"""

import os
from collections.abc import Iterator
from typing import BinaryIO, NamedTuple

_MOST_ATOMS = 20_000  # looked at in one file
_MOST_TRACKS = 256
_MOST_XML = 4 << 20
_TO_SAMPLE_TABLE = (b"mdia", b"minf", b"stbl")
_XML = ((b"<?xml", b"</NonRealTimeMeta>"), (b"<NonRealTimeMeta", b"</NonRealTimeMeta>"))


class _Atom(NamedTuple):
    name: bytes
    start: int  # of what it holds
    end: int


class MovAtoms:
    """`file` is read for the headers of its atoms only; what makes no sense ends the looking, and is no error."""

    def __init__(self, file: BinaryIO):
        self._file = file
        self._left = _MOST_ATOMS
        self._end = os.fstat(file.fileno()).st_size

    def timecode_bases(self) -> list[int]:
        """How many frames a second each timecode track counts, in the order of the tracks."""
        bases = []
        for track in self._found(b"moov", b"trak"):
            table = self._path(track, _TO_SAMPLE_TABLE)
            description = table and self._path(table, (b"stsd",))
            if description and len(bases) < _MOST_TRACKS:
                data = self._read(description, 64)
                if data[12:16] == b"tmcd" and len(data) >= 41:
                    bases.append(data[40])
        return bases

    def clip_xml(self) -> bytes | None:
        """The XML that a camera keeps in the file itself; None if there is none."""
        for place in (*self._found(b"meta"), *self._found(b"uuid"), *self._found(b"moov", b"meta")):
            data = self._read(place, _MOST_XML)
            for begins, ends in _XML:
                start, end = data.find(begins), data.find(ends)
                if 0 <= start < end:
                    return data[start : end + len(ends)]
        return None

    def _found(self, *names: bytes) -> list[_Atom]:
        whole = _Atom(b"", 0, self._end)
        found = [whole]
        for name in names:
            found = [atom for outer in found for atom in self._within(outer) if atom.name == name][:_MOST_TRACKS]
        return found

    def _path(self, atom: _Atom, names: tuple[bytes, ...]) -> _Atom | None:
        for name in names:
            atom = next((each for each in self._within(atom) if each.name == name), None)
            if atom is None:
                return None
        return atom

    def _within(self, outer: _Atom) -> Iterator[_Atom]:
        at = outer.start
        while at + 8 <= outer.end and self._left:
            self._left -= 1
            self._file.seek(at)
            header = self._file.read(16)
            size, name, start = int.from_bytes(header[:4], "big"), header[4:8], at + 8
            if size == 1:
                size, start = int.from_bytes(header[8:16], "big"), at + 16
            elif size == 0:
                size = outer.end - at
            if size < start - at or at + size > outer.end:
                return
            yield _Atom(name, start, at + size)
            at += size

    def _read(self, atom: _Atom, most: int) -> bytes:
        self._file.seek(atom.start)
        return self._file.read(min(most, atom.end - atom.start))
