"""In a stringout every scene is the frames it was asked for, with their own labels below, and exactly their sound."""

import itertools
from fractions import Fraction

import av
import numpy as np
import pytest

from review.demo.frame_number import read_number
from review.media.errors import MediaFailed
from review.media.form import HEIGHT, WIDTH
from review.media.stringout import STRIP_HEIGHT, Scene, cuts, make_stringout
from review.timecode import Rate, Timebase

from .clips import FRAMES, TONE_FROM

PAL = Rate(25)


def scene(made, in_frame=0, out_frame=FRAMES, words="1  KB04-261112-A03  A001C003", channels=None) -> Scene:
    channels = made.facts.channels if channels is None else channels
    return Scene(made.path, made.timebase, made.timebase.frame("10:00:00:00"), in_frame, out_frame, channels, words)


def pictures(path):
    with av.open(str(path)) as container:
        return [frame.to_ndarray(format="gray") for frame in container.decode(video=0)]


def numbers(path):
    return [read_number(picture[:HEIGHT]) for picture in pictures(path)]


def sound(path) -> np.ndarray:
    with av.open(str(path)) as container:
        parts = [frame.to_ndarray() for frame in container.decode(audio=0)]
    return np.concatenate(parts, axis=1)


def test_it_works(proxied, tmp_path):
    """At another place in every scene, the first and the last frame of the clip among them."""
    made, told = proxied("tracks.mov"), []
    scenes = [scene(made, 7, 19), scene(made, 0, 3), scene(made, 41, FRAMES)]
    length = make_stringout(scenes, PAL, tmp_path, tmp_path / "out.mp4", told.append)
    assert length == 12 + 3 + 19
    assert numbers(tmp_path / "out.mp4") == [*range(7, 19), 0, 1, 2, *range(41, FRAMES)]
    assert max(told) == length and told == sorted(told)
    assert not list(tmp_path.glob("part-*"))
    picture = pictures(tmp_path / "out.mp4")[0]
    assert picture.shape == (HEIGHT + STRIP_HEIGHT, WIDTH)


def test_the_label_changes_with_every_frame_and_the_words_stay(proxied, tmp_path):
    make_stringout([scene(proxied("tracks.mov"), 0, 12)], PAL, tmp_path, tmp_path / "out.mp4")
    strips = [picture[HEIGHT:].astype(int) for picture in pictures(tmp_path / "out.mp4")]
    for before, after in itertools.pairwise(strips):
        changed = np.abs(after - before).max(axis=0) > 60
        assert changed.any() and not changed[: WIDTH * 3 // 4].any()


@pytest.mark.parametrize("name", ["film.mov", "drop.mov", "fast.mov", "stream.ts"])
def test_scenes_of_other_rates_keep_their_length_in_time(proxied, tmp_path, name):
    made = proxied(name)
    scenes = [scene(made, 10, 50), scene(proxied("tracks.mov"), 5, 15)]
    length = make_stringout(scenes, PAL, tmp_path, tmp_path / "out.mp4")
    shown = numbers(tmp_path / "out.mp4")
    assert abs(Fraction(length, 25) - scenes[0].seconds - scenes[1].seconds) <= Fraction(1, 50)
    assert len(shown) == length and shown[-10:] == list(range(5, 15))
    first = shown[:-10]
    assert first[0] == 10 and first[-1] in (48, 49) and first == sorted(first)
    step = float(made.timebase.rate.fraction / 25)
    assert [each - 10 for each in first] == [min(39, int(at * step)) for at in range(len(first))]


def test_the_sound_lies_with_its_picture(proxied, tmp_path):
    """The clip's tone starts on a known frame."""
    make_stringout([scene(proxied("tracks.mov"), 10, 40)], PAL, tmp_path, tmp_path / "out.mp4")
    heard = np.abs(sound(tmp_path / "out.mp4")).max(axis=0)
    loud = np.flatnonzero(heard > 0.05)[0]
    assert loud / 48000 == pytest.approx((TONE_FROM - 10) / 25, abs=0.03)  # AAC smears an onset


@pytest.mark.parametrize("name", ["wide.mov", "channels.mov", "rotated.mp4"])
def test_silent_many_channelled_and_upright_clips_join_the_others(proxied, tmp_path, name):
    scenes = [scene(proxied("tracks.mov"), 0, 5), scene(proxied(name), 3, 9), scene(proxied("tracks.mov"), 9, 12)]
    make_stringout(scenes, PAL, tmp_path, tmp_path / "out.mp4")
    shown = numbers(tmp_path / "out.mp4")
    assert len(shown) == 14 and shown[:5] == [0, 1, 2, 3, 4] and shown[-3:] == [9, 10, 11]
    assert sound(tmp_path / "out.mp4").shape[1] == pytest.approx(14 * 1920, abs=2048)


def test_cuts_never_drift():
    """A thousand scenes of a length that no whole number of frames holds."""
    clip = Scene(None, Timebase(Rate(24000, 1001)), 0, 0, 7, 0, "")
    ends = cuts([clip] * 1000, PAL)
    assert abs(Fraction(ends[-1], 25) - 1000 * clip.seconds) <= Fraction(1, 50)
    assert all(after > before for before, after in itertools.pairwise(ends))


def test_words_of_any_length_leave_the_label_free(proxied, tmp_path):
    long = scene(proxied("tracks.mov"), 0, 2, words="W" * 300 + "; rm -rf ' : % \\ \n é 漢")
    make_stringout([long], PAL, tmp_path, tmp_path / "out.mp4")
    assert numbers(tmp_path / "out.mp4") == [0, 1]


def test_nothing_is_refused(tmp_path):
    with pytest.raises(MediaFailed, match="nothing to string together"):
        make_stringout([], PAL, tmp_path, tmp_path / "out.mp4")


def test_a_file_that_is_no_proxy_is_told(tmp_path):
    (tmp_path / "proxy.mp4").write_bytes(b"no film")
    broken = Scene(tmp_path / "proxy.mp4", Timebase(PAL), 0, 0, 5, 0, "x")
    with pytest.raises(MediaFailed, match="ffmpeg"):
        make_stringout([broken], PAL, tmp_path, tmp_path / "out.mp4")
