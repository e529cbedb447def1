"""Shots for the picture lanes: painted scenes on a shaky hand, held still, panned, flashed at, covered, cut.

A shot is a function from the number of a picture to levels of 0 to 255, 320x180; `film` puts shots one after the
other through the coding that a proxy has.
"""

from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path

import numpy as np

from .clips import ffmpeg

WIDTH, HEIGHT = 320, 180
ROOM = 4  # how many times as wide as the picture a scene is, so that the camera can travel
Shot = Callable[[int], np.ndarray]


@cache
def scene(seed: int, low: int = 20, high: int = 235) -> np.ndarray:
    """Shapes of several sizes, HEIGHT + 40 by ROOM * WIDTH."""
    chance = np.random.default_rng(seed)
    painted = np.zeros((HEIGHT + 40, ROOM * WIDTH), dtype=np.float32)
    rows, columns = np.mgrid[: HEIGHT + 40, : ROOM * WIDTH]
    for _ in range(60):
        size = chance.uniform(15, 90)
        row, column = chance.uniform(0, HEIGHT + 40), chance.uniform(0, ROOM * WIDTH)
        inside = (abs(rows - row) < size * 0.6) & (abs(columns - column) < size)
        painted[inside] = chance.uniform(0, 1)
    return low + painted * (high - low)


def held(seed: int, low: int = 20, high: int = 235) -> Shot:
    """A locked-off camera."""
    return lambda number: scene(seed, low, high)[20 : 20 + HEIGHT, 20 : 20 + WIDTH]


def in_the_hand(seed: int, low: int = 20, high: int = 235) -> Shot:
    """A camera that sways a few per cent of the picture, as a hand does."""

    def shot(number: int) -> np.ndarray:
        row = round(20 + 8 * np.sin(number / 9 + seed) + 3 * np.sin(number / 3.1))
        column = round(40 + 12 * np.sin(number / 11 + 2 * seed) + 4 * np.sin(number / 4.3))
        return scene(seed, low, high)[row : row + HEIGHT, column : column + WIDTH]

    return shot


def pan(seed: int, pixels: int) -> Shot:
    """A pan of so many pixels a picture, from rest to rest over 25 pictures, then back, and so on."""

    def shot(number: int) -> np.ndarray:
        turn = (1 - np.cos(np.pi * number / 25)) / 2
        column = round(turn * pixels * 25) % ((ROOM - 1) * WIDTH)
        return scene(seed)[20 : 20 + HEIGHT, column : column + WIDTH]

    return shot


def flashed(shot: Shot, every: int, lasts: int = 1) -> Shot:
    """The shot with a flash gun going off."""
    return lambda number: shot(number) * 0.3 + 178 if number % every < lasts and number >= every else shot(number)


def lit(shot: Shot, at: int) -> Shot:
    """A lamp is switched on in picture `at`."""
    return lambda number: shot(number) * (0.45 if number < at else 1.0)


def walked_through(shot: Shot) -> Shot:
    """Somebody crosses the picture of a locked-off camera."""

    def with_somebody(number: int) -> np.ndarray:
        picture = shot(number).copy()
        column = number * 4 % WIDTH
        picture[60:170, column : column + 24] = 70
        return picture

    return with_somebody


def flat(level: int) -> Shot:
    """A cap or a hand on the lens."""
    return lambda number: np.full((HEIGHT, WIDTH), level, dtype=np.float32)


def film(path: Path, shots: Sequence[tuple[Shot, int]], grain: float = 4.0, coding: Sequence = ()) -> list[int]:
    """Write shots of so many pictures at 25 a second to `path`; the frames on which the second and later ones start."""
    chance = np.random.default_rng(5)
    pictures = []
    for shot, count in shots:
        for number in range(count):
            picture = shot(number) + chance.normal(0, grain, (HEIGHT, WIDTH))
            pictures.append(np.clip(picture, 0, 255).astype(np.uint8).tobytes())
    ffmpeg(
        *("-f", "rawvideo", "-pix_fmt", "gray", "-s", f"{WIDTH}x{HEIGHT}", "-framerate", "25", "-i", "pipe:0"),
        *("-vf", "scale=640:360,format=yuv420p", "-c:v", "libx264", "-preset", "veryfast", "-crf", "27"),
        *("-g", "12", "-keyint_min", "12", "-sc_threshold", "0", "-bf", "0", *coding, path),
        stdin=b"".join(pictures),
    )
    return [int(start) for start in np.cumsum([count for _, count in shots])[:-1]]
