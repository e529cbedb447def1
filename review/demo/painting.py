"""Pictures for synthetic footage: painted once with Pillow, put together for each frame with numpy.

A *stage* is a place seen through a lens. Everything on it is drawn in stage units, 1280 x 720 whatever the size of the
picture, so one drawing serves every camera, square pixels or not.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

WIDTH, HEIGHT = 1280, 720  # stage units
_SWELLS = 12  # pictures of the sea a second: like drawn water, it moves on every second frame
_SWELL_ROUND = 4  # seconds until they come round again
_FINE = 2  # drawn this much larger, then reduced, for smooth edges

# RGB to luma and the two colour differences, ITU-R BT.709, in legal video levels.
_TO_YUV = np.array(
    [
        [0.2126 * 219 / 255, 0.7152 * 219 / 255, 0.0722 * 219 / 255],
        [-0.1146 * 224 / 255, -0.3854 * 224 / 255, 0.5 * 224 / 255],
        [0.5 * 224 / 255, -0.4542 * 224 / 255, -0.0458 * 224 / 255],
    ],
    dtype=np.float32,
)
_OFFSETS = np.array([16, 128, 128], dtype=np.float32)

Colour = tuple[int, int, int]


class Picture:
    """One frame of yuv420p: `y`, `u` and `v` are views of `data`, which is what ffmpeg is fed."""

    def __init__(self, width: int, height: int):
        luma, chroma = width * height, width * height // 4
        self.data = np.full(luma + 2 * chroma, 128, dtype=np.uint8)
        self.y = self.data[:luma].reshape(height, width)
        self.u = self.data[luma : luma + chroma].reshape(height // 2, width // 2)
        self.v = self.data[luma + chroma :].reshape(height // 2, width // 2)
        self.y[:] = 16

    @property
    def planes(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return self.y, self.u, self.v

    def show(self, other: "Picture") -> None:
        """Become a copy of `other`."""
        np.copyto(self.data, other.data)

    def show_field(self, field: "Picture", line: int) -> None:
        """Fill every second line with a picture half as high, from `line` on: 0 the upper field, 1 the lower."""
        for mine, other in zip(self.planes, field.planes, strict=True):
            mine[line::2] = other


class Sprite:
    """A drawing, made larger by _FINE, that is put into pictures; `anchor` is the pixel of it that is placed."""

    def __init__(self, image: Image.Image, anchor: tuple[float, float]):
        image, cut = _trimmed(image)
        # Multiplied by its alpha before it is reduced, or clear pixels would darken the edge.
        image = image.convert("RGBa").reduce(_FINE)
        pixels = np.frombuffer(image.tobytes(), dtype=np.uint8).reshape(image.height, image.width, 4).astype(np.float32)
        alpha = pixels[..., 3:] / 255
        yuv = pixels[..., :3] @ _TO_YUV.T + _OFFSETS * alpha
        self.anchor = anchor[0] - cut[0] / _FINE, anchor[1] - cut[1] / _FINE
        self._inks = [np.round(plane * 256).astype(np.uint16) for plane in (yuv[..., 0], *_halved(yuv[..., 1:]))]
        fine, coarse = alpha[..., 0], _halved(alpha)[0]
        self._keeps = [np.round(256 - 256 * each).astype(np.uint16) for each in (fine, coarse, coarse)]

    def put(self, picture: Picture, x: float, y: float) -> None:
        """Put the sprite's anchor at pixel (x, y); what falls outside the picture is left out."""
        left, top = round(x - self.anchor[0]) & ~1, round(y - self.anchor[1]) & ~1
        for plane, ink, keep, step in zip(picture.planes, self._inks, self._keeps, (1, 2, 2), strict=True):
            row, column = top // step, left // step
            rows = slice(max(0, -row), min(ink.shape[0], plane.shape[0] - row))
            columns = slice(max(0, -column), min(ink.shape[1], plane.shape[1] - column))
            if rows.start >= rows.stop or columns.start >= columns.stop:
                return
            part = plane[row + rows.start : row + rows.stop, column + columns.start : column + columns.stop]
            part[:] = (part * keep[rows, columns] + ink[rows, columns]) >> 8


