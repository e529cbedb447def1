"""The mail road over the pass, at night: the van's lamps climb the bends and meet another pair coming down."""

from itertools import pairwise
from math import hypot

import numpy as np

from review.demo.painting import Brush, Picture, Stage, View

VIEWS = {"wide": View()}
_ROAD = [
    (-40, 664),
    (200, 640),
    (470, 606),
    (700, 560),
    (820, 516),
    (760, 474),
    (560, 444),
    (420, 416),
    (480, 384),
    (640, 362),
    (800, 346),
    (900, 326),
    (880, 306),
    (800, 292),
]
_STARS = np.random.default_rng(5).uniform((-40, 0), (1320, 300), (150, 2)).tolist()
_SPEED = 78  # stage units a second, at the foot of the pass


class Road:
    def __init__(self, stage: Stage, beats: dict[str, float]):
        self._stage = stage
        self._meet = beats["oncoming"]
        self._night = stage.paint(_everything)
        self._lamps = [stage.sprite(340, 150, _headlights(size), (170, 75)) for size in (0.3, 0.45, 0.6, 0.8, 1.0)]
        self._tail = stage.sprite(60, 30, _tail, (30, 15))
        self._twinkle = stage.sprite(10, 10, _star, (5, 5))

    def paint(self, picture: Picture, second: float) -> None:
        picture.show(self._night)
        for place, star in enumerate(_STARS[:14]):
            if (second * 0.7 + place * 0.37) % 1 < 0.6:
                self._stage.put(picture, self._twinkle, star[0], star[1] * 0.5)
        since = second - self._meet
        self._car(picture, 560 + _SPEED * since, away=True)
        self._car(picture, 600 - _SPEED * 1.1 * (since - 0.4), away=False)

    def _car(self, picture: Picture, along: float, away: bool) -> None:
        x, y = _point(along)
        near = min(1.0, max(0.0, (y - 290) / 360))
        self._stage.put(picture, self._lamps[min(4, int(near * 5))], x, y - 8 * near)
        if away:
            self._stage.put(picture, self._tail, x - 16 * near, y - 6 * near)


def _point(along: float) -> tuple[float, float]:
    """The point `along` units up the road; units shrink with distance, as the eye sees them."""
    for (x0, y0), (x1, y1) in pairwise(_ROAD):
        length = hypot(x1 - x0, y1 - y0)
        if along < length:
            part = max(0.0, along / length)
            return x0 + (x1 - x0) * part, y0 + (y1 - y0) * part
        along = (along - length) * 1.12
    return _ROAD[-1]


def _everything(brush: Brush) -> None:
    brush.gradient(-100, 420, [(8, 12, 30), (14, 22, 48), (26, 38, 70), (46, 60, 92), (84, 92, 118)])
    brush.glow(1010, 120, 330, 300, (150, 168, 204), 0.5)
    brush.oval(1010, 120, 44, 44, (232, 232, 218))
    brush.oval(998, 110, 10, 8, (206, 208, 202))
    brush.oval(1022, 134, 13, 10, (210, 210, 202))
    for place, (x, y) in enumerate(_STARS):
        brush.oval(x, y, 0.7 + place % 3 * 0.4, 0.7 + place % 3 * 0.4, (170, 182, 206))
    brush.polygon(
        [
            (-60, 330),
            (80, 210),
            (190, 262),
            (340, 120),
            (450, 204),
            (540, 160),
            (700, 290),
            (860, 220),
            (1000, 292),
            (1150, 180),
            (1340, 300),
            (1340, 460),
            (-60, 460),
        ],
        (40, 52, 82),
    )
    brush.polygon(
        [(340, 120), (450, 204), (424, 214), (396, 190), (380, 214), (352, 178), (330, 190), (290, 166)],
        (150, 164, 192),
    )
    brush.polygon(
        [(1150, 180), (1250, 242), (1206, 236), (1180, 222), (1160, 240), (1130, 212), (1096, 222)], (132, 148, 180)
    )
    brush.polygon([(80, 210), (132, 236), (104, 240), (84, 230), (58, 232)], (120, 136, 168))
    brush.polygon(
        [
            (-60, 420),
            (120, 352),
            (330, 376),
            (560, 320),
            (800, 280),
            (960, 300),
            (1160, 372),
            (1340, 340),
            (1340, 520),
            (-60, 520),
        ],
        (26, 36, 58),
    )
    brush.polygon(
        [(-60, 520), (200, 440), (420, 410), (700, 350), (940, 330), (1060, 420), (1340, 470), (1340, 900), (-60, 900)],
        (18, 26, 42),
    )
    brush.polygon(
        [(-60, 640), (240, 590), (560, 540), (900, 500), (1130, 560), (1340, 610), (1340, 900), (-60, 900)],
        (13, 19, 32),
    )
    for (x0, y0), (x1, y1) in pairwise(_ROAD):
        near = max(0.04, ((y0 + y1) / 2 - 285) / 360)
        brush.stroke([(x0, y0), (x1, y1)], 34 * near, (58, 66, 86))
    for (x0, y0), (x1, y1) in pairwise(_ROAD):
        near = max(0.04, ((y0 + y1) / 2 - 285) / 360)
        brush.stroke([(x0, y0 - 14 * near), (x1, y1 - 14 * near)], 2.4 * near, (118, 126, 142))
    for window in range(16):
        x, y = 980 + window * 53 % 260, 436 + window * 31 % 60
        brush.glow(x, y, 10, 8, (255, 190, 100), 0.8)
        brush.oval(x, y, 1.8, 1.8, (255, 222, 160))
    for pine in range(34):
        x = pine * 97 % 1400 - 50
        base = 690 + pine * 29 % 60
        height = 70 + pine * 37 % 90
        for tier in range(4):
            width, low = height * (0.30 - 0.055 * tier), base - tier * height * 0.24
            brush.polygon(
                [(x - width, low), (x + width, low), (x, low - height * 0.46)],
                (7 + pine % 3 * 2, 12 + pine % 3 * 2, 20 + pine % 3 * 3),
            )


def _headlights(size: float):
    def draw(brush: Brush) -> None:
        brush.glow(170, 75, 168 * size, 72 * size, (255, 214, 140), 0.75)
        brush.glow(170, 75, 60 * size, 46 * size, (255, 244, 214), 1.0)
        for side in (-1, 1):
            brush.oval(170 + side * 11 * size, 75, 5.4 * size, 5 * size, (255, 252, 236))

    return draw


def _tail(brush: Brush) -> None:
    brush.glow(30, 15, 26, 14, (240, 60, 40), 0.8)


def _star(brush: Brush) -> None:
    brush.glow(5, 5, 5, 5, (236, 240, 255), 1.0)
