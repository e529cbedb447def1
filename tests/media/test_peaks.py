"""The outline of the sound: a byte for each channel of each frame."""

import numpy as np
import pytest

from review.media.errors import MediaFailed
from review.media.peaks import Peaks, make_peaks, scale
from review.timecode import Rate, Timebase

from .clips import ffmpeg
from .conftest import PRODUCTION


def peaks_of(tmp_path, sound: str, timebase: Timebase, frames: int, channels: int) -> np.ndarray:
    """The peaks of an expression of ffmpeg's aevalsrc, a row a frame. Proxies with sound are in test_proxy."""
    take = tmp_path / "take.wav"
    ffmpeg("-f", "lavfi", "-i", f"aevalsrc='{sound}':s=48000:d={float(timebase.rate.seconds(frames))}", take)
    assert make_peaks(take, timebase, frames, channels, tmp_path) == Peaks("peaks.bin", channels, frames)
    return np.fromfile(tmp_path / "peaks.bin", dtype=np.uint8).reshape(frames, channels).astype(int)


def test_it_works(tmp_path):
    """Half of full scale is -6 dB, a hundredth -40 dB; 4.25 steps to a decibel."""
    rows = peaks_of(tmp_path, "0.5*sin(2*PI*1000*t)|0.01*sin(2*PI*1000*t)", PRODUCTION, 50, 2)
    assert rows[5:45, 0].tolist() == pytest.approx([255 - 6.02 * 4.25] * 40, abs=1)
    assert rows[5:45, 1].tolist() == pytest.approx([255 - 40 * 4.25] * 40, abs=1)


@pytest.mark.parametrize(("sample", "byte"), [(0, 0), (1, 0), (32, 0), (33, 0), (37, 4), (32768, 255), (16384, 229)])
def test_the_scale(sample, byte):
    """-60 dBFS is 32.8 of 32768."""
    assert scale(np.array([sample]))[0] == byte


@pytest.mark.parametrize("rate", [Rate(25), Rate(30000, 1001), Rate(60000, 1001)], ids=str)
def test_a_sound_late_in_a_long_clip_is_on_its_frame(rate, tmp_path):
    """At 29.97 a frame has 1601.6 samples: rounding each would be a frame out after 2,700 frames."""
    frames, hit = 2800, 2750
    start, end = float(rate.seconds(hit)), float(rate.seconds(hit + 2)) - 0.001
    rows = peaks_of(tmp_path, f"0.5*sin(2*PI*2000*t)*between(t,{start},{end})", Timebase(rate), frames, 1)[:, 0]
    assert np.flatnonzero(rows > 200).tolist() == [hit, hit + 1]


def test_silence_is_nothing(tmp_path):
    assert not peaks_of(tmp_path, "0", PRODUCTION, 10, 1).any()


def test_sound_that_ends_before_the_picture_is_silence_from_there(tmp_path):
    peaks_of(tmp_path, "0.5*sin(2*PI*1000*t)", PRODUCTION, 10, 1)
    make_peaks(tmp_path / "take.wav", PRODUCTION, 30, 1, tmp_path)
    rows = np.fromfile(tmp_path / "peaks.bin", dtype=np.uint8)
    assert len(rows) == 30
    assert rows[2:9].min() > 200
    assert not rows[12:].any()


def test_a_clip_without_sound_has_no_peaks(proxied, tmp_path):
    made = proxied("wide.mov")
    assert make_peaks(made.path, made.timebase, made.facts.frames, made.facts.channels, tmp_path) is None
    assert not list(tmp_path.iterdir())


def test_a_file_that_is_no_proxy(tmp_path):
    (tmp_path / "proxy").write_text("not a proxy")
    with pytest.raises(MediaFailed):
        make_peaks(tmp_path / "proxy", PRODUCTION, 10, 1, tmp_path)
