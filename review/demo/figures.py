"""The people in the pictures: cut-paper bodies, moved by their joints."""

from dataclasses import dataclass
from functools import partial
from math import cos, pi, sin

from review.demo.painting import Brush, Colour, Picture, Sprite, Stage

_STEPS = 12  # pictures in one round of a movement


@dataclass(frozen=True)
class Clothes:
    coat: Colour
    legs: Colour
    hat: Colour
    skin: Colour = (201, 150, 117)
    light: Colour = (232, 190, 150)  # the edge that catches the light
    hair: Colour = (112, 112, 110)
    beard: bool = True


SKIPPER = Clothes((44, 62, 84), (34, 38, 48), (178, 74, 48))
CARPENTER = Clothes((122, 74, 46), (52, 50, 54), (74, 84, 78), (186, 134, 102), (236, 178, 110), (82, 56, 44))
WINCHMAN = Clothes((196, 142, 52), (46, 54, 58), (52, 66, 84), hair=(58, 46, 42), beard=False)
APPRENTICE = Clothes((150, 62, 52), (40, 46, 60), (224, 212, 186))


class Figure:
    """Somebody on a stage, `height` units tall. Actions: stand, walk, hammer, clap, gesture, crank."""

    def __init__(self, stage: Stage, clothes: Clothes, height: float, faces_left: bool = False):
        self._stage, self._clothes, self._height, self._left = stage, clothes, height, faces_left
        self._drawn: dict[tuple[str, int], Sprite] = {}

    def put(self, picture: Picture, x: float, y: float, action: str = "stand", phase: float = 0.0) -> None:
        """Stand the figure's feet at (x, y). `phase` goes from 0 to 1 through one round of the action."""
        step = int(phase % 1 * _STEPS)
        if (action, step) not in self._drawn:
            draw = partial(self._draw, action=action, phase=step / _STEPS)
            size = self._height * 1.3
            self._drawn[action, step] = self._stage.sprite(size, size, draw, (size / 2, size * 0.96))
        self._stage.put(picture, self._drawn[action, step], x, y)

    def _draw(self, brush: Brush, action: str, phase: float) -> None:
        unit, clothes = self._height / 100, self._clothes
        side = -1 if self._left else 1
        middle, ground = self._height * 0.65, self._height * 1.25

        def at(x: float, up: float) -> tuple[float, float]:
            return middle + side * x * unit, ground - up * unit

        def limb(start: tuple[float, float], angles: tuple[float, float], lengths: tuple[float, float], width, colour):
            """Two bones hanging from `start`; angles from straight down, forwards positive. Returns the far end."""
            points = [start]
            for angle, length in zip(angles, lengths, strict=True):
                x, up = points[-1]
                points.append((x + length * sin(angle), up - length * cos(angle)))
            brush.stroke([at(*point) for point in points], width * unit, colour)
            return points[-1]

        swing = sin(2 * pi * phase)
        stride = swing * 0.55 if action == "walk" else 0.0
        bob = abs(cos(2 * pi * phase)) * 1.5 if action == "walk" else 0.0
        near_arm, far_arm = _arms(action, phase, stride)
        hip, shoulder = (0, 47 + bob), (1, 79 + bob)
        dark = tuple(int(part * 0.72) for part in clothes.coat)
        dark_legs = tuple(int(part * 0.75) for part in clothes.legs)
        brush.oval(*at(2, 0.8), 17 * unit, 2.4 * unit, (20, 22, 26))
        far_hand = limb(shoulder, far_arm, (16, 15), 7, dark)
        brush.oval(*at(*far_hand), 3.4 * unit, 3.4 * unit, clothes.skin)
        for angle, colour in ((-stride, dark_legs), (stride, clothes.legs)):
            foot = limb(hip, (angle, angle - max(0, -angle) * 0.9), (23, 22), 9.5, colour)
            brush.stroke([at(*foot), at(foot[0] + 6, foot[1] - 0.5)], 5 * unit, (28, 26, 28))
        body = [(-9, 84 + bob), (9, 84 + bob), (12, 66 + bob), (11, 40 + bob), (-10, 40 + bob), (-12, 66 + bob)]
        brush.polygon([at(*point) for point in body], clothes.coat)
        brush.oval(*at(0, 82 + bob), 10.5 * unit, 6 * unit, clothes.coat)
        edge = [(6, 86 + bob), (10, 83 + bob), (12, 66 + bob), (11, 40 + bob), (8.5, 40 + bob), (9, 66 + bob)]
        brush.polygon([at(*point) for point in edge], _towards(clothes.coat, clothes.light, 0.4))
        brush.oval(*at(1.5, 94 + bob), 7 * unit, 8.6 * unit, clothes.skin)
        brush.polygon([at(8, 95 + bob), at(10.6, 92.4 + bob), at(7.6, 91.6 + bob)], clothes.skin)
        brush.oval(*at(4.6, 93 + bob), 3.4 * unit, 7 * unit, _towards(clothes.skin, clothes.light, 0.6))
        brush.polygon([at(-6.5, 97 + bob), at(9.5, 98 + bob), at(7, 104 + bob), at(-4, 105 + bob)], clothes.hat)
        brush.oval(*at(1.2, 103 + bob), 6.4 * unit, 3.8 * unit, clothes.hat)
        hand = limb(shoulder, near_arm, (16, 15), 7.5, _towards(clothes.coat, clothes.light, 0.14))
        brush.oval(*at(*hand), 3.6 * unit, 3.6 * unit, clothes.skin)
        if action == "hammer":
            _hammer(brush, at, hand, near_arm[1], unit)
        if action == "clap":
            _clapper(brush, at, hand, phase, unit)


