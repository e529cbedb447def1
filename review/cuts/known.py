"""Clips that an event of a cut list may be of, grouped so that those at a timecode are found at once."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from review.cuts.ranges import SourceRange
from review.cuts.reels import spellings
from review.timecode import Timebase

_MOST_UNTIMED = 500  # clips without timecode that are looked at one by one


@dataclass(frozen=True)
class KnownClip:
    """`start` is the frame since midnight of its first frame; `files` are paths below the card folder."""

    id: int
    card_id: int
    card: str
    reel: str
    name: str
    files: tuple[str, ...]
    timebase: Timebase
    start: int
    frames: int
    source_timecode: bool = True

    @cached_property
    def names(self) -> frozenset[str]:
        """Its name and its files', as `reels.plain` writes them."""
        return frozenset(form for name in (self.name, *self.files) for form in forms(name))

    def label(self, frame: int) -> str:
        return self.timebase.label(self.start + frame)


def forms(name: str) -> list[str]:
    """A name or path as it is compared: its last part whole, and without what follows the last dot; as it stands
    first, and then as EDLs spell it."""
    last = name.replace("\\", "/").rpartition("/")[2]
    stem = last.rpartition(".")[0]
    in_order = (written for way in zip(spellings(last), spellings(stem), strict=True) for written in way)
    return [written for written in dict.fromkeys(in_order) if written]


class Clips(Sequence[KnownClip]):
    """Some clips, in order of their timecode for each way of counting."""

    def __init__(self, clips: Iterable[KnownClip] = ()):
        self._clips = list(clips)

    def __len__(self) -> int:
        return len(self._clips)

    def __getitem__(self, place):
        return self._clips[place]

    @cached_property
    def _by_start(self) -> dict[Timebase, tuple[list[int], list[KnownClip], int]]:
        groups = defaultdict(list)
        for clip in self._clips:
            groups[clip.timebase].append(clip)
        ordered = {}
        for timebase, clips in groups.items():
            clips.sort(key=lambda clip: (clip.start % timebase.frames_per_day, clip.id))
            starts = [clip.start % timebase.frames_per_day for clip in clips]
            ordered[timebase] = (starts, clips, max(clip.frames for clip in clips))
        return ordered

    @property
    def timebases(self) -> list[Timebase]:
        return list(self._by_start)

    @cached_property
    def untimed(self) -> list[KnownClip]:
        return [clip for clip in self._clips if not clip.source_timecode][:_MOST_UNTIMED]

    def at(self, timebase: Timebase, used: SourceRange) -> Iterator[KnownClip]:
        """Those that count so and may hold any of these frames; the day goes round."""
        starts, clips, longest = self._by_start[timebase]
        day = timebase.frames_per_day
        for first, end in (
            (used.start - longest, used.start + used.length),
            (used.start - longest + day, used.start + used.length + day),
            (used.start - longest - day, used.start + used.length - day),
        ):
            yield from clips[bisect_right(starts, first) : bisect_left(starts, end)]

    def near(self, timebase: Timebase, frame: int) -> list[KnownClip]:
        """The last two that begin before a frame of the day, and the first after it."""
        starts, clips, _ = self._by_start[timebase]
        place = bisect_right(starts, frame)
        return clips[max(0, place - 2) : place + 1]
