"""What the microphones hear: sound as a function of the time of day, so that every recorder of a moment agrees.

Speech is a murmur: a buzz shaped by vowels, in syllables, in phrases with silence between them. Sea, wind and engine
are shaped noise; the clap, the hammer and the winch happen on the scenario's beats.
"""

from functools import cache, lru_cache

import numpy as np

RATE = 48_000  # samples a second

_BLOCK = 6  # seconds of speech made at once; a phrase lies inside one
_COARSE = 16_000  # samples a second at which the murmur is made
_HISS = RATE * 11  # samples of noise before it comes round again
_VOWELS = np.array([(730, 1090, 2440), (530, 1840, 2480), (390, 1990, 2550), (570, 840, 2410), (440, 1020, 2240)])
_PITCH = {1: 108.0, 2: 174.0}
_STRIKE = (820.0, 1373.0, 2210.0, 3160.0)  # partials of steel on steel, Hz

# How much of each is heard where: speech, sea and wind, engine.
_PLACES = {
    "bay": (0.0, 1.0, 0.0),
    "slipway": (0.7, 0.7, 0.0),
    "portrait": (1.0, 0.12, 0.0),
    "winch": (0.25, 0.2, 0.25),
    "workshop": (0.45, 0.08, 0.0),
    "quay": (0.3, 0.6, 0.0),
    "road": (0.0, 0.5, 0.3),
    "cab": (0.6, 0.15, 1.0),
    "dark": (0.0, 0.06, 0.0),
}


