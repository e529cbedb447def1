"""Somebody sits and tells: head and shoulders before a soft background, breathing, talking, sometimes a hand."""

from math import sin

from review.demo.figures import CARPENTER, SKIPPER, WINCHMAN, Clothes
from review.demo.painting import Brush, Picture, Stage, View
from review.demo.voices import talking

VIEWS = {
    "wide": View(),
    "close": View(660, 330, 1.25, mirror=True),
}
_HEAD = (700, 318)


class Portrait:
    """`beats` names the sitter: the one whose gesture it is decides clothes and room by the hour."""

    def __init__(self, stage: Stage, beats: dict[str, float]):
        self._stage = stage
        self._gesture = beats["gesture"]
        hour = self._gesture / 3600
        clothes, room = (WINCHMAN, _night) if hour > 18 else (CARPENTER, _shop) if hour > 9 else (SKIPPER, _window)
        self._room = stage.paint(room)
        self._body = stage.sprite(760, 420, lambda brush: _body(brush, clothes), (380, 0))
        self._heads = [
            [
                stage.sprite(320, 400, lambda brush, m=mouth, e=eyes: _head(brush, clothes, m, e), (160, 330))
                for eyes in (0, 1)
            ]
            for mouth in range(3)
        ]
        self._hand = stage.sprite(200, 300, lambda brush: _hand(brush, clothes), (100, 60))

    def paint(self, picture: Picture, second: float) -> None:
        picture.show(self._room)
        breath = 3 * sin(1.5 * second)
        self._stage.put(picture, self._body, 700, 440 + breath)
        speaking = talking(second, voice=1)
        nod = 4 * sin(2.3 * second) * speaking + breath * 0.7
        mouth = int((0.5 + 0.5 * sin(27 * second) * sin(9 * second + 1)) * 2.99) if speaking > 0.3 else 0
        blink = second % 3.7 < 0.13
        self._stage.put(picture, self._heads[mouth][blink], _HEAD[0] + 6 * sin(0.6 * second), 470 + nod)
        since = second - self._gesture
        if -0.6 < since < 3.6:
            raised = min(1.0, (since + 0.6) / 0.6, (3.6 - since) / 0.6)
            sway = 12 * sin(5 * second) * raised
            self._stage.put(picture, self._hand, 470 + sway, 760 - 270 * raised + 0.6 * sway)


def _window(brush: Brush) -> None:
    brush.gradient(-100, 900, [(70, 82, 88), (96, 104, 102), (80, 78, 74)])
    brush.box(80, -20, 470, 470, (58, 52, 48))
    brush.box(100, -20, 450, 450, (206, 218, 214))
    brush.box(100, 250, 450, 450, (122, 156, 166))
    brush.polygon([(100, 250), (220, 214), (340, 236), (450, 220), (450, 262), (100, 268)], (120, 134, 126))
    for x in (100, 275, 450):
        brush.stroke([(x, -20), (x, 450)], 14, (58, 52, 48))
    brush.box(930, 120, 1240, 140, (64, 52, 44))
    for place, shade in enumerate(((150, 66, 52), (60, 84, 104), (196, 158, 96), (84, 104, 84), (122, 82, 60))):
        brush.box(950 + place * 54, 30 + place % 2 * 14, 990 + place * 54, 120, shade)
    brush.box(930, 320, 1240, 340, (64, 52, 44))
    brush.oval(1060, 270, 44, 50, (178, 130, 72))
    brush.blur(13)
    brush.glow(270, 200, 620, 520, (232, 238, 230), 0.35)


