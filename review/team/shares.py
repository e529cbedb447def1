"""Pieces of footage, the loggers who are to watch them, and their shares as these are being made, for splitting."""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Piece:
    """Footage that one logger is to watch, `seconds` long. Pieces of a split come in the order of watching."""

    key: Hashable
    seconds: float
    group: tuple[str, ...] = ()  # what it belongs to, the widest first: story, day, camera
    urgent: bool = False  # is given before others where there is more than can be given
    clip: Hashable = None
    second: bool = False  # a second look: not for who is given first looks at the same clip
    barred: frozenset[str] = frozenset()  # who may not have it
    holder: str = ""  # who has it now, and keeps it where that is as good


@dataclass(frozen=True)
class Hands:
    """A logger, the hours that they have (more than none), and what they hold already, in seconds."""

    name: str
    hours: float
    held: float = 0.0
    home: Mapping[tuple[str, ...], float] = field(default_factory=dict)  # group -> seconds they watched or hold


@dataclass
class Shares:
    """Who gets what, and what nobody gets. Pieces that were cut are in it as their parts."""

    given: dict[str, list[Piece]]
    left: list[Piece] = field(default_factory=list)


# Cuts a piece near `at` seconds from its start, between `low` and `high`; None where that cannot be.
Cut = Callable[[Piece, float, float, float], tuple[Piece, Piece] | None]


def level(total: float, loggers: Sequence[Hands]) -> float:
    """The ratio that loggers would have with `total` seconds poured among them; who holds more gets none of it."""
    poured, hours = total, 0.0
    rising = sorted(loggers, key=lambda each: each.held / each.hours)
    for at, each in enumerate(rising):
        poured, hours = poured + each.held, hours + each.hours
        reached = poured / hours
        if at + 1 == len(rising) or reached <= rising[at + 1].held / rising[at + 1].hours:
            return reached
    return 0.0


def in_order(chosen: Sequence[Piece], pieces: Sequence[Piece]) -> list[Piece]:
    """In the order that they came in. The parts of one that was cut keep theirs, where the cutter names the clip."""
    place = {piece.key: at for at, piece in enumerate(pieces)}
    by_clip = {piece.clip: at for at, piece in reversed(list(enumerate(pieces)))}
    return sorted(chosen, key=lambda each: (place.get(each.key, by_clip.get(each.clip, len(place))), str(each.key)))


class Desk:
    """The shares as they are being made."""

    def __init__(self, loggers: Sequence[Hands], level_: float):
        self.hands = {each.name: each for each in loggers}
        self.level = level_
        self.given: dict[str, list[Piece]] = {each.name: [] for each in loggers}
        self.load = {each.name: each.held for each in loggers}
        self.left: list[Piece] = []
        self._looks: dict[str, dict[Hashable, list[int]]] = {each.name: {} for each in loggers}
        self._groups: dict[str, dict[tuple, int]] = {each.name: {} for each in loggers}
        self._home = {
            each.name: {group[:depth] for group in each.home for depth in range(1, len(group) + 1)} for each in loggers
        }

    @property
    def longest(self) -> float:
        return max((self.ratio(name) for name, theirs in self.given.items() if theirs), default=0.0)

    def ratio(self, name: str, more: float = 0.0) -> float:
        return (self.load[name] + more) / self.hands[name].hours

    def need(self, name: str) -> float:
        return self.level * self.hands[name].hours - self.load[name]

    def may(self, name: str, piece: Piece) -> bool:
        return name not in piece.barred and not self._looks[name].get(piece.clip, (0, 0))[not piece.second]

    def give(self, name: str, piece: Piece) -> None:
        self._count(name, piece, 1)
        self.given[name].append(piece)

    def take(self, name: str, piece: Piece) -> None:
        self._count(name, piece, -1)
        self.given[name].remove(piece)

    def _count(self, name: str, piece: Piece, by: int) -> None:
        self.load[name] += by * piece.seconds
        if piece.clip is not None:
            self._looks[name].setdefault(piece.clip, [0, 0])[piece.second] += by
        for depth in range(1, len(piece.group) + 1):
            part = piece.group[:depth]
            self._groups[name][part] = self._groups[name].get(part, 0) + by

    def nearness(self, name: str, group: tuple[str, ...]) -> int:
        """How far a group is what somebody has, or is at home in: 0 for not at all, up to its whole length."""
        for depth in range(len(group), 0, -1):
            part = group[:depth]
            if self._groups[name].get(part) or part in self._home[name]:
                return depth
        return 0

    def longest_first(self, pieces: Iterable[Piece]) -> None:
        for piece in sorted(pieces, key=lambda each: -each.seconds):
            able = [name for name in self.hands if self.may(name, piece)]
            if not able:
                self.left.append(piece)
                continue
            self.give(min(able, key=lambda name: self.ratio(name, piece.seconds)), piece)

    def shares(self, pieces: Sequence[Piece]) -> Shares:
        return Shares({name: in_order(theirs, pieces) for name, theirs in self.given.items()}, self.left)
