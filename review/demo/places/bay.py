"""Sea and sky at first light: headlands, swell, gulls, and a post that one of them lands on."""

from math import sin

from review.demo.painting import Brush, Picture, Stage, View

VIEWS = {
    "wide": View(),
    "close": View(855, 400, 2.1),
    "low": View(660, 395, 1.25, mirror=True),
}
_HORIZON = 372
_POST = (860, 418)


class Bay:
    def __init__(self, stage: Stage, beats: dict[str, float]):
        self._stage = stage
        self._lands = beats["gull lands"]
        self._whole = stage.paint(_everything)
        self._water = stage.water(stage.paint(_sea_and_sky), self._whole, _HORIZON, 720)
        self._gulls = [stage.sprite(64, 44, _gull(lift), (32, 24)) for lift in (15, 9, 2, -5, -9, -5, 2, 9)]
        self._sitting = stage.sprite(44, 34, _sitting_gull, (20, 31))
        self._boat = stage.sprite(60, 44, _boat, (30, 36))

    def paint(self, picture: Picture, second: float) -> None:
        picture.show(self._whole)
        self._water.swell(picture, second)
        until = second - self._lands
        self._stage.put(picture, self._boat, 430 + 3.2 * until, _HORIZON + 20 + 1.6 * sin(1.3 * second))
        for bird, (x, y, speed, beat) in enumerate(((300, 150, 34, 2.3), (560, 225, 26, 2.9), (980, 170, -22, 2.6))):
            along = (x + speed * (until + 14)) % 1500 - 100
            self._fly(picture, along, y + 16 * sin(0.7 * second + 2 * bird), beat * second)
        if until >= 0:
            self._stage.put(picture, self._sitting, *_POST)
        else:
            far = min(1.0, -until / 3.5)
            height = _POST[1] - 14 - 150 * far**1.5 + 6 * sin(4 * until) * far
            self._fly(picture, _POST[0] + 330 * far, height, 3.2 * second if until < -0.4 else 0.25)

    def _fly(self, picture: Picture, x: float, y: float, beat: float) -> None:
        self._stage.put(picture, self._gulls[int(beat % 1 * len(self._gulls))], x, y)


def _sea_and_sky(brush: Brush) -> None:
    brush.gradient(-200, _HORIZON, [(34, 48, 76), (62, 74, 106), (126, 106, 126), (206, 140, 112), (246, 198, 138)])
    brush.glow(800, _HORIZON - 12, 560, 330, (255, 206, 140), 0.85)
    for x, y, rx, ry, shade in (
        (250, 120, 340, 26, (92, 90, 122)),
        (980, 190, 380, 22, (176, 124, 124)),
        (520, 232, 300, 14, (222, 154, 128)),
        (90, 262, 220, 12, (206, 148, 128)),
    ):
        brush.glow(x, y, rx, ry, shade, 0.9)
    brush.oval(800, _HORIZON - 20, 34, 34, (255, 238, 196))
    brush.gradient(
        _HORIZON, 900, [(172, 126, 112), (84, 96, 112), (44, 68, 88), (26, 48, 66), (18, 36, 52), (14, 28, 42)]
    )
    brush.glow(800, _HORIZON + 30, 300, 240, (255, 200, 140), 0.6)
    for row in range(42):
        depth = row / 42
        y = _HORIZON + 3 + 345 * depth**1.5
        for dash in range(11):
            spread = (30 + 330 * depth) * ((dash * 37 + row * 23) % 41 / 20 - 1)
            length = (6 + 40 * depth) * (0.4 + (dash * 13 + row * 7) % 10 / 12)
            warm = max(0.0, 1 - abs(spread) / (60 + 300 * depth))
            shade = tuple(int(a + (b - a) * warm) for a, b in zip((72, 96, 112), (255, 214, 156), strict=True))
            brush.stroke([(800 + spread - length, y), (800 + spread + length, y)], 0.8 + 2.4 * depth, shade)
        for dash in range(7):
            x = (dash * 211 + row * 97) % 1400 - 60
            length = (8 + 46 * depth) * (0.5 + (dash + row) % 4 / 4)
            brush.stroke([(x - length, y + 3), (x + length, y + 3)], 0.8 + 2.6 * depth, (36 + 16 * (row % 2), 66, 86))


def _everything(brush: Brush) -> None:
    _sea_and_sky(brush)
    brush.polygon(
        [(-60, 372), (-60, 300), (60, 286), (150, 302), (260, 330), (380, 352), (470, 368), (500, 373)], (112, 92, 106)
    )
    brush.polygon([(-60, 378), (-60, 330), (40, 318), (120, 334), (210, 356), (290, 378)], (66, 66, 86))
    brush.polygon([(1340, 376), (1340, 306), (1240, 312), (1150, 338), (1040, 362), (960, 375)], (134, 98, 102))
    for x, lean, height in ((852, -4, 0), (930, 5, 34), (1012, -3, 58), (1100, 6, 96)):
        top = 414 + height
        brush.polygon([(x + lean, top), (x + 17 + lean, top), (x + 20, 720), (x - 4, 720)], (34, 34, 42))
        brush.polygon([(x + lean, top), (x + 5 + lean, top), (x + 2, 720), (x - 4, 720)], (112, 82, 74))
        brush.oval(x + 8.5 + lean, top, 9, 3, (128, 96, 84))
    brush.polygon([(-60, 720), (-60, 610), (70, 592), (190, 628), (300, 662), (400, 720)], (22, 26, 36))
    brush.polygon([(-60, 720), (-60, 640), (90, 622), (160, 660), (220, 720)], (32, 36, 46))


def _gull(lift: float):
    def draw(brush: Brush) -> None:
        for side, shade in ((-1, (206, 206, 208)), (1, (240, 236, 228))):
            elbow, tip = (32 + side * 13, 24 - lift * 0.9), (32 + side * 29, 24 - lift * 0.55 + 3)
            brush.polygon(
                [(32 - 5, 24), (32 + 6, 24), (elbow[0] + 3, elbow[1] + 1.5), tip, (elbow[0], elbow[1] - 2.5)], shade
            )
            brush.stroke([elbow, tip], 1.6, (92, 92, 100))
        brush.oval(32, 25, 10, 4, (246, 242, 232))
        brush.oval(24, 23.5, 4, 3.2, (246, 242, 232))
        brush.polygon([(20.5, 23), (15, 25), (20.5, 25.5)], (220, 160, 66))

    return draw


def _sitting_gull(brush: Brush) -> None:
    for x in (19, 23):
        brush.stroke([(x, 24), (x, 31)], 1.2, (214, 150, 70))
    brush.polygon([(10, 16), (22, 12), (42, 22), (24, 26), (12, 24)], (236, 230, 222))
    brush.polygon([(18, 15), (43, 23), (24, 23)], (132, 134, 146))
    brush.oval(12, 10, 6, 5.4, (246, 240, 230))
    brush.polygon([(9, 10), (17, 12), (18, 20), (9, 20)], (246, 240, 230))
    brush.polygon([(7, 9.5), (0, 11.5), (7, 12.5)], (224, 160, 60))
    brush.oval(10.4, 8.8, 1, 1, (30, 30, 34))


def _boat(brush: Brush) -> None:
    brush.polygon([(4, 28), (56, 26), (48, 38), (12, 38)], (40, 42, 56))
    brush.polygon([(18, 28), (18, 18), (32, 18), (34, 27)], (94, 80, 84))
    brush.stroke([(38, 27), (38, 2)], 1.6, (40, 42, 56))
    brush.polygon([(39, 5), (39, 24), (53, 24)], (150, 96, 84))
