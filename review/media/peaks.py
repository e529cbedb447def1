"""Peaks: the outline of a clip's sound, one byte per channel for each frame.

`peaks.bin` has a row for each frame and in it a byte for each channel, in the proxy's order. The byte
is the loudest sample of that frame and channel in decibels: 0 for -60 dBFS and below, 255 for full
scale, evenly between (255 / 60 = 4.25 steps to a decibel).
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from review.media.ffmpeg import pipe, source
from review.media.form import SAMPLE_RATE
from review.timecode import Timebase

FILE = "peaks.bin"
QUIETEST = -60  # dBFS
FULL_SCALE = 32768
_FRAMES_AT_ONCE = 500


@dataclass(frozen=True)
class Peaks:
    file: str
    channels: int
    frames: int


def make_peaks(
    proxy: Path,
    timebase: Timebase,
    frames: int,
    channels: int,
    folder: Path,
    hear: Callable[[np.ndarray], None] = lambda samples: None,
) -> Peaks | None:
    """Write `peaks.bin` into `folder` from a finished proxy of `frames` frames; None for one without sound.

    Where the sound ends before the picture the rest is silence. `hear` is given all of it too, piece by piece as int16
    of count x channels, so that it is decoded once. Raises MediaFailed when ffmpeg fails.
    """
    if not channels:
        return None
    options = {"format": "s16le", "c:a": "pcm_s16le"}
    sound = source(proxy, threads=1)["a:0"].filter("aresample", SAMPLE_RATE, **{"async": 1, "first_pts": 0})
    edges = np.arange(frames + 1) * timebase.rate.denominator * SAMPLE_RATE // timebase.rate.numerator
    with pipe(sound.output("pipe:1", **options).get_args()) as pcm, open(folder / FILE, "wb") as file:
        for first in range(0, frames, _FRAMES_AT_ONCE):
            starts = edges[first : first + _FRAMES_AT_ONCE + 1]
            samples = np.zeros((starts[-1] - starts[0], channels), dtype=np.int16)
            raw = pcm.read(samples.nbytes)
            samples.reshape(-1)[: len(raw) // 2] = np.frombuffer(raw, dtype="<i2", count=len(raw) // 2)
            hear(samples)
            loudest = np.maximum.reduceat(np.abs(samples.astype(np.int32)), starts[:-1] - starts[0], axis=0)
            file.write(scale(loudest).tobytes())
        while pcm.read(1 << 16):  # what lies beyond the last frame, so that ffmpeg can end
            pass
    return Peaks(FILE, channels, frames)


def scale(loudest: np.ndarray) -> np.ndarray:
    """Sample values, 0 to 32768, as the bytes of the peaks file."""
    decibels = 20 * np.log10(np.maximum(loudest, 1) / FULL_SCALE)
    return np.clip(np.rint(255 * (1 - decibels / QUIETEST)), 0, 255).astype(np.uint8)
