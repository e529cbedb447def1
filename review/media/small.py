"""Small grey pictures, by which two decodings of one frame are told from its neighbours.

Both are shrunk to the same square, whatever their shape. Levels are fitted before they are compared:
a camera that uses the full range and its proxy differ in contrast, and are the same picture.
"""

from collections.abc import Sequence
from pathlib import Path

import av
import numpy as np

from review.timecode import Rate

SIDE = 64  # pixels
_NEAR, _NEARLY = 0.25, 1.25  # levels of 255, and a part: closer to the closest than this is as good
_FAR = 16  # levels; nothing that lies so far from a picture is that picture
_MOST_GAIN = 1.4


def grey(frame: av.VideoFrame) -> bytes:
    """A decoded frame as a small picture, row by row."""
    plane = frame.reformat(SIDE, SIDE, "gray", interpolation="AREA").planes[0]
    data = bytes(plane)
    return b"".join(data[row * plane.line_size : row * plane.line_size + SIDE] for row in range(SIDE))


def small_pictures(path: Path, rate: Rate, first: int, count: int) -> list[bytes]:
    """`count` small pictures from frame `first` on, of a file of our own making; fewer where it ends."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        step = 1 / (rate.fraction * stream.time_base)
        container.seek(round(first * step), stream=stream)
        found = []
        for frame in container.decode(stream):
            if frame.pts >= (first - 0.5) * step:
                found.append(grey(frame))
            if len(found) == count:
                break
        return found


def distance(one: bytes, other: bytes, turned: int = 0) -> float:
    """How far two small pictures lie apart on average, in levels, once `one` has the other's levels.

    `one` is turned anticlockwise by `turned` degrees first.
    """
    a = np.rot90(np.frombuffer(one, np.uint8).reshape(SIDE, SIDE), turned // 90).astype(float)
    b = np.frombuffer(other, np.uint8).reshape(SIDE, SIDE).astype(float)
    a, b = a - a.mean(), b - b.mean()
    if spread := (a * a).sum():
        gain = (a * b).sum() / spread
        a = a * min(max(gain, 1 / _MOST_GAIN), _MOST_GAIN)
    return float(np.abs(a - b).mean())


def looks_like(distances: Sequence[float], which: int) -> bool:
    """Whether the picture numbered `which` of those compared is the closest, or cannot be told from it."""
    if len(distances) <= which or distances[which] > _FAR:
        return False
    return distances[which] <= min(distances) * _NEARLY + _NEAR