def _shop(brush: Brush) -> None:
    brush.gradient(-100, 900, [(56, 42, 36), (104, 74, 50), (66, 46, 36)])
    for rib in range(6):
        x = 60 + rib * 90
        brush.stroke([(x + 60, 720), (x, 520), (x - 10, 330), (x + 40, 120 + rib * 14)], 26, (158, 110, 66))
    brush.stroke([(0, 420), (600, 380)], 16, (196, 144, 88))
    brush.box(900, 120, 1260, 134, (40, 32, 30))
    for x, length in ((930, 150), (1000, 110), (1080, 170), (1160, 130)):
        brush.box(x, 130, x + 14, 130 + length, (46, 38, 34))
        brush.box(x - 20, 120 + length, x + 34, 150 + length, (70, 62, 56))
    brush.oval(1060, 60, 120, 26, (46, 84, 76))
    brush.oval(1060, 78, 70, 22, (255, 236, 184))
    brush.blur(13)
    brush.glow(1060, 110, 520, 460, (255, 200, 116), 0.6)


def _night(brush: Brush) -> None:
    brush.gradient(-100, 900, [(10, 14, 28), (20, 28, 46), (30, 34, 44), (16, 18, 26)])
    for light in range(26):
        x, y = light * 197 % 1280, 60 + light * 83 % 420
        size = 10 + light % 5 * 7
        shade = ((255, 190, 104), (210, 224, 255), (255, 120, 90))[light % 3]
        brush.glow(x, y, size * 2, size * 2, shade, 0.5)
        brush.oval(x, y, size * 0.7, size * 0.7, tuple(int(part * 0.7) for part in shade))
    brush.blur(7)
    brush.stroke([(-60, 40), (90, 0), (240, 720)], 60, (8, 10, 14))
    brush.glow(420, 700, 520, 360, (90, 180, 150), 0.35)


def _body(brush: Brush, clothes: Clothes) -> None:
    coat, light = clothes.coat, clothes.light
    shade = tuple(int(part * 0.74) for part in coat)
    brush.polygon([(300, 70), (470, 70), (620, 120), (700, 230), (740, 420), (20, 420), (60, 230), (150, 118)], coat)
    brush.oval(150, 190, 100, 90, coat)
    brush.oval(610, 190, 100, 90, coat)
    brush.polygon([(300, 70), (150, 118), (60, 230), (20, 420), (220, 420), (250, 220)], shade)
    brush.polygon([(620, 120), (700, 230), (740, 420), (690, 420), (650, 240), (590, 130)], _mix(coat, light, 0.5))
    for row in range(4):
        y = 205 + row * 26
        for stitch in range(17):
            x = 268 + stitch * 22 + row % 2 * 11
            brush.polygon(
                [(x, y), (x + 7, y + 9), (x, y + 18), (x - 7, y + 9)], _mix(coat, (236, 226, 204), 0.5 - row * 0.09)
            )
    brush.polygon(
        [(318, 10), (442, 10), (462, 96), (380, 150), (298, 96)], tuple(int(part * 0.8) for part in clothes.skin)
    )
    brush.polygon(
        [(286, 62), (330, 52), (380, 110), (430, 52), (474, 62), (486, 118), (382, 176), (274, 118)],
        _mix(coat, (0, 0, 0), 0.25),
    )
    brush.polygon([(286, 62), (330, 52), (380, 110), (382, 150), (274, 100)], _mix(coat, light, 0.14))


