"""The lifeboat slipway on a grey morning: boathouse, ramp, the hull on its cradle, and the crew."""

from math import atan2, cos, hypot, sin

from review.demo.figures import APPRENTICE, CARPENTER, SKIPPER, WINCHMAN, Figure
from review.demo.painting import Brush, Picture, Stage, View

VIEWS = {
    "wide": View(),
    "close": View(590, 420, 1.7),
    "low": View(660, 440, 1.3, mirror=True),
}
_HORIZON = 300
_FOOT, _HEAD = (1010, 640), (330, 415)  # the ramp, from the water to the boathouse door
_SLOPE = atan2(_HEAD[1] - _FOOT[1], _FOOT[0] - _HEAD[0])
_HAULED = 34  # stage units a second


class Slipway:
    def __init__(self, stage: Stage, beats: dict[str, float]):
        self._stage = stage
        self._beats = beats
        self._whole = stage.paint(_everything)
        self._water = stage.water(stage.paint(_sea_and_sky), self._whole, _HORIZON, 720)
        self._hull = stage.sprite(420, 300, _hull, (210, 236))
        self._wheel = [stage.sprite(26, 26, _wheel(turn), (13, 13)) for turn in range(6)]
        self._skipper = Figure(stage, SKIPPER, 150, faces_left=True)
        self._winchman = Figure(stage, WINCHMAN, 118)
        self._apprentice = Figure(stage, APPRENTICE, 172)
        self._carpenter = Figure(stage, CARPENTER, 128, faces_left=True)

    def paint(self, picture: Picture, second: float) -> None:
        picture.show(self._whole)
        self._water.swell(picture, second)
        begin, end = self._beats["haul"], self._beats["halt"]
        hauled = min(max(second, begin), end) - begin
        moving = begin <= second < end
        self._winchman.put(picture, 300, 432, "crank" if moving else "stand", second * 0.8)
        along = 300 + _HAULED * hauled
        x, y = _FOOT[0] - along * cos(_SLOPE), _FOOT[1] + along * sin(_SLOPE)
        self._stage.put(picture, self._hull, x, y)
        turn = int(along / 4) % len(self._wheel)
        for wheel in (-96, 86):
            self._stage.put(picture, self._wheel[turn], x + wheel, y - wheel * sin(_SLOPE) - 9)
        walked = min(max(second - begin + 1, 0), 6.5)
        walking = 0 < walked < 6.5
        self._carpenter.put(picture, 900 - 30 * walked, 650 - 8 * walked, "walk" if walking else "stand", second * 1.1)
        talking = second < begin - 0.5 or second > end + 1
        self._skipper.put(picture, 470, 588, "gesture" if talking else "stand", second * 0.45)
        self._clap(picture, second)

    def _clap(self, picture: Picture, second: float) -> None:
        clap = self._beats.get("clap")
        if clap is None:
            return
        after = second - clap
        if after < 1.2:
            self._apprentice.put(picture, 690, 668, "clap", min(0.99, max(0.0, (after + 0.24) / 0.24 * 0.5)))
        elif after < 7:
            self._apprentice.put(picture, 690 + 78 * (after - 1.2), 668 + 6 * (after - 1.2), "walk", second * 1.2)


def _sea_and_sky(brush: Brush) -> None:
    brush.gradient(
        -260, _HORIZON, [(128, 152, 168), (160, 178, 186), (196, 202, 198), (232, 222, 200), (242, 230, 206)]
    )
    for x, y, rx, ry, shade, strength in (
        (240, 60, 420, 60, (110, 130, 148), 0.7),
        (820, 110, 520, 46, (126, 146, 160), 0.7),
        (1120, 40, 340, 60, (222, 220, 210), 0.8),
        (560, 190, 460, 30, (246, 236, 214), 0.7),
        (1000, 230, 300, 20, (250, 240, 220), 0.7),
    ):
        brush.glow(x, y, rx, ry, shade, strength)
    brush.gradient(_HORIZON, 900, [(168, 184, 186), (108, 140, 150), (72, 112, 126), (50, 88, 104), (38, 70, 88)])
    for row in range(44):
        depth = row / 44
        y = _HORIZON + 3 + 420 * depth**1.4
        for dash in range(9):
            x = (dash * 173 + row * 89) % 1500 - 110
            length = (6 + 46 * depth) * (0.4 + (dash * 5 + row) % 7 / 7)
            shade = ((208, 214, 206), (46, 84, 100), (138, 166, 170))[(dash + row) % 3]
            brush.stroke([(x - length, y), (x + length, y)], 0.7 + 2.2 * depth, shade)


