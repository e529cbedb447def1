"""The winch house: a drum winding cable, a great toothed wheel, and the man at the crank."""

from math import cos, pi, sin

from review.demo.figures import WINCHMAN, Figure
from review.demo.painting import Brush, Picture, Stage, View

VIEWS = {
    "wide": View(),
    "close": View(660, 400, 1.55),
}
_AXLE = (760, 400)
_TURNS = 0.22  # of the drum, a second
_STEPS = 10  # pictures from one tooth to the next
_TEETH = 24


class Winch:
    def __init__(self, stage: Stage, beats: dict[str, float]):
        self._stage = stage
        self._beats = beats
        self._room = stage.paint(_room)
        self._wheel = [stage.sprite(400, 400, _wheel(step / _STEPS), (200, 200)) for step in range(_STEPS)]
        self._drum = [stage.sprite(260, 240, _drum(step / 6), (250, 120)) for step in range(6)]
        self._cable = [stage.sprite(560, 60, _cable(step / 6), (560, 40)) for step in range(6)]
        self._handle = [stage.sprite(150, 150, _handle(step / 16), (75, 75)) for step in range(16)]
        self._winchman = Figure(stage, WINCHMAN, 380, faces_left=True)

    def paint(self, picture: Picture, second: float) -> None:
        picture.show(self._room)
        begin, end = self._beats["haul"], self._beats["halt"]
        turned = _TURNS * (min(max(second, begin), end) - begin)
        rounds = turned * 4  # of the crank
        self._stage.put(picture, self._cable[int(turned * 40) % 6], 540, 322)
        self._stage.put(picture, self._drum[int(turned * 40) % 6], _AXLE[0] - 50, _AXLE[1])
        self._stage.put(picture, self._wheel[int(turned * _TEETH * _STEPS) % _STEPS], *_AXLE)
        self._winchman.put(picture, 1112, 700, "crank" if begin <= second < end else "stand", rounds)
        self._stage.put(picture, self._handle[int(rounds * 16) % 16], 990, 430)


def _room(brush: Brush) -> None:
    brush.gradient(-100, 900, [(54, 66, 72), (84, 98, 100), (96, 106, 102), (62, 66, 66)])
    for course in range(13):
        y = course * 56 - 20
        brush.stroke([(-60, y), (1340, y)], 2, (66, 78, 82))
        for stone in range(15):
            x = stone * 104 + course % 2 * 52 - 60
            brush.stroke([(x, y), (x, y + 56)], 2, (66, 78, 82))
    brush.box(-60, 110, 250, 520, (44, 40, 38))
    brush.box(-60, 126, 234, 504, (206, 216, 210))
    brush.polygon([(-60, 330), (60, 312), (160, 326), (234, 318), (234, 504), (-60, 504)], (120, 150, 156))
    brush.polygon([(-60, 326), (70, 296), (150, 320), (-60, 340)], (110, 128, 124))
    for y, length in ((360, 80), (392, 130), (430, 100), (470, 150)):
        brush.stroke([(60 - length / 2, y), (60 + length / 2, y)], 2.4, (196, 210, 206))
    brush.polygon([(234, 126), (620, 620), (-60, 900), (-60, 504), (234, 504)], (104, 116, 114))
    brush.glow(150, 330, 620, 520, (226, 232, 220), 0.42)
    brush.polygon([(-60, 640), (1340, 600), (1340, 900), (-60, 900)], (60, 56, 54))
    for board in range(9):
        brush.stroke([(board * 190 - 60, 640 - board * 5), (board * 260 - 300, 900)], 2.4, (46, 42, 42))
    for x in (560, 860):
        brush.polygon([(x - 26, 390), (x + 26, 390), (x + 74, 660), (x - 74, 660)], (46, 58, 62))
        brush.polygon([(x - 26, 390), (x - 12, 390), (x - 44, 660), (x - 74, 660)], (92, 110, 112))
    brush.box(440, 650, 1010, 684, (38, 44, 48))
    brush.box(440, 650, 1010, 657, (92, 106, 108))
    brush.stroke([(760, 400), (1000, 430)], 14, (70, 78, 80))


def _wheel(step: float):
    def draw(brush: Brush) -> None:
        tooth = 2 * pi / _TEETH
        for number in range(_TEETH):
            angle = (number + step) * tooth
            ends = [(200 + r * cos(angle), 200 + r * sin(angle)) for r in (158, 186)]
            brush.stroke(ends, 15, (52, 62, 66))
        brush.oval(200, 200, 172, 172, (62, 74, 78))
        brush.oval(200, 200, 164, 164, (106, 122, 122))
        brush.oval(200, 200, 156, 156, (62, 74, 78))
        for number in range(_TEETH):
            angle = (number + step) * tooth
            x, y = 200 + 146 * cos(angle), 200 + 146 * sin(angle)
            brush.oval(x, y, 4.6, 4.6, (150, 164, 160))
        brush.oval(200, 200, 134, 134, (48, 56, 60))
        for spoke in range(_TEETH):
            angle = (spoke + step) * tooth
            brush.stroke([(200 + r * cos(angle), 200 + r * sin(angle)) for r in (40, 136)], 8, (82, 96, 98))
            brush.stroke([(200 + r * cos(angle) - 2, 200 + r * sin(angle) - 3) for r in (40, 136)], 3, (128, 142, 140))
        brush.oval(200, 200, 48, 48, (74, 88, 90))
        brush.oval(200, 200, 26, 26, (196, 148, 68))
        brush.oval(196, 195, 12, 12, (236, 200, 120))

    return draw


def _drum(step: float):
    def draw(brush: Brush) -> None:
        brush.box(10, 50, 250, 190, (96, 76, 56))
        for wrap in range(13):
            x = 22 + wrap * 17
            brush.stroke([(x, 56), (x + 7, 184)], 13, (70, 66, 62))
            for strand in range(7):
                y = 58 + ((strand + step) * 19) % 128
                brush.stroke([(x - 3, y), (x + 9, y + 8)], 3.4, (164, 156, 140))
        brush.box(10, 50, 250, 66, (128, 120, 108))
        brush.box(10, 170, 250, 190, (40, 38, 38))
        for x in (12, 248):
            brush.stroke([(x, 24), (x, 216)], 17, (58, 70, 74))
            brush.stroke([(x - 4, 24), (x - 4, 216)], 4, (118, 132, 132))

    return draw


def _cable(step: float):
    def draw(brush: Brush) -> None:
        brush.stroke([(0, 10), (556, 40)], 9, (62, 60, 58))
        for strand in range(38):
            x = (strand + step) * 15 - 10
            if 4 < x < 548:
                y = 10 + x * 30 / 556
                brush.stroke([(x, y + 3), (x + 7, y - 3)], 2.6, (172, 164, 148))

    return draw


def _handle(turn: float):
    def draw(brush: Brush) -> None:
        angle = 2 * pi * turn
        x, y = 75 + 56 * cos(angle), 75 + 56 * sin(angle)
        brush.stroke([(75, 75), (x, y)], 13, (64, 74, 78))
        brush.oval(75, 75, 15, 15, (92, 106, 108))
        brush.oval(x, y, 12, 12, (176, 116, 62))

    return draw