class Water:
    """The moving part of a picture: rows of `sea` that swell, wherever `whole` shows the sea and nothing else."""

    def __init__(self, sea: Picture, whole: Picture, top: int, bottom: int):
        self._layers = []
        for calm, over, step in zip(sea.planes, whole.planes, (1, 2, 2), strict=True):
            rows = slice(top // step, bottom // step)
            same = Image.fromarray(np.where(calm[rows] == over[rows], 255, 0).astype(np.uint8))
            open_water = np.asarray(same.filter(ImageFilter.MinFilter(3))) > 0  # a pixel alike by chance is no water
            self._layers.append((calm[rows], open_water, rows, step))
        self._depth = bottom - top
        self._moved: dict[int, list[np.ndarray]] = {}

    def swell(self, picture: Picture, second: float) -> None:
        step = int(second * _SWELLS) % (_SWELLS * _SWELL_ROUND)
        if step not in self._moved:
            self._moved[step] = [self._move(calm, step / _SWELLS, each) for calm, _, _, each in self._layers]
        for plane, moved, (_, open_water, rows, _) in zip(picture.planes, self._moved[step], self._layers, strict=True):
            np.copyto(plane[rows], moved, where=open_water)

    def _move(self, calm: np.ndarray, second: float, step: int) -> np.ndarray:
        turn = 2 * np.pi * second / _SWELL_ROUND
        row = np.arange(len(calm)) * step
        near = row / self._depth  # 0 at the horizon, 1 at our feet
        lift = (0.6 + 5 * near) * np.sin(row / (4 + 26 * near) - turn) / step
        moved = calm[np.clip(np.round(np.arange(len(calm)) + lift), 0, len(calm) - 1).astype(np.intp)]
        band = max(2, 12 // step)
        for first in range(0, len(calm), band):
            drift = round((2 + 8 * near[first]) * np.sin(turn + first * step / 19) / step)
            moved[first : first + band] = np.roll(moved[first : first + band], drift, axis=1)
        return moved


@dataclass(frozen=True)
class View:
    """A framing: the stage unit in the middle of the picture, how close, and whether from the other side."""

    x: float = WIDTH / 2
    y: float = HEIGHT / 2
    zoom: float = 1.0
    mirror: bool = False


class Brush:
    """Draws in stage units on a Pillow image."""

    def __init__(self, image: Image.Image, scale: tuple[float, float], origin: tuple[float, float] = (0, 0)):
        self.image = image
        self._draw = ImageDraw.Draw(image)
        self._scale = scale
        self._origin = origin

    def _at(self, points) -> list[tuple[float, float]]:
        (kx, ky), (ox, oy) = self._scale, self._origin
        return [(x * kx + ox, y * ky + oy) for x, y in points]

    def polygon(self, points, fill: Colour) -> None:
        self._draw.polygon(self._at(points), fill=fill)

    def box(self, left: float, top: float, right: float, bottom: float, fill: Colour) -> None:
        self.polygon([(left, top), (right, top), (right, bottom), (left, bottom)], fill)

    def oval(self, x: float, y: float, rx: float, ry: float, fill: Colour) -> None:
        (left, top), (right, bottom) = self._at([(x - rx, y - ry), (x + rx, y + ry)])
        self._draw.ellipse((min(left, right), top, max(left, right), bottom), fill=fill)

    def stroke(self, points, width: float, fill: Colour) -> None:
        """A line with round ends and joints."""
        at = self._at(points)
        self._draw.line(at, fill=fill, width=max(1, round(width * abs(self._scale[1]))), joint="curve")
        for x, y in points:
            self.oval(x, y, width / 2, width / 2, fill)

    def gradient(self, top: float, bottom: float, colours: list[Colour]) -> None:
        """Fill whole rows from `top` to `bottom` with `colours`, evenly spaced, blended from one to the next."""
        (_, first), (_, last) = self._at([(0, top), (0, bottom)])
        first, last = max(0, round(first)), min(self.image.height, round(last))
        if first >= last:
            return
        places = np.linspace(0, len(colours) - 1, last - first)
        ramp = np.stack([np.interp(places, range(len(colours)), channel) for channel in zip(*colours, strict=True)], -1)
        column = Image.fromarray(ramp[:, np.newaxis].astype(np.uint8))
        self.image.paste(column.resize((self.image.width, last - first)), (0, first))

    def glow(self, x: float, y: float, rx: float, ry: float, colour: Colour, strength: float = 1.0) -> None:
        """Light around (x, y) that fades to nothing at (rx, ry)."""
        across = np.linspace(-1, 1, 96)
        distance = np.hypot(across[np.newaxis], across[:, np.newaxis])
        fall = np.clip(1 - distance, 0, 1) ** 2 * 255 * strength
        (left, top), (right, bottom) = self._at([(x - rx, y - ry), (x + rx, y + ry)])
        left, right = min(left, right), max(left, right)
        size = max(1, round(right - left)), max(1, round(bottom - top))
        mask = Image.fromarray(fall.astype(np.uint8)).resize(size, Image.Resampling.BICUBIC)
        self.image.paste(colour, (round(left), round(top)), mask)

    def blur(self, radius: float) -> None:
        """Put everything drawn so far out of focus."""
        self.image.paste(self.image.filter(ImageFilter.BoxBlur(radius * abs(self._scale[1]))))


class Stage:
    """A picture size and a framing; makes pictures and sprites, and puts sprites where they belong."""

    def __init__(self, width: int, height: int, view: View = View()):
        self.width, self.height, self.view = width, height, view
        self._kx, self._ky = width / WIDTH * view.zoom, height / HEIGHT * view.zoom

    def pixel(self, x: float, y: float) -> tuple[float, float]:
        """The pixel of stage unit (x, y)."""
        side = -1 if self.view.mirror else 1
        return (
            side * (x - self.view.x) * self._kx + self.width / 2,
            (y - self.view.y) * self._ky + self.height / 2,
        )

    def paint(self, draw: Callable[[Brush], None]) -> Picture:
        """A whole picture of what `draw` draws, with the unevenness of a real surface."""
        image = Image.new("RGB", (self.width * _FINE, self.height * _FINE))
        side = -1 if self.view.mirror else 1
        scale = (side * self._kx * _FINE, self._ky * _FINE)
        origin = (
            _FINE * self.width / 2 - self.view.x * scale[0],
            _FINE * self.height / 2 - self.view.y * scale[1],
        )
        draw(Brush(image, scale, origin))
        pixels = np.asarray(image.reduce(_FINE), dtype=np.float32)
        return _picture(pixels * _mottling(self.width, self.height)[..., np.newaxis])

    def sprite(self, width: float, height: float, draw: Callable[[Brush], None], anchor: tuple[float, float]) -> Sprite:
        """What `draw` draws on a clear sheet of width x height units; `anchor` is placed by put()."""
        size = max(2, round(width * self._kx)), max(2, round(height * self._ky))
        image = Image.new("RGBA", (size[0] * _FINE, size[1] * _FINE))
        draw(Brush(image, (size[0] * _FINE / width, size[1] * _FINE / height)))
        x, y = anchor[0] * self._kx, anchor[1] * self._ky
        if self.view.mirror:
            image, x = image.transpose(Image.Transpose.FLIP_LEFT_RIGHT), size[0] - x
        return Sprite(image, (x, y))

    def put(self, picture: Picture, sprite: Sprite, x: float, y: float) -> None:
        sprite.put(picture, *self.pixel(x, y))

    def water(self, sea: Picture, whole: Picture, top: float, bottom: float) -> Water:
        """Water between two heights in stage units."""
        first, last = (min(self.height, max(0, round(self.pixel(0, y)[1]))) & ~1 for y in (top, bottom))
        return Water(sea, whole, first, last)


def _trimmed(image: Image.Image) -> tuple[Image.Image, tuple[int, int]]:
    """`image` without its clear margins, which only cost time, and how much was cut from its left and top.

    Cuts keep to whole pairs of reduced pixels, because colour is kept for two by two.
    """
    pair = 2 * _FINE
    left, top, right, bottom = image.getbbox() or (0, 0, 1, 1)
    left, top = left // pair * pair, top // pair * pair
    right, bottom = -(-right // pair) * pair, -(-bottom // pair) * pair
    return image.crop((left, top, right, bottom)), (left, top)


def _halved(planes: np.ndarray) -> list[np.ndarray]:
    """Each plane of H x W x n at half size."""
    halved = (planes[::2, ::2] + planes[1::2, ::2] + planes[::2, 1::2] + planes[1::2, 1::2]) / 4
    return [halved[..., index] for index in range(planes.shape[2])]


def _picture(rgb: np.ndarray) -> Picture:
    """The picture of H x W x 3 float RGB, 0 to 255."""
    yuv = np.clip(rgb, 0, 255) @ _TO_YUV.T + _OFFSETS
    picture = Picture(rgb.shape[1], rgb.shape[0])
    for plane, painted in zip(picture.planes, (yuv[..., 0], *_halved(yuv[..., 1:])), strict=True):
        plane[:] = np.round(painted)
    return picture


@cache
def _mottling(width: int, height: int) -> np.ndarray:
    """Soft patches of slightly lighter and darker, coarse to fine, around 1."""
    chance = np.random.default_rng(1)
    total = np.ones((height, width), dtype=np.float32)
    for cells, strength in ((6, 0.05), (24, 0.03), (96, 0.025), (320, 0.02)):
        patch = chance.normal(0, strength, (cells * 9 // 16, cells)).astype(np.float32)
        total += np.asarray(Image.fromarray(patch).resize((width, height), Image.Resampling.BICUBIC))
    return total
