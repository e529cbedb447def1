"""Matching two recordings by their sound. The recordings are made here: bursts of noise at random times, as heard by
two microphones with different levels, noise and echoes."""

import wave

import numpy as np
import pytest

from review.media.sync import STEPS, loudness, match

RATE = 48000


def scene(seconds=20, seed=1):
    random = np.random.default_rng(seed)
    sound = np.zeros(seconds * RATE)
    at = 0.0
    while at < seconds - 1:
        length = int(random.uniform(0.05, 0.4) * RATE)
        start = int(at * RATE)
        sound[start : start + length] += random.normal(0, random.uniform(0.05, 0.3), length)
        at += random.uniform(0.2, 1.2)
    return sound


def heard(sound, seed, level=1.0, noise=0.003, echo=0.0):
    random = np.random.default_rng(seed)
    late = np.roll(sound, int(0.05 * RATE)) * echo
    return level * (sound + late) + random.normal(0, noise, len(sound))


def write(path, sound):
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def levels(tmp_path, name, sound):
    return loudness(write(tmp_path / name, sound), 0, len(sound) / RATE)


@pytest.mark.parametrize("off", [-3.2, -0.04, 0.0, 1.0, 4.77])
def test_it_works(tmp_path, off):
    sound = scene()
    start, lead = 5 * RATE, int(off * RATE)
    one = levels(tmp_path, "a.wav", heard(sound[start : start + 10 * RATE], 2))
    # The other's clock shows `off` less than it is, so it hears each thing that much earlier by its own count.
    other = levels(tmp_path, "b.wav", heard(sound[start + lead : start + lead + 10 * RATE], 3, 0.4, 0.004, 0.3))
    found = match(one, other, reach=8)
    assert found is not None
    assert found.seconds == pytest.approx(off, abs=1.5 / STEPS)
    assert found.sureness >= 0.5


def test_sound_of_two_places_suggests_nothing(tmp_path):
    one = levels(tmp_path, "a.wav", heard(scene(seed=1), 2))
    assert match(one, levels(tmp_path, "b.wav", heard(scene(seed=9), 3)), reach=8) is None


def test_steady_noise_suggests_nothing(tmp_path):
    noise = np.random.default_rng(4).normal(0, 0.1, 20 * RATE)
    assert match(levels(tmp_path, "a.wav", noise), levels(tmp_path, "b.wav", heard(noise * 0, 5)), reach=8) is None


def test_silence_and_scraps_suggest_nothing():
    assert match(np.zeros(1000), np.zeros(1000), 5) is None
    assert match(np.zeros(0), np.arange(50.0), 5) is None


def test_loudness_is_a_hundred_times_a_second(tmp_path):
    file = write(tmp_path / "a.wav", np.concatenate([np.zeros(RATE), 0.5 * np.sin(np.arange(RATE) * 0.3)]))
    level = loudness(file, 0, 2)
    assert len(level) == 200 and level[:90].max() < 5 < 40 < level[110:190].min()
    assert len(loudness(file, 1, 0.5)) == 50
