"""The test sound for the speech lane: recorded sentences among silence, over noises of several kinds.

The sentences are public-domain readings that the source archive of pocketsphinx 5.1.1 carries among its tests
(test/data/librivox), with the times of their words; tests/run fetches it. The noises are made here.
"""

import io
import json
import tarfile
import wave
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from review.media.form import SAMPLE_RATE
from review.media.lane_speech import MOMENTS

ARCHIVE = Path(__file__).parents[2] / ".venv-oracles" / "speech" / "pocketsphinx-5.1.1.tar.gz"
_FOLDER = "pocketsphinx-5.1.1/test/data/librivox/"
APART = 3.0  # seconds between sentences
PAUSE = 0.5  # seconds; words closer than this are one stretch of talk, as in the lane

Words = list[tuple[float, float]]  # when they start and end, in seconds


@cache
def sentences() -> list[tuple[np.ndarray, Words]]:
    """Each sentence at SAMPLE_RATE, -1 to 1, and its words."""
    if not ARCHIVE.exists():
        pytest.fail("the recorded speech is missing; fetch it with: bash tests/run")
    found = []
    with tarfile.open(ARCHIVE) as archive:
        for name in sorted(name for name in archive.getnames() if name.startswith(_FOLDER) and name.endswith(".wav")):
            with wave.open(io.BytesIO(archive.extractfile(name).read())) as recording:
                rate, pcm = recording.getframerate(), recording.readframes(recording.getnframes())
            told = json.load(archive.extractfile(name.replace(".wav", ".json")))
            words = [(word["b"], word["b"] + word["d"]) for word in told["w"] if not word["t"].startswith("<")]
            found.append((_at_our_rate(np.frombuffer(pcm, dtype="<i2") / 32768, rate), words))
    return found


@cache
def conversation() -> tuple[np.ndarray, np.ndarray]:
    """All sentences, APART; and for each hundredth of a second whether it lies in a stretch of talk."""
    parts, words, at = [np.zeros(int(APART * SAMPLE_RATE))], [], APART
    for sound, spoken in sentences():
        words += [(start + at, end + at) for start, end in spoken]
        parts += [sound, parts[0]]
        at += len(sound) / SAMPLE_RATE + APART
    sound = np.concatenate(parts)
    talk = np.zeros(len(sound) * MOMENTS // SAMPLE_RATE, dtype=bool)
    for number, (start, end) in enumerate(words):
        before = words[number - 1][1] if number and start - words[number - 1][1] < PAUSE else start
        talk[round(before * MOMENTS) : round(end * MOMENTS)] = True
    return sound, talk


def over(noise: np.ndarray, decibels: float) -> np.ndarray:
    """The conversation so many decibels louder than a noise of its length, as int16."""
    sound, talk = conversation()
    loud = np.sqrt((sound**2).sum() / (talk.mean() * len(sound)))
    mixed = sound + noise * (loud * 10 ** (-decibels / 20) / np.sqrt((noise**2).mean()))
    return (np.clip(mixed, -1, 1) * 32767).astype(np.int16)


def score(found: np.ndarray, truth: np.ndarray) -> tuple[float, float]:
    """Precision and recall, of flags."""
    shared = min(len(found), len(truth))
    hits = np.count_nonzero(found[:shared] & truth[:shared])
    return hits / max(1, np.count_nonzero(found)), hits / np.count_nonzero(truth)


def _at_our_rate(sound: np.ndarray, rate: int) -> np.ndarray:
    size = len(sound) * SAMPLE_RATE // rate
    spectrum = np.zeros(size // 2 + 1, dtype=complex)
    spectrum[: len(sound) // 2 + 1] = np.fft.rfft(sound)
    return np.fft.irfft(spectrum, size) * (size / len(sound))


# Noises -----------------------------------------------------------------------------------------


def _shaped(size: int, seed: int, gain: Callable[[np.ndarray], np.ndarray]) -> np.ndarray:
    spectrum = np.fft.rfft(np.random.default_rng(seed).normal(size=size))
    return np.fft.irfft(spectrum * gain(np.fft.rfftfreq(size, 1 / SAMPLE_RATE)), size)


def _time(size: int) -> np.ndarray:
    return np.arange(size) / SAMPLE_RATE


def hiss(size: int) -> np.ndarray:
    return _shaped(size, 1, lambda frequency: (frequency > 50) * 1.0)


def wind(size: int) -> np.ndarray:
    time = _time(size)
    gusts = 0.6 + 0.4 * np.sin(2 * np.pi * 0.13 * time) * np.sin(2 * np.pi * 0.31 * time + 1)
    return gusts * _shaped(size, 2, lambda frequency: 1 / (1 + (frequency / 90) ** 1.5))


def surf(size: int) -> np.ndarray:
    swell = 0.5 + 0.5 * np.sin(2 * np.pi * _time(size) / 7)
    return swell * _shaped(size, 3, lambda frequency: (frequency > 100) / (1 + frequency / 600))


def hum(size: int) -> np.ndarray:
    return sum(np.sin(2 * np.pi * 50 * each * _time(size)) / each for each in (1, 2, 3, 5, 7))


def engine(size: int) -> np.ndarray:
    time = _time(size)
    swell = 1 + 0.25 * np.sin(2 * np.pi * time / 5)
    return swell * sum(np.sin(2 * np.pi * 46 * each * time + each) / each**0.7 for each in range(1, 12))


def clicks(size: int) -> np.ndarray:
    chance, sound = np.random.default_rng(4), np.zeros(size)
    decay = np.exp(-np.arange(SAMPLE_RATE // 20) / SAMPLE_RATE / 0.006)
    for at in range(0, size - len(decay), SAMPLE_RATE // 3 + 1234):
        sound[at : at + len(decay)] += decay * chance.normal(size=len(decay))
    return sound


def chords(size: int) -> np.ndarray:
    """A plucked chord a second."""
    sound, time = np.zeros(size), _time(size)
    for second in range(size // SAMPLE_RATE + 1):
        part = slice(second * SAMPLE_RATE, (second + 1) * SAMPLE_RATE)
        since, root = time[part] - second, (220, 262, 196, 247)[second % 4]
        for note in (1, 1.26, 1.498, 2):
            for partial in range(1, 6):
                sound[part] += np.sin(2 * np.pi * root * note * partial * since) / partial * np.exp(-since * 1.5)
    return sound


NOISES = {each.__name__: each for each in (hiss, wind, surf, hum, engine, clicks, chords)}
