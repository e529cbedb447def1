"""What `lanes.json` holds of a clip, and how it stays small."""

import json
from itertools import pairwise

import numpy as np
import pytest

from review.frames import FrameRange, count, intersect, subtract
from review.media.lanes import MOST_RANGES, Ears, bounded, joined, make_lanes, picture_ranges, runs
from review.media.peaks import make_peaks
from review.timecode import Rate, Timebase

from .clips import FRAMES, ffmpeg
from .conftest import PRODUCTION
from .shots import film, flat, in_the_hand


def lanes_of(proxy, folder, timebase, frames, channels, pictures=True):
    ears = Ears(channels) if channels else None
    if ears:
        make_peaks(proxy, timebase, frames, channels, folder, hear=ears.hear)
    made = make_lanes(proxy, timebase, frames, folder, ears=ears, pictures=pictures)
    stored = json.loads((folder / "lanes.json").read_text())
    assert stored == json.loads(json.dumps(made))
    return stored


def test_it_works(proxied, tmp_path):
    """A numbered clip of 60 pictures: its four tracks are silent up to frame 20, which is less than a second."""
    made = proxied("tracks.mov")
    assert lanes_of(made.path, tmp_path, made.timebase, FRAMES, made.facts.channels) == {
        "version": 1,
        "frames": FRAMES,
        "speech": [],
        "silence": [],
        "black": [],
        "still": [],
        "cuts": [],
    }


def test_a_clip_without_sound_has_no_lanes_of_sound(tmp_path):
    film(tmp_path / "f.mp4", [(in_the_hand(1), 30), (flat(0), 30)])
    lanes = lanes_of(tmp_path / "f.mp4", tmp_path, PRODUCTION, 60, 0)
    assert (lanes["speech"], lanes["silence"]) == (None, None)
    assert (lanes["black"], lanes["still"], lanes["cuts"]) == ([[30, 60]], [], [30])


def test_a_sound_clip_has_no_lanes_of_pictures(tmp_path):
    sound = tmp_path / "take.wav"
    ffmpeg("-f", "lavfi", "-i", "aevalsrc='0.5*sin(2*PI*1000*t)':s=48000:d=2", sound)
    lanes = lanes_of(sound, tmp_path, PRODUCTION, 50, 1, pictures=False)
    assert (lanes["black"], lanes["still"], lanes["cuts"]) == (None, None, None)
    assert lanes["silence"] == []


@pytest.mark.parametrize("rate", [Rate(25), Rate(30000, 1001), Rate(60000, 1001)], ids=str)
def test_silence_lies_on_its_frames_on_all_channels(tmp_path, rate):
    """One channel pauses from 2 s to 5 s and the other from 3 s to 6 s; both go on humming at -60 dBFS."""
    sound, frames = tmp_path / "take.wav", round(8 * rate.numerator / rate.denominator)
    tones = "|".join(
        f"0.001*sin(2*PI*400*t)+0.2*sin(2*PI*1000*t)*(1-between(t,{start},{start + 3}))" for start in (2, 3)
    )
    ffmpeg("-f", "lavfi", "-i", f"aevalsrc='{tones}':s=48000:d=8", sound)
    (found,) = lanes_of(sound, tmp_path, Timebase(rate), frames, 2, pictures=False)["silence"]
    assert found == pytest.approx([float(3 * rate.fraction), float(5 * rate.fraction)], abs=1)


@pytest.mark.parametrize(("decibels", "silent"), [(-49, False), (-51, True)])
def test_silence_is_below_fifty_decibels(tmp_path, decibels, silent):
    ffmpeg("-f", "lavfi", "-i", f"aevalsrc='{10 ** (decibels / 20)}*sin(2*PI*1000*t)':s=48000:d=2", tmp_path / "t.wav")
    found = lanes_of(tmp_path / "t.wav", tmp_path, PRODUCTION, 50, 1, pictures=False)["silence"]
    assert found == ([[0, 50]] if silent else [])


def test_runs_and_joins():
    flags = np.array([1, 1, 0, 1, 0, 0, 0, 1], dtype=bool)
    assert runs(flags) == [(0, 2), (3, 4), (7, 8)]
    assert joined(runs(flags), 3) == [(0, 4), (7, 8)]
    assert joined(runs(flags), 4) == [(0, 8)]
    assert runs(np.zeros(0, dtype=bool)) == joined([], 4) == []


def test_a_lane_stays_small_by_joining_over_the_smallest_gaps():
    chance = np.random.default_rng(1)
    edges = np.cumsum(chance.integers(2, 400, 20_000)).reshape(-1, 2).tolist()
    many = [FrameRange(start, end) for start, end in edges]
    few = bounded(many)
    assert len(few) <= MOST_RANGES
    assert intersect(many, few) == many  # nothing is lost
    filled = [gap.length for gap in subtract(few, many)]
    left = [other.in_frame - one.out_frame for one, other in pairwise(few)]
    assert max(filled) <= min(left)
    assert count(few) == count(many) + sum(filled)


def test_twelve_hours_at_fifty_a_second_take_a_quarter_of_a_megabyte_at_most():
    last = 12 * 3600 * 50
    ranges, cuts = [[last, last]] * MOST_RANGES, [last] * MOST_RANGES
    assert len(json.dumps([ranges] * 4 + [cuts], separators=(",", ":"))) < 250_000


def test_the_strongest_cuts_are_kept():
    class Seen:
        black, stirred, seen = np.zeros(50_000, dtype=bool), [], 50_000
        cuts = [(10 * number, float(number % 7)) for number in range(1, 4_500)]

    cuts = picture_ranges(Seen(), Rate(25), 50_000)[2]
    assert len(cuts) == MOST_RANGES and cuts == sorted(cuts)
    strong = {frame for frame, step in Seen.cuts if step >= 3}
    assert strong <= set(cuts)
