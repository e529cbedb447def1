"""A frame number that a machine can read from the picture.

A strip of 28 cells along the bottom edge, white for 1 and black for 0:

    sync    number, 20 bits, highest first    check    sync
    1 0     n n n n n n n ... n n n n n n     c c c c  0 1

The check is the exclusive-or of the number's five groups of four bits. Cells are sized by the picture, so the strip
survives scaling, a non-square pixel and strong compression: at 160 pixels a cell is more than five wide.
"""

from itertools import pairwise

import numpy as np

BITS = 20
HIGHEST = (1 << BITS) - 1
STRIP_HEIGHT = 1 / 15  # of the picture's height

_CHECK_BITS = 4
_HEAD, _TAIL = (1, 0), (0, 1)
_CELLS = len(_HEAD) + BITS + _CHECK_BITS + len(_TAIL)
_BLACK, _WHITE = 16, 235  # legal video levels, so that painting luma or RGB is the same
_LEAST_CONTRAST = 60  # between the sync cells; below it the picture carries no strip
_CLEARNESS = 0.15  # how far from grey a cell must be, as a part of the contrast


def paint_number(picture: np.ndarray, number: int) -> None:
    """Paint `number` (0 to 1,048,575) into `picture`, in place.

    `picture` is H x W (luma) or H x W x 3, of uint8. Raises ValueError for a number that does not fit.
    """
    if not 0 <= number <= HIGHEST:
        raise ValueError(f"frame number {number} does not fit the strip; it holds 0 to {HIGHEST}")
    height, width = picture.shape[:2]
    cells = np.array([*_HEAD, *_bits(number, BITS), *_bits(_check(number), _CHECK_BITS), *_TAIL])
    edges = np.arange(_CELLS + 1) * width // _CELLS
    row = np.repeat(np.where(cells, _WHITE, _BLACK), np.diff(edges)).astype(np.uint8)
    picture[height - strip_rows(height) :] = row if picture.ndim == 2 else row[:, np.newaxis]


def read_number(picture: np.ndarray) -> int | None:
    """The number painted in `picture` (as for paint_number), or None when no strip reads with certainty."""
    height, width = picture.shape[:2]
    rows = strip_rows(height)
    strip = picture[height - rows + rows // 4 : height - rows // 4]
    strip = strip.reshape(strip.shape[0], width, -1).mean(axis=(0, 2))
    edges = np.arange(_CELLS + 1) * width / _CELLS
    inset = width / _CELLS / 4  # only the middle of a cell: its edges are blurred
    levels = np.array(
        [
            strip[round(left + inset) : max(round(right - inset), round(left + inset) + 1)].mean()
            for left, right in pairwise(edges)
        ]
    )
    black, white = levels[[1, -2]].max(), levels[[0, -1]].min()
    contrast = white - black
    if contrast < _LEAST_CONTRAST:
        return None
    tone = (levels - black) / contrast
    if np.any(np.abs(tone - 0.5) < _CLEARNESS):
        return None
    cells = tone > 0.5
    number = _value(cells[len(_HEAD) : len(_HEAD) + BITS])
    check = _value(cells[len(_HEAD) + BITS : -len(_TAIL)])
    return number if check == _check(number) else None


def strip_rows(height: int) -> int:
    """How many rows at the bottom of a picture `height` rows high the strip covers."""
    return max(1, round(height * STRIP_HEIGHT))


def _bits(value: int, count: int) -> list[int]:
    return [value >> place & 1 for place in reversed(range(count))]


def _value(cells: np.ndarray) -> int:
    return int("".join("1" if cell else "0" for cell in cells), 2)


def _check(number: int) -> int:
    check = 0
    for place in range(0, BITS, _CHECK_BITS):
        check ^= number >> place & 0xF
    return check