def _everything(brush: Brush) -> None:
    _sea_and_sky(brush)
    brush.polygon(
        [(640, 304), (760, 268), (870, 256), (990, 236), (1120, 246), (1340, 214), (1340, 306)], (132, 152, 158)
    )
    brush.polygon([(900, 306), (1010, 282), (1140, 270), (1340, 252), (1340, 308)], (104, 128, 130))
    brush.polygon(
        [(-60, 190), (90, 150), (240, 170), (420, 220), (560, 274), (640, 306), (706, 326), (640, 420), (-60, 520)],
        (94, 106, 88),
    )
    brush.polygon([(-60, 250), (140, 230), (330, 262), (470, 312), (560, 350), (520, 430), (-60, 560)], (118, 124, 92))
    _boathouse(brush)
    brush.polygon([(-60, 480), (250, 420), (420, 436), (620, 512), (900, 760), (-60, 760)], (134, 126, 110))
    for stone in range(70):
        x, y = (stone * 83) % 560 - 40, 500 + (stone * 57) % 230
        size = 5 + stone % 5 * 3.2
        if x < 560 - (y - 480) * 0.8:
            brush.oval(x, y, size * 1.7, size * 0.8, ((120, 114, 102), (154, 146, 130), (98, 96, 90))[stone % 3])
    (fx, fy), (hx, hy) = _FOOT, _HEAD
    brush.polygon(
        [(hx - 46, hy - 2), (hx + 52, hy - 12), (fx + 250, fy + 6), (fx + 120, fy + 120), (fx - 130, fy + 80)],
        (150, 148, 142),
    )
    brush.polygon([(hx - 46, hy - 2), (fx - 130, fy + 80), (fx - 260, 760), (hx - 66, hy + 70)], (104, 102, 100))
    for plank in range(17):
        part = plank / 16
        x, y = hx - 40 + (fx - 100 - hx) * part, hy + 2 + (fy + 62 - hy) * part
        brush.stroke([(x, y), (x + 96 + 130 * part, y - 10 - 42 * part)], 1.4 + 2.4 * part, (122, 120, 116))
    for shift, width in ((0, 4.2), (62, 3.2)):
        brush.stroke(
            [(hx - 30 + shift, hy - shift * 0.14), (fx - 92 + shift * 3, fy + 60 - shift)], width + 2, (78, 72, 70)
        )
        brush.stroke(
            [(hx - 30 + shift, hy - 3 - shift * 0.14), (fx - 92 + shift * 3, fy + 56 - shift)], 1.4, (196, 190, 178)
        )
    brush.polygon(
        [(fx + 40, fy + 8), (fx + 262, fy - 6), (fx + 320, fy + 120), (fx - 120, fy + 120), (fx - 150, fy + 84)],
        (62, 92, 104),
    )
    for x, y, length in ((940, 712, 90), (1030, 690, 120), (1120, 664, 120), (1190, 642, 70)):
        brush.stroke([(x - length, y + 6), (x, y), (x + length, y - 14)], 4, (222, 226, 218))


