"""Where the demo was shot: one module a place. A place is made for a stage and paints itself at a time of day."""

from typing import Protocol

from review.demo.painting import Picture, Stage, View
from review.demo.places import bay, cab, dark, portrait, quay, road, slipway, winch, workshop


class Place(Protocol):
    """Made with a stage and the moment's beats, in seconds of the day."""

    def paint(self, picture: Picture, second: float) -> None:
        """Paint the whole picture as it is at `second` of the day."""


_PLACES = {
    "bay": (bay.Bay, bay.VIEWS),
    "cab": (cab.Cab, cab.VIEWS),
    "dark": (dark.Dark, dark.VIEWS),
    "portrait": (portrait.Portrait, portrait.VIEWS),
    "quay": (quay.Quay, quay.VIEWS),
    "road": (road.Road, road.VIEWS),
    "slipway": (slipway.Slipway, slipway.VIEWS),
    "winch": (winch.Winch, winch.VIEWS),
    "workshop": (workshop.Workshop, workshop.VIEWS),
}


def make_place(name: str, stage: Stage, beats: dict[str, float]) -> Place:
    return _PLACES[name][0](stage, beats)


def view_of(name: str, view: str) -> View:
    """One of the framings of a place, such as "wide"."""
    return _PLACES[name][1][view]
