"""The boatbuilder's workshop: a bench by the window, ribs of a boat, and a lamp that is dark until it is lit."""

from math import pi, sin

from review.demo.figures import APPRENTICE, CARPENTER, Figure
from review.demo.painting import Brush, Picture, Stage, View

VIEWS = {
    "wide": View(),
    "close": View(560, 400, 1.75),
}
_LAMP = (600, 176)


class Workshop:
    def __init__(self, stage: Stage, beats: dict[str, float]):
        self._stage = stage
        self._beats = beats
        self._dim = stage.paint(_dim)
        self._lit = stage.paint(_lit)
        self._bench = stage.sprite(620, 44, _bench, (310, 0))
        self._carpenter = Figure(stage, CARPENTER, 330)
        self._apprentice = Figure(stage, APPRENTICE, 322, faces_left=True)
        self._mote = stage.sprite(8, 8, _mote, (4, 4))
        self._spark = stage.sprite(70, 50, _spark, (35, 40))

    def paint(self, picture: Picture, second: float) -> None:
        lit = second >= self._beats["lamp lit"]
        picture.show(self._lit if lit else self._dim)
        if lit:
            for mote in range(26):
                x = 420 + (mote * 71) % 400 + 26 * sin(0.31 * second + mote)
                y = 210 + (mote * 47 - 9 * second) % 250
                self._stage.put(picture, self._mote, x, y)
        clap = self._beats.get("clap")
        if clap is not None and second - clap < 1.4:
            self._apprentice.put(picture, 762, 640, "clap", min(0.99, max(0.0, (second - clap + 0.24) / 0.24 * 0.5)))
        elif clap is not None and second - clap < 5:
            self._apprentice.put(picture, 762 + 150 * (second - clap - 1.4), 640, "walk", second)
        since = second - self._beats.get("hammer", second + 1)
        hammering = since >= 0 and second < self._beats["rest"]
        self._carpenter.put(picture, 452, 640, "hammer" if hammering else "stand", since + 0.25)
        self._stage.put(picture, self._bench, 590, 484)
        if hammering and since % 1 < 0.08:
            self._stage.put(picture, self._spark, 596, 486)


def _dim(brush: Brush) -> None:
    brush.gradient(-100, 900, [(38, 40, 50), (52, 50, 56), (58, 52, 54), (42, 38, 42)])
    _room(brush, wall=(46, 46, 54), rib=(88, 78, 76), tool=(26, 28, 34))
    brush.glow(224, 300, 420, 360, (110, 134, 168), 0.5)
    _lamp(brush, (70, 68, 66))


def _lit(brush: Brush) -> None:
    brush.gradient(-100, 900, [(64, 44, 34), (112, 74, 46), (120, 82, 50), (62, 42, 32)])
    _room(brush, wall=(88, 60, 42), rib=(190, 136, 82), tool=(44, 32, 28))
    brush.glow(_LAMP[0], _LAMP[1] + 90, 760, 560, (255, 196, 108), 0.55)
    brush.glow(_LAMP[0], _LAMP[1] + 16, 240, 210, (255, 226, 158), 0.9)
    _lamp(brush, (255, 244, 206))


def _room(brush: Brush, wall, rib, tool) -> None:
    for plank in range(22):
        brush.stroke([(plank * 66 - 70, -40), (plank * 66 - 70, 610)], 2.4, wall)
    brush.box(-60, 606, 1340, 800, tuple(int(part * 0.8) for part in wall))
    for board in range(12):
        brush.stroke(
            [(640 + (board - 6) * 120, 606), (640 + (board - 6) * 300, 800)], 2, tuple(int(p * 0.6) for p in wall)
        )
    brush.box(96, 120, 352, 410, (40, 34, 32))
    brush.box(108, 132, 340, 398, (62, 84, 122))
    brush.polygon([(108, 300), (180, 282), (270, 306), (340, 292), (340, 398), (108, 398)], (40, 56, 88))
    brush.box(108, 348, 340, 398, (86, 110, 142))
    brush.oval(296, 176, 13, 13, (206, 214, 222))
    for x in (108, 185, 262, 340):
        brush.stroke([(x, 132), (x, 398)], 6, (40, 34, 32))
    for y in (132, 265, 398):
        brush.stroke([(108, y), (340, y)], 6, (40, 34, 32))
    brush.stroke([(400, 224), (800, 224)], 9, tool)
    for place, (x, length) in enumerate(((424, 74), (470, 96), (700, 84), (742, 66), (782, 92))):
        brush.stroke([(x, 226), (x, 226 + length)], 6, tool)
        if place % 2:
            brush.polygon([(x - 4, 226 + length * 0.5), (x + 26, 232 + length), (x - 4, 240 + length)], tool)
        else:
            brush.box(x - 17, 222 + length, x + 17, 238 + length, tool)
    for number in range(7):
        x = 880 + number * 62
        rise = 300 - number * 16
        shade = tuple(int(part * (1 - 0.07 * (6 - number))) for part in rib)
        brush.stroke([(x + 40, 640), (x - 6, 560), (x - 20, 470), (x - 4, rise + 40), (x + 26, rise)], 15, shade)
        brush.stroke(
            [(x + 36, 640), (x - 11, 560), (x - 25, 470), (x - 9, rise + 40), (x + 21, rise)], 3, _paler(shade)
        )
    brush.stroke([(850, 648), (1000, 644), (1180, 626), (1330, 596)], 22, tuple(int(part * 0.75) for part in rib))
    brush.stroke([(870, 430), (1040, 410), (1330, 352)], 9, _paler(rib))
    for x in (320, 820):
        brush.box(x, 500, x + 34, 734, tuple(int(part * 0.5) for part in rib))
    brush.box(340, 634, 840, 652, tuple(int(part * 0.4) for part in rib))


def _lamp(brush: Brush, shade) -> None:
    x, y = _LAMP
    brush.stroke([(x, -60), (x, y - 34)], 3, (24, 22, 22))
    brush.polygon([(x - 14, y - 38), (x + 14, y - 38), (x + 58, y), (x - 58, y)], (38, 60, 56))
    brush.polygon([(x + 6, y - 38), (x + 14, y - 38), (x + 58, y), (x + 36, y)], (70, 98, 88))
    brush.oval(x, y + 2, 40, 9, shade)
    brush.oval(x, y + 6, 14, 14, shade)


def _bench(brush: Brush) -> None:
    brush.polygon([(0, 18), (620, 18), (620, 44), (0, 44)], (126, 84, 50))
    brush.polygon([(0, 10), (620, 10), (620, 22), (0, 22)], (186, 132, 80))
    brush.polygon([(200, 0), (420, 0), (420, 12), (200, 12)], (214, 166, 108))
    brush.box(304, 0, 318, 8, (120, 124, 128))
    for x in (470, 492, 508, 540):
        brush.oval(x, 9, 9, 3.4, (228, 190, 136))


def _mote(brush: Brush) -> None:
    brush.glow(4, 4, 4, 4, (255, 226, 170), 0.8)


def _spark(brush: Brush) -> None:
    for ray in range(7):
        angle = pi * (0.1 + 0.8 * ray / 6)
        brush.stroke([(35, 40), (35 + 30 * (ray - 3) / 3, 40 - 34 * sin(angle))], 1.6, (255, 236, 190))


def _paler(colour):
    return tuple(min(255, int(part * 1.22)) for part in colour)
