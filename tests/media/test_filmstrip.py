"""Picture i of the filmstrip is frame i * every of the clip."""

import numpy as np
import pytest
from PIL import Image

from review.demo.frame_number import read_number
from review.media.filmstrip import make_filmstrip
from review.media.probe import probe
from review.media.proxy import make_proxy
from review.timecode import Rate

from .clips import FRAMES, H264, make_clip
from .conftest import PRODUCTION


def shown(strip, folder) -> list[int | None]:
    """The number in every picture, sheet by sheet and row by row."""
    found = []
    for file in strip.files:
        sheet = np.asarray(Image.open(folder / file).convert("L"))
        assert sheet.shape == (strip.rows * strip.picture_height, strip.columns * strip.picture_width)
        rows = sheet.reshape(strip.rows, strip.picture_height, strip.columns, strip.picture_width).swapaxes(1, 2)
        found += [read_number(picture) for row in rows for picture in row]
    return found


def test_it_works(proxied, tmp_path):
    made = proxied("tracks.mov")
    strip = make_filmstrip(made.path, made.timebase, FRAMES, tmp_path)
    assert (strip.every, strip.count, strip.files) == (12, 5, ("filmstrip-001.jpg",))
    assert shown(strip, tmp_path) == [0, 12, 24, 36, 48] + [None] * 95


@pytest.mark.parametrize("name", ["film.mov", "drop.mov", "fast.mov", "stream.ts", "fields.m2ts", "wide.mov"])
def test_at_every_rate(proxied, tmp_path, name):
    made = proxied(name)
    strip = make_filmstrip(made.path, made.timebase, FRAMES, tmp_path)
    assert shown(strip, tmp_path)[: strip.count] == list(range(0, FRAMES, strip.every))
    assert strip.every == made.timebase.rate.nominal // 2


def test_a_long_clip_has_a_picture_a_second_on_several_sheets(tmp_path):
    frames = 420  # 84 s at 5 a second, so that the clip is quickly made; the 105th picture is on the second sheet
    path = make_clip(tmp_path / "A001.mp4", Rate(5), *H264, frames=frames, size=(160, 90), tones=())
    found, told = probe(path), []
    make_proxy([path], found, found.timebase(PRODUCTION), tmp_path / "proxy")
    strip = make_filmstrip(tmp_path / "proxy", found.timebase(PRODUCTION), frames, tmp_path, progress=told.append)
    assert (strip.every, strip.count, len(strip.files)) == (4, 105, 2)
    assert shown(strip, tmp_path)[:105] == list(range(0, frames, 4))
    assert sorted(each.name for each in tmp_path.glob("*.jpg")) == list(strip.files)
    assert told[-1] == 2


def test_an_upright_picture_stands_in_the_middle(proxied, tmp_path):
    made = proxied("rotated.mp4")
    strip = make_filmstrip(made.path, made.timebase, FRAMES, tmp_path)
    first = np.asarray(Image.open(tmp_path / strip.files[0]).convert("L"))[:90, :160]
    lit = np.flatnonzero(first.max(axis=0) > 40)
    assert (lit[0], lit[-1]) == (pytest.approx(54, abs=2), pytest.approx(105, abs=2))  # 50 wide in 160


def test_a_folder_may_have_any_name(proxied, tmp_path):
    made, folder = proxied("tracks.mov"), tmp_path / "100% %d: 'A'"
    folder.mkdir()
    make_filmstrip(made.path, made.timebase, FRAMES, folder)
    assert [each.name for each in folder.iterdir()] == ["filmstrip-001.jpg"]