def _arms(action: str, phase: float, stride: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Shoulder and elbow angles of the near and the far arm."""
    if action == "hammer":
        raised = 1 - min(1.0, phase * 4) if phase < 0.25 else (phase - 0.25) / 0.75
        return (0.9 + 1.0 * raised, 1.4 + 1.5 * raised), (0.8, 1.35)
    if action == "clap":
        return (1.0, 1.75), (0.9, 1.7)
    if action == "gesture":
        return (0.5 + 0.25 * sin(2 * pi * phase), 1.9 + 0.35 * sin(2 * pi * phase)), (0.05, 0.3)
    if action == "crank":
        return (1.1 + 0.4 * sin(2 * pi * phase), 1.3 + 0.5 * cos(2 * pi * phase)), (
            1.0 + 0.4 * sin(2 * pi * phase),
            1.3,
        )
    return (-stride * 0.8, -stride * 0.8 + 0.25), (stride * 0.8, stride * 0.8 + 0.25)


def _hammer(brush: Brush, at, hand: tuple[float, float], angle: float, unit: float) -> None:
    turn = angle + 0.9
    head = hand[0] + 17 * sin(turn), hand[1] - 17 * cos(turn)
    brush.stroke([at(*hand), at(*head)], 2.6 * unit, (140, 104, 66))
    across = cos(turn) * 5, sin(turn) * 5
    brush.stroke(
        [at(head[0] - across[0], head[1] - across[1]), at(head[0] + across[0], head[1] + across[1])],
        5 * unit,
        (92, 98, 104),
    )


def _clapper(brush: Brush, at, hand: tuple[float, float], phase: float, unit: float) -> None:
    """A slate held out; its stick is open at phase 0 and shut from one half on."""
    left, top = hand[0] - 2, hand[1] + 12
    brush.polygon([at(left, top), at(left + 24, top), at(left + 24, top - 17), at(left, top - 17)], (38, 42, 46))
    for row in (5, 9, 13):
        brush.stroke([at(left + 3, top - row), at(left + 19, top - row)], 1.2 * unit, (190, 192, 186))
    opened = 0.6 * max(0.0, 1 - 2 * phase)
    for part in range(6):
        ends = [(left + 4 * part, left + 4 * part + 4)[end] - left for end in (0, 1)]
        corners = [(ends[0], 0), (ends[1], 0), (ends[1], 4), (ends[0], 4)]
        turned = [
            (left + x * cos(opened) - up * sin(opened), top + 0.5 + x * sin(opened) + up * cos(opened))
            for x, up in corners
        ]
        brush.polygon([at(*point) for point in turned], (232, 230, 220) if part % 2 else (30, 32, 36))


def _towards(colour: Colour, other: Colour, part: float) -> Colour:
    return tuple(int(a + (b - a) * part) for a, b in zip(colour, other, strict=True))
