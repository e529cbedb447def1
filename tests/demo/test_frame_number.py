"""The frame number strip is read back from any picture a viewer might see. Our own invention: no outside source."""

import io

import av
import numpy as np
import pytest
from PIL import Image

from review.demo.frame_number import HIGHEST, paint_number, read_number

SIZES = [(1440, 1080), (1280, 720), (640, 360), (160, 90)]
NUMBERS = [0, 1, 2, 0b1010_1010_1010_1010_1010, 90_000, HIGHEST - 1, HIGHEST]


def busy(width, height, seed=1):
    """A picture full of noise, which is harder than any scene."""
    return np.random.default_rng(seed).integers(0, 256, (height, width, 3), dtype=np.uint8)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("number", NUMBERS)
def test_a_painted_number_is_read(size, number):
    picture = busy(*size)
    paint_number(picture, number)
    assert read_number(picture) == number


@pytest.mark.parametrize("size", SIZES)
def test_it_is_read_from_luma_alone(size):
    luma = busy(*size)[..., 0].copy()
    paint_number(luma, 4321)
    assert read_number(luma) == 4321


@pytest.mark.parametrize("size", SIZES)
def test_it_survives_being_made_small_and_jpeg(size):
    for number in NUMBERS:
        picture, small = busy(*size), io.BytesIO()
        paint_number(picture, number)
        Image.fromarray(picture).resize((160, 90), Image.Resampling.BILINEAR).save(small, "JPEG", quality=50)
        assert read_number(np.asarray(Image.open(small))) == number


@pytest.mark.parametrize("size", SIZES)
def test_it_survives_h264(size):
    file = io.BytesIO()
    numbers = range(1000, 1012)
    with av.open(file, "w", "mp4") as movie:
        stream = movie.add_stream("libx264", 25, options={"crf": "27", "preset": "veryfast"})
        stream.width, stream.height, stream.pix_fmt = *size, "yuv420p"
        still = Image.fromarray(busy(16, 9)).resize(size)
        for number in numbers:
            picture = np.asarray(still).copy()
            paint_number(picture, number)
            movie.mux(stream.encode(av.VideoFrame.from_ndarray(picture, "rgb24")))
        movie.mux(stream.encode())
    file.seek(0)
    with av.open(file) as movie:
        assert [read_number(frame.to_ndarray(format="rgb24")) for frame in movie.decode(video=0)] == [*numbers]


def test_a_picture_without_a_strip_has_no_number():
    assert read_number(np.zeros((90, 160, 3), np.uint8)) is None
    assert read_number(np.full((90, 160), 128, np.uint8)) is None
    assert [read_number(busy(160, 90, seed)) for seed in range(50)] == [None] * 50


def test_one_wrong_cell_is_noticed():
    picture = np.zeros((360, 640), np.uint8)
    paint_number(picture, 77)
    for cell in range(2, 26):
        spoilt = picture.copy()
        columns = slice(cell * 640 // 28, (cell + 1) * 640 // 28)
        spoilt[300:, columns] = 251 - spoilt[300:, columns]
        assert read_number(spoilt) is None


def test_a_blurred_strip_is_not_guessed_at():
    picture = np.zeros((90, 160), np.uint8)
    paint_number(picture, 0b0101_0101_0101_0101_0101)
    washed = np.asarray(Image.fromarray(picture).resize((20, 90)).resize((160, 90)))
    assert read_number(washed) is None


@pytest.mark.parametrize("number", [-1, HIGHEST + 1])
def test_a_number_that_does_not_fit_is_refused(number):
    with pytest.raises(ValueError, match="does not fit the strip"):
        paint_number(np.zeros((90, 160), np.uint8), number)
