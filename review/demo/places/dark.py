"""The lens covered."""

from review.demo.painting import Picture, Stage, View

VIEWS = {"wide": View()}


class Dark:
    def __init__(self, stage: Stage, beats: dict[str, float]):
        self._black = Picture(stage.width, stage.height)

    def paint(self, picture: Picture, second: float) -> None:
        picture.show(self._black)
