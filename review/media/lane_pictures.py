"""What the pictures tell at a glance: black or covered lens, stillness, cuts.

The proxy is decoded once to pictures of 32x18, whose every point is the mean of some 400 of the proxy's: grain and
the codec's noise are averaged away, and what is left are shapes and how they move.

- *Black*: nothing brighter than a glow anywhere; or, with a hand or a cap on the lens, dark and without any shape.
- *Still*: no point changes by more than STILL within the whole run, in means over a fifth of a second, which are the
  steps in which a run is told. A pan so slow that it changes less than that in two seconds is still, too.
- *A cut*: the picture changes at once to another shape, far more than it does around that frame, and does not come
  back. A flash comes back, a pan changes as much in the frames beside it, a lamp switched on keeps the shapes.
"""

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from review.media.ffmpeg import pipe, source
from review.timecode import Rate

WIDTH, HEIGHT = 32, 18
_POINTS = WIDTH * HEIGHT
_PICTURES_AT_ONCE = 500

# Levels from 0 to 255.
GLOW, BLACK = 40, 16  # the brightest point and the mean of a black picture
COVERED, SHAPELESS = 64, 3  # the mean and the deviation of a covered lens
STILL = 6  # the most a point may change
CUT = 4  # the least mean change
CUT_SPREAD = 0.25  # of the points change by as much: a sign that flips is no cut
CUT_OVER_MOTION = 2  # times what changes in the frames beside it
UNLIKE = 0.25  # 0 for the same shapes, 1 for shapes that have nothing to do with each other
COMES_BACK = 0.6  # of the change: what must be left of it for the picture to be another one
_FLASH = 0.16  # seconds a flash lasts at most
_BESIDE = 3  # frames
_NOISE = 25.0  # of a picture without shapes, so that what the codec left in it is not likened (variance)
_TOGETHER = 0.2  # seconds of which the mean is taken to tell stillness


def small_pictures(proxy: Path) -> Iterator[np.ndarray]:
    """All pictures of the proxy, some hundred at once: levels from 0 to 255 as count x 576."""
    decoded = source(proxy, threads=1)["v:0"]
    small = decoded.filter("scale", WIDTH, HEIGHT, flags="area", out_range="full").filter("format", "gray")
    output = small.output("pipe:1", format="rawvideo", fps_mode="passthrough", threads=1)
    with pipe(output.get_args()) as pictures:
        while raw := pictures.read(_PICTURES_AT_ONCE * _POINTS):
            yield np.frombuffer(raw, dtype=np.uint8)[: len(raw) // _POINTS * _POINTS].reshape(-1, _POINTS)


class Eye:
    """Looks at pictures in order. After `end`:

    `seen` is their number, `black` says of each whether it is, `stirred` are the frames at which a still run has ended
    and the next begins, and `cuts` are the first frames of new pictures, each with how much it differs.
    """

    def __init__(self, rate: Rate):
        self._flash = max(2, round(_FLASH * rate.nominal))
        self._margin = self._flash + _BESIDE + 1  # frames on either side that a cut is judged by
        self._held = np.empty((0, _POINTS), dtype=np.uint8)  # the margin before, and what is not judged yet
        self._judged = 0  # frames whose cut has been decided
        self._together = max(1, round(_TOGETHER * rate.nominal))
        self._group = np.empty(
            (0, _POINTS), dtype=np.uint8
        )  # pictures that wait for the rest of their fifth of a second
        self._low = self._high = None  # of each point, since the picture last stirred
        self._black: list[np.ndarray] = []
        self.seen = 0
        self.stirred: list[int] = []
        self.cuts: list[tuple[int, float]] = []

    def see(self, pictures: np.ndarray) -> None:
        """The next pictures, as `small_pictures` gives them."""
        self._black.append(_black(pictures))
        self._watch(pictures)
        self.seen += len(pictures)
        if not len(self._held):
            pictures = np.concatenate([pictures[:1].repeat(self._margin, axis=0), pictures])
        self._held = np.concatenate([self._held, pictures])
        self._find_cuts()

    def end(self) -> None:
        """No more pictures come."""
        if len(self._held):
            self._held = np.concatenate([self._held, self._held[-1:].repeat(self._margin, axis=0)])
            self._find_cuts()

    @property
    def black(self) -> np.ndarray:
        return np.concatenate([np.empty(0, dtype=bool), *self._black])

    def _watch(self, pictures: np.ndarray) -> None:
        first = self.seen - len(self._group)
        pictures = np.concatenate([self._group, pictures])
        whole = len(pictures) // self._together * self._together
        self._group = pictures[whole:]
        for number, mean in enumerate(pictures[:whole].reshape(-1, self._together, _POINTS).mean(axis=1)):
            if self._low is not None:
                low, high = np.minimum(self._low, mean), np.maximum(self._high, mean)
                if (high - low).max() <= STILL:
                    self._low, self._high = low, high
                    continue
                self.stirred.append(first + number * self._together)
            self._low = self._high = mean

    def _find_cuts(self) -> None:
        """Judge every held frame that has its margin on both sides."""
        margin, held = self._margin, self._held.astype(np.float32)
        count = len(held) - 2 * margin
        if count <= 0:
            return
        steps = np.abs(np.diff(held, axis=0, prepend=held[:1])).mean(axis=1)  # from the picture before
        beside = np.zeros(len(held), dtype=np.float32)
        for away in range(1, _BESIDE + 1):
            beside[away:] = np.maximum(beside[away:], steps[:-away])
            beside[:-away] = np.maximum(beside[:-away], steps[away:])
        candidates = np.flatnonzero((steps >= CUT) & (steps >= CUT_OVER_MOTION * beside))
        for at in candidates[(candidates >= margin) & (candidates < margin + count)]:
            before, after = held[at - 1], held[at]
            if (
                _spread(before, after) >= CUT_SPREAD
                and _unlike(before, after) >= UNLIKE
                and self._stays(held, at, steps[at])
            ):
                self.cuts.append((self._judged + int(at) - margin, float(steps[at])))
        self._judged += count
        self._held = self._held[count:]

    def _stays(self, held: np.ndarray, at: int, step: float) -> bool:
        """Whether neither the old picture comes back within a flash, nor the new one was there just before."""
        after = np.abs(held[at + 1 : at + 1 + self._flash] - held[at - 1]).mean(axis=1)
        before = np.abs(held[at - 1 - self._flash : at - 1] - held[at]).mean(axis=1)
        return min(after.min(), before.min()) >= COMES_BACK * step


def _black(pictures: np.ndarray) -> np.ndarray:
    mean, brightest = pictures.mean(axis=1), pictures.max(axis=1)
    dark = (brightest <= GLOW) & (mean <= BLACK)
    covered = (mean <= COVERED) & (pictures.std(axis=1) <= SHAPELESS)
    return dark | covered


def _spread(one: np.ndarray, other: np.ndarray) -> float:
    return float((np.abs(one - other) >= CUT).mean())


def _unlike(one: np.ndarray, other: np.ndarray) -> float:
    """One minus the correlation of two pictures: brightness and contrast do not count, only shapes."""
    one, other = one - one.mean(), other - other.mean()
    return 1 - float((one * other).mean() / (np.sqrt((one**2).mean() * (other**2).mean()) + _NOISE))
