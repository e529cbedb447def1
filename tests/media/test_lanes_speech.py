"""The speech lane against recorded sentences whose words' times are known (talk.py tells where from).

The floors lie a little under what was measured; tests/bench/bench_lanes.py prints the numbers.
"""

import numpy as np
import pytest

from review.media.form import SAMPLE_RATE
from review.media.lane_speech import MOMENTS, Ear
from review.media.lanes import Ears, speech_ranges
from review.timecode import Rate

from .talk import NOISES, conversation, over, score

HUNDREDTHS = Rate(MOMENTS)


def lane(*channels: np.ndarray, at_once: int = 96_007) -> np.ndarray:
    """The speech lane in hundredths of a second, heard in pieces of odd length."""
    ears, sound = Ears(len(channels)), np.stack(channels, axis=1)
    for first in range(0, len(sound), at_once):
        ears.hear(sound[first : first + at_once])
    heard = ears.speech()
    found = np.zeros(len(heard), dtype=bool)
    for start, end in speech_ranges(heard, HUNDREDTHS, len(heard)):
        found[start:end] = True
    return found


@pytest.fixture(scope="module")
def noise():
    size = len(conversation()[0])
    return {name: make(size) for name, make in NOISES.items()}


def test_it_works(noise):
    """A quiet room: every sentence is one range, within a quarter of a second of its first and last word."""
    found, talk = lane(over(noise["hiss"], 40)), conversation()[1]
    edges, wanted = (np.flatnonzero(np.diff(flags.astype(int))) for flags in (found, talk))
    assert len(wanted) == 10
    assert edges.tolist() == pytest.approx(wanted.tolist(), abs=25)


@pytest.mark.parametrize(
    ("name", "decibels", "precision", "recall"),
    [
        *((name, 30, 0.9, 0.93) for name in NOISES),
        ("hiss", 10, 0.95, 0.8),
        ("wind", 10, 0.85, 0.93),
        ("hum", 10, 0.95, 0.95),
        ("hum", 3, 0.95, 0.9),
        ("engine", 10, 0.9, 0.95),
        ("engine", 3, 0.9, 0.95),
        ("clicks", 3, 0.9, 0.95),
        ("surf", 10, 0.7, 0.93),
        ("chords", 10, 0.9, 0.75),
    ],
)
def test_talk_is_told_from(noise, name, decibels, precision, recall):
    found = score(lane(over(noise[name], decibels)), conversation()[1])
    assert found[0] >= precision and found[1] >= recall, found


def alone(noise: np.ndarray) -> np.ndarray:
    return (noise / np.abs(noise).max() * 12_000).astype(np.int16)


@pytest.mark.parametrize(
    ("name", "most"),
    [("hiss", 0.02), ("hum", 0.02), ("engine", 0.02), ("clicks", 0.02), ("wind", 0.25), ("chords", 0.5)],
)
def test_a_noise_alone_is_no_speech(noise, name, most):
    assert lane(alone(noise[name])).mean() <= most


def test_one_persons_lapel_on_the_third_of_four_channels_is_heard(noise):
    """The others hold an engine, a hum, and nothing."""
    found = score(
        lane(
            alone(noise["engine"]),
            alone(noise["hum"]),
            over(noise["hiss"], 30),
            np.zeros(len(noise["hiss"]), dtype=np.int16),
        ),
        conversation()[1],
    )
    assert found[0] >= 0.9 and found[1] >= 0.93, found


def test_silence_is_no_speech():
    assert not lane(np.zeros(SAMPLE_RATE * 3, dtype=np.int16)).any()


@pytest.mark.parametrize("samples", [0, 1, 479, 480, 4800])
def test_very_short_sounds(samples):
    ear = Ear()
    ear.hear(np.zeros(samples, dtype=np.int16))
    assert ear.speech().tolist() == [False] * (samples // 480)


def test_how_it_is_cut_into_pieces_does_not_matter(noise):
    sound = over(noise["wind"], 10)[: SAMPLE_RATE * 8]
    assert np.array_equal(lane(sound, at_once=100), lane(sound, at_once=len(sound)))


def test_talk_in_frames_holds_every_frame_that_it_touches():
    """0.5 s to 1 s at 25 a second: from frame 12.5 to 25."""
    moments = np.zeros(300, dtype=bool)
    moments[50:100] = True
    assert speech_ranges(moments, Rate(25), 75) == [(12, 25)]
    assert speech_ranges(moments, Rate(25), 20) == [(12, 20)]  # the clip ends before


@pytest.mark.parametrize(("gap", "ranges"), [(49, 1), (50, 2)])
def test_a_pause_of_less_than_half_a_second_belongs_to_the_talk(gap, ranges):
    moments = np.ones(200 + gap, dtype=bool)
    moments[100 : 100 + gap] = False
    assert len(speech_ranges(moments, Rate(25), 1000)) == ranges


@pytest.mark.parametrize(("length", "ranges"), [(19, 0), (20, 1)])
def test_what_is_shorter_than_a_fifth_of_a_second_is_no_word(length, ranges):
    moments = np.zeros(100, dtype=bool)
    moments[30 : 30 + length] = True
    assert len(speech_ranges(moments, Rate(25), 1000)) == ranges
