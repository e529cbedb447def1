"""The burn-in: timecode, card and clip, and the frame number strip on every picture."""

import numpy as np

from review.demo.frame_number import paint_number, strip_rows
from review.demo.painting import Picture
from review.media.letters import tile

_GROUND, _INK = 24, 228  # luma
_TIMECODE_SIZE, _NAME_SIZE, _MARGIN = 46, 26, 18  # for a picture 720 high and 1280 wide


class BurnIn:
    """Letters drawn once for a picture size; a frame then costs a dozen small copies."""

    def __init__(self, width: int, height: int, name: str):
        stretch = width / height * 9 / 16  # below 1 where pixels are wide: letters are drawn narrow and shown right
        unit = height / 720
        self._glyphs = {each: _tile(each, _TIMECODE_SIZE * unit, stretch, 0.64) for each in "0123456789"}
        self._glyphs |= {each: _tile(each, _TIMECODE_SIZE * unit, stretch, 0.34) for each in ":;"}
        self._name = _tile(f" {name} ", _NAME_SIZE * unit, stretch)
        self._edge = round(_MARGIN * unit * stretch) & ~1, round(_MARGIN * unit) & ~1

    def write(self, picture: Picture, timecode: str, number: int) -> None:
        left, top = self._edge
        right = picture.y.shape[1] - left
        _copy(picture, self._name, right - self._name.shape[1], top)
        for letter in timecode:
            glyph = self._glyphs[letter]
            _copy(picture, glyph, left, top)
            left += glyph.shape[1]
        paint_number(picture.y, number)
        rows = (strip_rows(picture.y.shape[0]) + 1) // 2
        picture.u[-rows:] = picture.v[-rows:] = 128


def _tile(text: str, size: float, stretch: float, advance: float | None = None) -> np.ndarray:
    return tile(text, size, ground=_GROUND, ink=_INK, advance=advance, stretch=stretch)


def _copy(picture: Picture, tile: np.ndarray, left: int, top: int) -> None:
    height, width = tile.shape
    left &= ~1
    picture.y[top : top + height, left : left + width] = tile
    for plane in (picture.u, picture.v):
        plane[top // 2 : (top + height) // 2, left // 2 : (left + width) // 2] = 128
