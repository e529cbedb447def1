"""The quay, by day or at dusk: masts, lamps lit one after another, and somebody walking home along the wall."""

from math import sin

from review.demo.figures import APPRENTICE, SKIPPER, Figure
from review.demo.painting import Brush, Picture, Stage, View

VIEWS = {
    "wide": View(),
    "close": View(720, 330, 1.6),
    "low": View(560, 380, 1.25, mirror=True),
}
_WALL, _WATER = 420, 500
_LAMPS = (130, 390, 650, 910, 1170)
_APART = 0.7  # seconds from one lamp to the next


class Quay:
    """At dusk when a lamp is to be lit, by day when there is none."""

    def __init__(self, stage: Stage, beats: dict[str, float]):
        self._stage = stage
        self._first_lit = beats.get("lamp lit")
        dusk = self._first_lit is not None
        self._whole = stage.paint(lambda brush: _everything(brush, dusk))
        self._water = stage.water(stage.paint(lambda brush: _sea_and_sky(brush, dusk)), self._whole, _WATER, 720)
        self._light = stage.sprite(260, 300, _light, (130, 130))
        self._shine = [stage.sprite(90, 210, _shine(slant), (45, 0)) for slant in (-1.6, -0.6, 0.6, 1.6)]
        self._skipper = Figure(stage, SKIPPER, 128)
        self._apprentice = Figure(stage, APPRENTICE, 122, faces_left=True)

    def paint(self, picture: Picture, second: float) -> None:
        picture.show(self._whole)
        self._water.swell(picture, second)
        if self._first_lit is not None:
            for place, x in enumerate(_LAMPS):
                if second >= self._first_lit + place * _APART:
                    self._stage.put(picture, self._light, x, 236)
                    self._stage.put(picture, self._shine[int(second * 3 + place) % 4], x, _WATER + 4)
            since = second - self._first_lit
        else:
            since = second % 60 - 58
        paused = 2.5 < since < 4.5
        walked = min(since, 2.5) + max(0.0, since - 4.5)
        self._skipper.put(picture, 560 + 46 * walked, _WALL + 6, "stand" if paused else "walk", second * 1.05)
        self._apprentice.put(picture, 1010, _WALL + 5, "gesture" if paused else "stand", second * 0.4)


def _sea_and_sky(brush: Brush, dusk: bool) -> None:
    if dusk:
        brush.gradient(
            -200, _WATER, [(24, 30, 58), (46, 46, 86), (92, 66, 104), (170, 92, 100), (232, 144, 98), (250, 190, 120)]
        )
        brush.gradient(_WATER, 900, [(150, 92, 98), (84, 62, 92), (42, 42, 74), (24, 28, 54), (16, 20, 40)])
        pale, dark = (232, 150, 110), (34, 34, 64)
        brush.glow(300, 330, 700, 130, (255, 196, 128), 0.7)
    else:
        brush.gradient(-200, _WATER, [(92, 142, 178), (132, 176, 200), (178, 208, 214), (220, 228, 216)])
        brush.gradient(_WATER, 900, [(92, 148, 160), (58, 116, 136), (38, 92, 114), (28, 72, 94)])
        pale, dark = (196, 224, 222), (30, 80, 102)
        for x, y, rx in ((260, 110, 260), (760, 70, 340), (1100, 170, 240)):
            brush.glow(x, y, rx, 46, (250, 250, 244), 0.9)
    for row in range(26):
        depth = row / 26
        for dash in range(9):
            x = (dash * 187 + row * 101) % 1500 - 110
            length = (10 + 40 * depth) * (0.4 + (dash * 3 + row) % 5 / 5)
            y = _WATER + 4 + 216 * depth**1.2
            brush.stroke([(x - length, y), (x + length, y)], 1 + 2.4 * depth, pale if (dash + row) % 3 == 0 else dark)