def _boathouse(brush: Brush) -> None:
    brush.polygon([(60, 250), (360, 232), (360, 420), (60, 466)], (86, 96, 104))
    for board in range(1, 15):
        x = 60 + board * 20
        brush.stroke([(x, 250 - board * 1.2), (x, 464 - board * 3.1)], 1.4, (72, 82, 90))
    brush.polygon([(360, 232), (412, 258), (412, 428), (360, 420)], (60, 70, 78))
    brush.polygon([(36, 254), (206, 148), (384, 228), (360, 240), (206, 170), (60, 262)], (124, 62, 52))
    brush.polygon([(206, 148), (236, 150), (432, 262), (384, 228)], (92, 46, 42))
    brush.polygon([(384, 228), (432, 262), (412, 264), (360, 238)], (92, 46, 42))
    brush.polygon([(70, 256), (206, 172), (352, 236), (352, 244), (70, 264)], (104, 112, 118))
    brush.polygon([(214, 292), (334, 286), (334, 424), (214, 442)], (26, 28, 34))
    brush.glow(276, 380, 80, 90, (206, 150, 82), 0.55)
    for x in (214, 334):
        brush.stroke([(x, 288), (x, 432 - (x - 214) * 0.1)], 6, (214, 206, 186))
    brush.box(96, 308, 164, 358, (40, 48, 56))
    brush.box(100, 312, 128, 354, (170, 186, 186))
    brush.box(132, 312, 160, 354, (150, 170, 174))


def _hull(brush: Brush) -> None:
    def tilt(points):
        middle = 210, 236
        turned = []
        for x, y in points:
            away = hypot(x - middle[0], y - middle[1])
            angle = atan2(y - middle[1], x - middle[0]) - _SLOPE
            turned.append((middle[0] + away * cos(angle), middle[1] + away * sin(angle)))
        return turned

    brush.polygon(tilt([(86, 228), (334, 228), (320, 214), (100, 214)]), (74, 66, 62))
    brush.polygon(tilt([(20, 116), (66, 122), (380, 122), (396, 130), (378, 214), (110, 218), (64, 186)]), (36, 52, 84))
    brush.polygon(tilt([(64, 186), (110, 218), (378, 214), (384, 188), (70, 186)]), (158, 58, 46))
    brush.polygon(
        tilt([(18, 112), (66, 118), (386, 118), (400, 128), (398, 134), (66, 130), (22, 122)]), (238, 232, 216)
    )
    brush.polygon(tilt([(30, 124), (66, 132), (392, 136), (390, 142), (66, 140), (36, 134)]), (222, 120, 48))
    brush.polygon(tilt([(150, 118), (164, 70), (300, 70), (322, 118)]), (226, 122, 46))
    brush.polygon(tilt([(300, 70), (322, 118), (342, 118), (312, 70)]), (180, 92, 40))
    for x in (176, 212, 248):
        brush.polygon(tilt([(x, 80), (x + 26, 80), (x + 28, 98), (x - 4, 98)]), (44, 56, 70))
        brush.polygon(tilt([(x, 80), (x + 12, 80), (x + 2, 98), (x - 4, 98)]), (116, 140, 150))
    brush.stroke(tilt([(250, 70), (250, 18)]), 4, (220, 214, 200))
    brush.stroke(tilt([(236, 30), (264, 30)]), 3, (220, 214, 200))
    brush.stroke(tilt([(250, 18), (390, 118)]), 1.2, (70, 74, 80))
    brush.stroke(tilt([(250, 18), (34, 112)]), 1.2, (70, 74, 80))
    for x in (80, 110):
        brush.stroke(tilt([(x, 118), (x - 4, 100)]), 2, (214, 208, 194))
    brush.stroke(tilt([(40, 104), (76, 100), (106, 100), (150, 104)]), 1.6, (214, 208, 194))


def _wheel(turn: int):
    def draw(brush: Brush) -> None:
        brush.oval(13, 13, 12, 12, (48, 44, 44))
        brush.oval(13, 13, 8, 8, (128, 118, 108))
        angle = turn * 3.1416 / 6
        for spoke in (angle, angle + 1.5708):
            ends = [(13 + sign * 8 * cos(spoke), 13 + sign * 8 * sin(spoke)) for sign in (-1, 1)]
            brush.stroke(ends, 2, (64, 58, 56))

    return draw
