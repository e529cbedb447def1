"""Who has watched and skimmed which frames of one clip, as arithmetic on ranges: no Django here."""

from collections.abc import Iterable
from itertools import chain

from review import frames
from review.frames import FrameRange

Ranges = list[tuple[int, int]]


class Seen:
    """The ranges that people saw of a clip of `length` frames; what lies beyond its end does not count.

    `rows` are (person, skimmed, in_frame, out_frame), a person being anything that can be a key.
    """

    def __init__(self, length: int, rows: Iterable[tuple[int, bool, int, int]] = ()):
        self.length = length
        self._watched: dict[int, Ranges] = {}
        self._skimmed: dict[int, Ranges] = {}
        for person, skimmed, start, end in rows:
            self.add(person, skimmed, [(start, end)])

    def add(self, person: int, skimmed: bool, ranges: Iterable[tuple[int, int]]) -> None:
        kept = (self._skimmed if skimmed else self._watched).setdefault(person, [])
        kept += [(start, min(end, self.length)) for start, end in ranges]

    @property
    def people(self) -> list[int]:
        return sorted({*self._watched, *self._skimmed})

    def watched(self, person: int | None = None) -> list[FrameRange]:
        """What somebody watched; of one person if given."""
        return frames.union(_of(self._watched, person))

    def skimmed(self, person: int | None = None) -> list[FrameRange]:
        """What somebody skimmed and nobody watched; of one person if given, what she did not watch herself."""
        return frames.subtract(_of(self._skimmed, person), self.watched(person))

    def anybody(self) -> list[FrameRange]:
        """What was on anybody's screen."""
        return frames.union(chain(_of(self._watched, None), _of(self._skimmed, None)))

    def unwatched(self) -> dict[FrameRange, bool]:
        """The stretches that nobody watched, and whether somebody skimmed them."""
        stretches = dict.fromkeys(self.skimmed(), True)
        stretches.update(dict.fromkeys(frames.gaps(self.anybody(), self.length), False))
        return stretches

    def twice(self) -> list[FrameRange]:
        """What two people or more watched."""
        return at_least_two(self._watched.values())


def _of(kept: dict[int, Ranges], person: int | None) -> Iterable[tuple[int, int]]:
    return chain.from_iterable(kept.values()) if person is None else kept.get(person, ())


def at_least_two(everybodys: Iterable[Ranges]) -> list[FrameRange]:
    """The frames that are in the ranges of at least two people.

    Somebody's own ranges are joined first; then each end of a range raises or lowers how many people are there:

        one      |-----------|
        another        |----------|
        count    1     2     1    0
    """
    joined = [each for ranges in everybodys for each in frames.union(ranges)]
    ends = sorted([(start, 1) for start, _ in joined] + [(stop, -1) for _, stop in joined])
    found: Ranges = []
    here, since = 0, 0
    for at, step in ends:
        if here < 2 <= here + step:
            since = at
        elif here >= 2 > here + step:
            found.append((since, at))
        here += step
    return frames.union(found)