def _head(brush: Brush, clothes: Clothes, mouth: int, shut: int) -> None:
    skin, light = clothes.skin, clothes.light
    shade = _mix(skin, (60, 34, 40), 0.3)
    hair = clothes.hair
    brush.oval(58, 206, 20, 32, shade)
    brush.oval(262, 206, 20, 32, _mix(skin, light, 0.4))
    brush.oval(160, 190, 106, 128, skin)
    brush.polygon([(56, 180), (264, 180), (250, 270), (206, 330), (160, 342), (114, 330), (70, 270)], skin)
    brush.polygon([(56, 180), (98, 176), (104, 270), (134, 338), (114, 330), (70, 270)], shade)
    brush.polygon([(264, 180), (250, 270), (206, 330), (184, 338), (226, 262), (236, 180)], _mix(skin, light, 0.75))
    if clothes.beard:
        brush.polygon(
            [
                (62, 224),
                (86, 240),
                (112, 262),
                (160, 250),
                (208, 262),
                (234, 240),
                (258, 224),
                (252, 290),
                (206, 350),
                (160, 364),
                (114, 350),
                (68, 290),
            ],
            hair,
        )
        brush.polygon(
            [(160, 250), (208, 262), (234, 240), (258, 224), (252, 290), (206, 350), (190, 354), (214, 290)],
            _mix(hair, light, 0.35),
        )
    brush.oval(160, 287, 30, 6 + 5 * mouth, (86, 38, 40))
    if mouth:
        brush.polygon(
            [(138, 282 - 3 * mouth), (182, 282 - 3 * mouth), (176, 288 - 2 * mouth), (144, 288 - 2 * mouth)],
            (236, 226, 210),
        )
    if clothes.beard:
        brush.polygon(
            [(116, 276 - 3 * mouth), (160, 262 - mouth), (204, 276 - 3 * mouth), (160, 281 - 4 * mouth)],
            _mix(hair, (0, 0, 0), 0.18),
        )
    brush.polygon([(152, 186), (166, 186), (188, 246), (170, 256), (140, 252)], _mix(skin, light, 0.35))
    brush.polygon([(152, 186), (140, 252), (160, 256), (158, 200)], shade)
    for x in (114, 206):
        if shut:
            brush.stroke([(x - 14, 194), (x, 198), (x + 14, 194)], 3.6, _mix(shade, (40, 24, 26), 0.5))
        else:
            brush.oval(x, 193, 15, 8.5, (240, 234, 222))
            brush.oval(x + 1, 193, 7.6, 8, (62, 78, 84))
            brush.oval(x + 1, 193, 3.8, 4.2, (22, 20, 24))
            brush.oval(x + 4, 190, 1.8, 1.8, (255, 255, 250))
            brush.stroke([(x - 16, 189), (x, 184), (x + 16, 189)], 3.6, _mix(shade, (40, 24, 26), 0.5))
        brush.stroke([(x - 21, 172), (x, 164), (x + 21, 171)], 8, hair)
    brush.polygon([(46, 156), (52, 96), (90, 48), (160, 30), (230, 48), (268, 96), (274, 156), (160, 136)], clothes.hat)
    brush.polygon([(230, 48), (268, 96), (274, 156), (244, 148), (238, 96), (214, 42)], _mix(clothes.hat, light, 0.4))
    brush.stroke([(50, 152), (104, 138), (160, 133), (216, 138), (270, 152)], 30, _mix(clothes.hat, (0, 0, 0), 0.16))
    for rib in range(15):
        x = 54 + rib * 15.2
        y = 148 - 14 * (1 - ((x - 160) / 106) ** 2)
        brush.stroke([(x, y - 11), (x, y + 11)], 2.4, _mix(clothes.hat, (0, 0, 0), 0.34))


def _hand(brush: Brush, clothes: Clothes) -> None:
    skin = _mix(clothes.skin, clothes.light, 0.2)
    brush.polygon([(62, 150), (140, 146), (176, 300), (60, 300)], _mix(clothes.coat, (0, 0, 0), 0.12))
    brush.stroke([(64, 152), (138, 148)], 18, _mix(clothes.coat, clothes.light, 0.2))
    brush.oval(100, 112, 42, 46, skin)
    for x, y in ((66, 44), (90, 24), (114, 26), (136, 46)):
        brush.stroke([(84 + (x - 66) * 0.5, 100), (x, y)], 19, skin)
    brush.stroke([(68, 120), (40, 88)], 20, skin)
    brush.stroke([(78, 124), (104, 134), (126, 122)], 3, _mix(skin, (60, 34, 40), 0.4))


def _mix(colour, other, part: float):
    return tuple(int(a + (b - a) * part) for a, b in zip(colour, other, strict=True))
