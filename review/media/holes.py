"""Holes: frames of a recording that could not be decoded, found by the times of those that could."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import ffmpeg

from review.media.recording import Recording
from review.media.stretch import picture_index


@dataclass(frozen=True)
class Hole:
    """`frames` frames from `first` on."""

    first: int
    frames: int


def tell_times(streams: Iterable, destination: Path) -> list:
    """Outputs that write the times of these streams' pictures beside `destination`, a file each."""
    return [
        ffmpeg.output(stream, str(_list(destination, number)), format="framecrc", fps_mode="passthrough")
        for number, stream in enumerate(streams)
    ]


def holes(recording: Recording, first: int, end: int, destination: Path) -> tuple[Hole, ...]:
    """What is missing of frames [first, end) by the lists that `tell_times` wrote; it removes them."""
    there = set()
    for number, piece in enumerate(recording.pieces(first, end)):
        times = _list(destination, number)
        there.update(picture_index(recording, piece, time) for time in _times(times))
        times.unlink()
    return tuple(gathered(frame for frame in range(first, end) if frame not in there))


def gathered(missing: Iterable[int]) -> Iterator[Hole]:
    """Rising frame numbers as runs."""
    first = after = None
    for frame in missing:
        if frame != after:
            if first is not None:
                yield Hole(first, after - first)
            first = frame
        after = frame + 1
    if first is not None:
        yield Hole(first, after - first)


def _list(destination: Path, number: int) -> Path:
    return destination.absolute().with_name(f"{destination.name}.times-{number}")


def _times(path: Path) -> Iterator[Fraction]:
    """In seconds. A line is `stream, dts, pts, duration, size, checksum`, after one that tells the clock's step."""
    step = None
    for line in path.read_text().splitlines():
        if line.startswith("#tb 0:"):
            step = Fraction(line.removeprefix("#tb 0:").strip())
        elif line and line[0] != "#":
            yield int(line.split(",")[2]) * step