def _everything(brush: Brush, dusk: bool) -> None:
    _sea_and_sky(brush, dusk)
    hills, houses, wall, top, ink = (
        ((74, 58, 92), (52, 44, 70), (44, 40, 58), (86, 68, 82), (26, 24, 38))
        if dusk
        else ((112, 142, 132), (206, 196, 176), (112, 110, 106), (170, 164, 152), (58, 62, 68))
    )
    brush.polygon(
        [(-60, 430), (-60, 330), (140, 262), (330, 300), (520, 352), (760, 330), (980, 280), (1340, 340), (1340, 430)],
        hills,
    )
    for house in range(12):
        x, width, height = 30 + house * 104, 62 + house * 29 % 34, 52 + house * 41 % 46
        shade = tuple(min(255, int(part * (0.86 + 0.07 * (house % 4)))) for part in houses)
        if not dusk and house % 3 == 1:
            shade = (206, 140, 112)
        brush.box(x, _WALL - height, x + width, _WALL, shade)
        roof = [(x - 6, _WALL - height), (x + width / 2, _WALL - height - 30), (x + width + 6, _WALL - height)]
        brush.polygon(roof, tuple(int(part * 0.7) for part in shade))
        glass = (250, 196, 108) if dusk and house % 3 != 1 else tuple(int(part * 0.6) for part in shade)
        for pane in range(2):
            left = x + 12 + pane * (width - 36)
            brush.box(left, _WALL - height + 14, left + 12, _WALL - height + 30, glass)
    for x, height, lean in ((240, 280, 8), (300, 220, -6), (780, 310, 6), (1060, 250, -8)):
        brush.stroke([(x, _WALL + 40), (x + lean, _WALL + 40 - height)], 4.4, ink)
        brush.stroke([(x + lean * 0.8, _WALL - height * 0.62), (x + 74, _WALL - 22)], 3.4, ink)
        brush.stroke([(x + lean, _WALL + 40 - height), (x + 92, _WALL + 20)], 1.2, ink)
        brush.stroke([(x + lean, _WALL + 40 - height), (x - 74, _WALL + 20)], 1.2, ink)
    brush.polygon([(-60, _WALL), (1340, _WALL), (1340, _WATER + 6), (-60, _WATER + 6)], wall)
    brush.box(-60, _WALL, 1340, _WALL + 14, top)
    for stone in range(40):
        x, y = stone * 71 % 1400 - 60, _WALL + 24 + stone * 17 % 60
        brush.box(x, y, x + 44, y + 3, tuple(int(part * 0.86) for part in wall))
    for x in range(20, 1300, 160):
        brush.box(x, _WALL - 14, x + 18, _WALL + 2, ink)
        brush.oval(x + 9, _WALL - 14, 13, 5, ink)
    for x in _LAMPS:
        brush.stroke([(x, _WALL), (x, 250)], 5, ink)
        brush.polygon([(x - 15, 252), (x + 15, 252), (x + 9, 222), (x - 9, 222)], ink)
        brush.polygon(
            [(x - 10, 248), (x + 10, 248), (x + 6, 227), (x - 6, 227)], (96, 92, 104) if dusk else (196, 208, 206)
        )
        brush.polygon([(x - 12, 222), (x + 12, 222), (x, 208)], ink)


def _light(brush: Brush) -> None:
    brush.glow(130, 130, 128, 128, (255, 196, 104), 0.9)
    brush.glow(130, 220, 110, 70, (255, 190, 110), 0.35)
    brush.polygon([(120, 142), (140, 142), (136, 120), (124, 120)], (255, 246, 214))


def _shine(slant: float):
    def draw(brush: Brush) -> None:
        for row in range(15):
            y = 8 + row * 13
            width = 26 - row * 1.2 + 7 * sin(row * 2.1 + slant)
            x = 45 + slant * 3 * sin(row * 1.3)
            brush.stroke([(x - width / 2, y), (x + width / 2, y)], 4.6, (255, 198, 112))

    return draw