def talking(second: float, voice: int) -> float:
    """How loud `voice` (1 or 2) speaks at a time of day in seconds, 0 to 1; the picture's lips follow it."""
    start, end = _phrase(int(second // _BLOCK), voice)
    within = second % _BLOCK
    return float(np.clip(min(within - start, end - within) / 0.15, 0, 1))


def listen(start: int, count: int, place: str, beats: dict[str, float], channels: int) -> np.ndarray:
    """`count` samples from sample `start` of the day, as int16 of count x channels.

    `beats` are times of day in seconds. Four channels are boom, lapel, sea and wind, and work (hammer, winch, clap);
    two are the boom with the place, and the place with the work.
    """
    speech, sea, engine = _PLACES[place]
    first, second = (speech * _speech(start, count, voice) if speech else 0.0 for voice in (1, 2))
    air = _air(start, count) * sea
    if engine:
        air += engine * _engine(start, count)
    work = _work(start, count, beats)
    boom = 0.42 * first + 0.3 * second + 0.05 * air + 0.25 * work
    lapel = 0.6 * first + 0.06 * second + 0.02 * air + 0.1 * work
    place_mike = 0.32 * air + 0.03 * first + 0.12 * work
    if channels == 2:
        mix = [boom + 0.08 * air, 0.5 * place_mike + 0.12 * first + 0.4 * work]
    else:
        mix = [boom, lapel, place_mike, 0.7 * work + 0.02 * air]
    return (np.clip(np.stack(mix, axis=1), -0.98, 0.98) * 32767).astype(np.int16)


def _phrase(block: int, voice: int) -> tuple[float, float]:
    """When in a block the voice speaks, in seconds; the second voice answers, shortly or not at all."""
    chance = np.random.default_rng((block, voice))
    if voice == 1:
        start = chance.uniform(0.1, 1.0)
        return start, start + chance.uniform(2.4, 4.0)
    return (5.0, 5.9) if chance.random() < 0.6 else (0.0, 0.0)


def _speech(start: int, count: int, voice: int) -> np.ndarray:
    size = _BLOCK * RATE
    blocks = range(start // size, (start + count - 1) // size + 1)
    whole = np.concatenate([_murmur(block, voice) for block in blocks])
    skip = start - blocks[0] * size
    return whole[skip : skip + count]


@lru_cache(maxsize=64)
def _murmur(block: int, voice: int) -> np.ndarray:
    """One block of a voice, about -1 to 1."""
    size = _BLOCK * _COARSE
    time = np.arange(size) / _COARSE
    chance = np.random.default_rng((block, voice, 7))
    start, end = _phrase(block, voice)
    loud = np.zeros(size, dtype=np.float32)
    sound = np.zeros(size, dtype=np.float32)
    fall = np.clip((time - start) / max(0.1, end - start), 0, 1)
    pitch = _PITCH[voice] * (1.12 - 0.22 * fall + 0.05 * np.sin(2 * np.pi * 1.7 * time + block))
    turn = np.exp(2j * np.pi * np.cumsum(pitch) / _COARSE).astype(np.complex64)
    at = start
    while at < end - 0.1:
        length = chance.uniform(0.11, 0.26)
        part = slice(int(at * _COARSE), int(min(at + length, end) * _COARSE))
        shape = np.sin(np.pi * np.linspace(0, 1, part.stop - part.start)) ** 0.6
        loud[part] = shape * chance.uniform(0.55, 1.0)
        formants = _VOWELS[chance.integers(len(_VOWELS))] * (1.0 if voice == 1 else 1.16)
        wave = np.ones_like(turn[part])
        for harmonic in range(1, 24):
            frequency = harmonic * _PITCH[voice]
            gain = sum(1 / (1 + ((frequency - formant) / 110) ** 2) for formant in formants) / harmonic**0.4
            wave *= turn[part]
            sound[part] += np.float32(gain) * wave.imag
        breath = slice(part.start, min(part.start + int(0.03 * _COARSE), size))
        sound[breath] += chance.normal(0, 0.5, breath.stop - breath.start)
        at += length + (chance.uniform(0.12, 0.3) if chance.random() < 0.14 else chance.uniform(0.0, 0.04))
    fine = np.interp(np.arange(_BLOCK * RATE) * (_COARSE / RATE), np.arange(size), sound * loud * 0.5)
    return fine.astype(np.float32)


@cache
def _hiss() -> np.ndarray:
    """Noise that falls off with frequency, about -1 to 1, whose end meets its beginning."""
    spectrum = np.fft.rfft(np.random.default_rng(3).normal(size=_HISS))
    frequency = np.fft.rfftfreq(_HISS, 1 / RATE)
    spectrum *= (frequency > 60) / (1 + frequency / 300)
    noise = np.fft.irfft(spectrum, _HISS)
    return (noise / np.abs(noise).max()).astype(np.float32)


def _air(start: int, count: int) -> np.ndarray:
    coarse = np.arange(0, count + RATE, RATE // 10)  # the swell is slow: ten points a second are plenty
    time = (start + coarse) / RATE
    wave = 0.55 + 0.45 * np.sin(2 * np.pi * time / 7.3) * np.sin(2 * np.pi * time / 19.0 + 1)
    level = np.interp(np.arange(count), coarse, wave).astype(np.float32)
    return level * np.resize(np.roll(_hiss(), -(start % _HISS)), count)


def _engine(start: int, count: int) -> np.ndarray:
    time = (start + np.arange(count)) / RATE
    swell = 1 + 0.25 * np.sin(2 * np.pi * time / 5.1)
    return 0.4 * swell * sum(np.sin(2 * np.pi * 46 * each * time + each) / each for each in (1, 2, 3, 5))


def _work(start: int, count: int, beats: dict[str, float]) -> np.ndarray:
    """The clap, the hammer (a blow a second) and the winch's pawl (six clicks a second)."""
    heard = np.zeros(count, dtype=np.float32)
    if "clap" in beats:
        _add(heard, beats["clap"] * RATE - start, _crack(0.05))
    if "hammer" in beats:
        for blow in np.arange(beats["hammer"], beats["rest"], 1.0):
            _add(heard, blow * RATE - start, _strike())
    if "haul" in beats:
        for click in np.arange(beats["haul"], beats["halt"], 1 / 6):
            _add(heard, click * RATE - start, 0.35 * _crack(0.012))
    return heard


def _add(heard: np.ndarray, at: float, sound: np.ndarray) -> None:
    first = round(at)
    begin, end = max(0, first), min(len(heard), first + len(sound))
    if begin < end:
        heard[begin:end] += sound[begin - first : end - first]


@cache
def _crack(length: float) -> np.ndarray:
    time = np.arange(int(RATE * length * 8)) / RATE
    return (np.random.default_rng(1).normal(0, 0.5, len(time)) * np.exp(-time / length)).astype(np.float32)


@cache
def _strike() -> np.ndarray:
    time = np.arange(RATE * 6 // 10) / RATE
    ring = sum(np.sin(2 * np.pi * each * time) * np.exp(-time * (7 + place * 5)) for place, each in enumerate(_STRIKE))
    return (0.3 * ring).astype(np.float32)
