"""Two recordings of one moment, matched by their sound: by how much one clock was off.

The loudness of both is taken a hundred times a second; how much it rises is compared at every shift, and the best
shift is believed as far as it stands out from all others. Claps and speech stand out; steady noise does not, and
then nothing is suggested.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from review.media.ffmpeg import pipe, source

STEPS = 100  # a second
LONGEST = 600  # seconds that are compared
SURE = 0.5  # of a match: below it nothing is said
SHORTEST = 2  # seconds that have to overlap
_RATE = 8000
_NEAR = 12  # steps around the best shift that belong to it


@dataclass(frozen=True)
class Match:
    """`seconds` to add to the second recording's times; `sureness` from 0 to 1."""

    seconds: float
    sureness: float


def loudness(file: Path, start: float, seconds: float) -> np.ndarray:
    """How loud a recording is, all channels together, in decibels, STEPS times a second, from `start` on.

    Raises MediaFailed when it cannot be read."""
    sound = source(file, ss=max(0.0, start), t=seconds, threads=1)["a:0"]
    sound = sound.filter("aresample", _RATE).filter("aformat", channel_layouts="mono")
    with pipe(sound.output("pipe:1", format="s16le", **{"c:a": "pcm_s16le"}).get_args()) as pcm:
        raw = pcm.read(int(seconds * _RATE) * 2)
        while pcm.read(1 << 16):  # what lies beyond, so that ffmpeg can end
            pass
    samples = np.frombuffer(raw[: len(raw) // 2 * 2], dtype="<i2").astype(np.float32)
    window = _RATE // STEPS
    frames = samples[: len(samples) // window * window].reshape(-1, window)
    return 10 * np.log10(np.mean(frames**2, axis=1) + 1.0)


def match(one: np.ndarray, other: np.ndarray, reach: float) -> Match | None:
    """By how much `other` must be moved to lie on `one`, looking up to `reach` seconds either way; None if no shift
    stands out. Both are loudness from the same moment of their clocks."""
    ours, theirs = _rises(one), _rises(other)
    if min(len(ours), len(theirs)) < SHORTEST * STEPS or not ours.any() or not theirs.any():
        return None
    most = int(reach * STEPS)
    size = 1 << (len(ours) + len(theirs)).bit_length()
    spectrum = np.fft.rfft(ours, size) * np.conj(np.fft.rfft(theirs, size))
    found = np.fft.irfft(spectrum, size)
    shifts = np.arange(-most, most + 1)
    scores = found[shifts % size]
    # A shift that leaves little in common is no better for it.
    common = np.minimum(len(ours), len(theirs) + shifts) - np.maximum(0, shifts)
    scores = np.where(common >= SHORTEST * STEPS, scores, 0.0)
    best = int(np.argmax(scores))
    if scores[best] <= 0:
        return None
    rest = np.delete(scores, np.arange(max(0, best - _NEAR), min(len(scores), best + _NEAR + 1)))
    second = max(0.0, float(rest.max())) if len(rest) else 0.0
    sureness = 1.0 - second / float(scores[best])
    return Match(float(shifts[best]) / STEPS, round(sureness, 3)) if sureness >= SURE else None


def _rises(level: np.ndarray) -> np.ndarray:
    """How much louder it gets from step to step: what two microphones at different places agree about."""
    if len(level) < 2:
        return np.zeros(0)
    rises = np.clip(np.diff(level), 0, 40)
    return rises - rises.mean()
