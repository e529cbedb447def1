"""Where somebody talks: a voice detector, held against the level of the place.

Each channel is judged by itself, every 10 ms, and a moment is speech when any channel says so: one person's lapel
may be the third channel of four, and the others hold the sea. What counts as speech on a channel:

1. webrtcvad, in its strictest mode, hears a voice. It hears one in an engine and in a mains hum too, so
2. the band of the voice stands VOICE_ABOVE_PLACE over the quiet fifth of the twenty seconds around it, which an even
   noise never does and syllables do; and
3. two fifths of the moments in the third of a second around it agree, so that a click is not a word.

What rises and falls by itself may still be taken for speech where nobody talks: surf, gusts of wind, music.
"""

import numpy as np
import webrtcvad
from numpy.lib.stride_tricks import sliding_window_view

from review.media.form import SAMPLE_RATE

MOMENTS = 100  # a second: the detector's decisions
_STRICTEST = 3
VOICE_BAND = (300, 3400)  # Hz, a telephone's
VOICE_ABOVE_PLACE = 6  # dB
QUIETEST = -80  # dBFS in the band; below it a level is not told apart
_PLACE_PERCENTILE = 20
_WINDOW = 20 * MOMENTS
_HOP = MOMENTS // 2  # how often the level of the place is taken
_HOPS_AT_ONCE = 256
_STEADY = 15  # moments of which the mean level is taken; single ones of an even noise differ by several decibels
_VOTE = 3 * MOMENTS // 10
_VOTE_SHARE = 0.4

# A moment has exactly what the detector takes at 48 kHz; of its longer pieces it would hear the first 10 ms only.
_SAMPLES = SAMPLE_RATE // MOMENTS
_STEPS = 2  # levels are kept in half decibels, so that twelve hours of eight channels fit in 70 MB
_FULL_SCALE = 32768


class Ear:
    """Listens to one channel, at SAMPLE_RATE, in blocks of any length."""

    def __init__(self):
        self._detector = webrtcvad.Vad(_STRICTEST)
        self._left = np.empty(0, dtype=np.int16)
        self._voice = bytearray()
        self._levels = bytearray()

    def hear(self, samples: np.ndarray) -> None:
        """The channel's next samples, int16."""
        sound = np.concatenate([self._left, samples])
        whole = len(sound) // _SAMPLES * _SAMPLES
        self._left = sound[whole:]
        moments = sound[:whole].reshape(-1, _SAMPLES)
        pcm, size = moments.astype("<i2").tobytes(), 2 * _SAMPLES
        heard = self._detector.is_speech
        self._voice += bytes(heard(pcm[at : at + size], SAMPLE_RATE) for at in range(0, len(pcm), size))
        self._levels += _levels(moments).tobytes()

    def speech(self) -> np.ndarray:
        """For each whole moment so far, whether somebody talks on this channel."""
        voice, levels = np.frombuffer(self._voice, dtype=np.uint8), _steadied(self._levels)
        raised = levels.astype(np.int16) > _place(levels).astype(np.int16) + VOICE_ABOVE_PLACE * _STEPS
        agreed = np.cumsum(np.pad((voice > 0) & raised, (_VOTE // 2 + 1, _VOTE - _VOTE // 2 - 1)))
        return agreed[_VOTE:] - agreed[:-_VOTE] > _VOTE * _VOTE_SHARE


def _levels(moments: np.ndarray) -> np.ndarray:
    """The level of the voice's band in each moment, in half decibels above QUIETEST."""
    spectrum = np.fft.rfft(moments * np.hanning(_SAMPLES).astype(np.float32), axis=1)
    low, high = (frequency // MOMENTS for frequency in VOICE_BAND)
    power = (np.abs(spectrum[:, low:high]) ** 2).sum(axis=1)
    full = (_FULL_SCALE * _SAMPLES / 4) ** 2  # a sine's, through this window
    return np.clip((10 * np.log10(power / full + 1e-20) - QUIETEST) * _STEPS, 0, 255).astype(np.uint8)


def _steadied(levels: bytearray) -> np.ndarray:
    around = np.pad(np.frombuffer(levels, dtype=np.uint8), _STEADY // 2, "edge" if levels else "constant")
    sums = np.cumsum(np.pad(around, (1, 0)), dtype=np.int64)
    return np.rint((sums[_STEADY:] - sums[:-_STEADY]) / _STEADY).astype(np.uint8)


def _place(levels: np.ndarray) -> np.ndarray:
    """How loud the place is around each moment: the quiet end of the levels in the window around it."""
    if not len(levels):
        return levels
    wide = min(_WINDOW, len(levels))
    windows = sliding_window_view(levels, wide)
    starts = np.clip(np.arange(0, len(levels), _HOP) - wide // 2, 0, len(windows) - 1)
    at = wide * _PLACE_PERCENTILE // 100
    parts = [starts[first : first + _HOPS_AT_ONCE] for first in range(0, len(starts), _HOPS_AT_ONCE)]
    quiet = np.concatenate([np.partition(windows[part], at, axis=1)[:, at] for part in parts])
    return np.repeat(quiet, _HOP)[: len(levels)]
