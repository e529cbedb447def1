"""From the driver's seat, at night: the road comes into the lamps, and so does an oncoming car."""

from math import sin

import numpy as np

from review.demo.painting import Brush, Picture, Stage, View

VIEWS = {"wide": View()}
_FAR = (650, 330)  # where the road vanishes
_SNOW = np.random.default_rng(9).uniform((-900, -560, 0.5, 0), (900, 380, 0.9, 1), (44, 4)).tolist()
_STEPS = 10  # pictures from one roadside post to the next


class Cab:
    def __init__(self, stage: Stage, beats: dict[str, float]):
        self._stage = stage
        self._meet = beats["oncoming"]
        self._ahead = [stage.paint(_ahead(step / _STEPS)) for step in range(_STEPS)]
        self._car = [stage.sprite(640, 420, _oncoming(0.05 + 0.95 * (step / 9) ** 2), (320, 210)) for step in range(10)]
        self._wheel = stage.sprite(560, 300, _wheel, (280, 0))
        self._flake = [stage.sprite(14, 14, _flake(size), (7, 7)) for size in (2, 3.5, 6)]
        self._dashboard = stage.sprite(1300, 200, _dashboard, (650, 0))

    def paint(self, picture: Picture, second: float) -> None:
        picture.show(self._ahead[int(second * 1.6 * _STEPS) % _STEPS])
        until = self._meet - second
        if -0.3 < until < 4:
            near = max(0.0, 1 - (until + 0.3) / 4.3) ** 2
            self._stage.put(
                picture, self._car[int(near * 9.99)], _FAR[0] - 20 - 430 * near**1.5, _FAR[1] + 26 + 120 * near
            )
        for across, down, speed, phase in _SNOW:
            part = (second * speed + phase) % 1
            x, y = _FAR[0] + across * part**2.2, _FAR[1] - 40 + down * part**2.2
            self._stage.put(picture, self._flake[min(2, int(part * 3.4))], x, y)
        self._stage.put(picture, self._dashboard, 640, 560 + 1.5 * sin(19 * second))
        self._stage.put(picture, self._wheel, 400 + 5 * sin(1.3 * second), 500 + 1.5 * sin(19 * second))


def _ahead(step: float):
    def draw(brush: Brush) -> None:
        (fx, fy) = _FAR
        brush.gradient(-100, fy, [(6, 9, 20), (12, 18, 36), (26, 34, 58)])
        brush.polygon(
            [
                (-60, 330),
                (140, 190),
                (260, 250),
                (420, 170),
                (560, 300),
                (760, 310),
                (900, 200),
                (1060, 260),
                (1340, 150),
                (1340, 340),
                (-60, 340),
            ],
            (18, 26, 44),
        )
        brush.gradient(fy, 900, [(16, 21, 32), (30, 36, 46), (52, 56, 60)])
        brush.polygon([(fx - 3, fy), (fx + 3, fy), (1500, 900), (-330, 900)], (40, 44, 52))
        brush.glow(610, 640, 640, 330, (236, 214, 160), 0.6)
        brush.glow(650, 420, 250, 120, (236, 214, 160), 0.4)
        for post in range(9):
            part = (post + 1 - step) / 9
            near = 1 / (0.14 + 3.4 * part) / 2
            y = fy + 330 * near
            bright = min(1.0, 0.25 + near)
            for side in (-1, 1):
                x = fx + side * 760 * near
                top = y - 150 * near
                brush.stroke([(x, y), (x, top)], 15 * near, tuple(int(part * bright) for part in (206, 200, 184)))
                shine = (255, 132, 62) if side > 0 else (250, 244, 220)
                brush.stroke(
                    [(x, top + 26 * near), (x, top + 50 * near)], 17 * near, tuple(int(p * bright) for p in shine)
                )
            length = 46 * near
            dash = [(fx - 4 * near, y), (fx + 14 * near, y), (fx + 20 * near, y + length), (fx - 4 * near, y + length)]
            brush.polygon(dash, tuple(int(part * bright) for part in (226, 216, 180)))
        for side in (-1, 1):
            brush.stroke([(fx, fy), (fx + side * 900, 760)], 3, (120, 118, 110))

    return draw


def _oncoming(size: float):
    def draw(brush: Brush) -> None:
        brush.glow(320, 210, 318 * size, 208 * size, (255, 236, 196), 0.95)
        for side in (-1, 1):
            brush.glow(320 + side * 66 * size, 216, 76 * size, 76 * size, (255, 252, 240), 1.0)
            brush.oval(320 + side * 66 * size, 216, 20 * size + 1.5, 20 * size + 1.5, (255, 255, 250))

    return draw


def _dashboard(brush: Brush) -> None:
    brush.polygon([(0, 60), (220, 14), (640, 4), (1060, 20), (1300, 60), (1300, 200), (0, 200)], (10, 11, 15))
    brush.stroke([(0, 60), (220, 14), (640, 4), (1060, 20), (1300, 60)], 4, (44, 46, 52))
    for x, reach in ((330, 40), (440, 32)):
        brush.oval(x, 90, reach + 6, reach + 6, (22, 26, 30))
        brush.glow(x, 90, reach * 1.7, reach * 1.7, (90, 220, 170), 0.55)
        for tick in range(9):
            angle = 2.3 + tick * 0.6
            x0, y0 = x + reach * 0.8 * sin(angle), 90 - reach * 0.8 * sin(angle + 1.57)
            brush.oval(x0, y0, 2, 2, (190, 255, 220))
        brush.stroke([(x, 90), (x + reach * 0.5, 90 - reach * 0.45)], 2.6, (255, 170, 110))
    brush.box(760, 70, 900, 112, (16, 20, 24))
    for bar in range(6):
        brush.box(772 + bar * 20, 82, 786 + bar * 20, 100, (74, 150, 128) if bar < 4 else (34, 48, 48))


def _wheel(brush: Brush) -> None:
    for width, shade in ((30, (14, 15, 19)), (6, (58, 60, 66))):
        arc = [(280 + 236 * sin(turn / 10), 262 - 236 * sin(turn / 10 + 1.57)) for turn in range(-19, 20)]
        brush.stroke(arc, width, shade)
    brush.polygon([(60, 260), (240, 226), (320, 226), (500, 260), (500, 300), (60, 300)], (14, 15, 19))


def _flake(size: float):
    def draw(brush: Brush) -> None:
        brush.glow(7, 7, size, size, (236, 240, 246), 0.9)

    return draw
