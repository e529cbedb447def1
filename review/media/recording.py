"""A recording as it lies on the card: the parts that it was written in, and the sound that ran beside them."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from review.media.errors import MediaFailed
from review.media.form import MOST_CHANNELS
from review.media.probe import SOUND, VIDEO, Probe
from review.timecode import Rate, Timebase

JOINED_BY_THE_BYTE = ("mpegts",)  # a camera cuts these anywhere: only together are they whole


@dataclass(frozen=True)
class Part:
    """What can be opened by itself: a file, or the transport-stream files of a recording joined byte after byte."""

    files: tuple[Path, ...]
    frames: int
    beside: tuple[Path, ...] = ()  # sound files that ran beside it, in the order of AudioStream.source


@dataclass(frozen=True)
class Piece:
    """Frames [first, end) of a part, counted from its own start; `before` is how many frames the parts before hold."""

    part: Part
    before: int
    first: int
    end: int


@dataclass(frozen=True)
class Recording:
    """`probe` is of the whole (`joined`), `timebase` the clip's (`Probe.timebase`)."""

    parts: tuple[Part, ...]
    probe: Probe
    timebase: Timebase

    @classmethod
    def of(
        cls,
        files: Sequence[Path],
        probe: Probe,
        timebase: Timebase,
        file_frames: Sequence[int] = (),
        beside: Sequence[Sequence[Path]] = (),
    ) -> "Recording":
        """`file_frames` and `beside` are for each of `files`; both may be left out where there is one file without
        sound beside it, or transport-stream files. Raises MediaFailed when they are needed and do not fit."""
        if len(files) == 1 or probe.container in JOINED_BY_THE_BYTE:
            return cls(
                (Part(tuple(files), probe.length(timebase), tuple(beside[0]) if beside else ()),), probe, timebase
            )
        if len(file_frames) != len(files):
            raise MediaFailed(f"it is not known how many frames each of the {len(files)} files holds")
        besides = beside or [()] * len(files)
        parts = zip(files, file_frames, besides, strict=True)
        return cls(tuple(Part((file,), frames, tuple(more)) for file, frames, more in parts), probe, timebase)

    @cached_property
    def frames(self) -> int:
        return self.probe.length(self.timebase)

    @property
    def rate(self) -> Rate:
        return self.timebase.rate

    @property
    def channels(self) -> int:
        """How many its proxy carries."""
        return min(self.probe.channels, MOST_CHANNELS)

    @property
    def sound_only(self) -> bool:
        return self.probe.kind == SOUND

    @property
    def steady(self) -> bool:
        """Whether frame n lies n steps from the first: by the picture's own times any frame can be found."""
        return self.probe.kind == VIDEO and not self.probe.variable_rate

    def pieces(self, first: int, end: int) -> list[Piece]:
        """Frames [first, end) by the parts that hold them."""
        found, before = [], 0
        for part in self.parts:
            begin, stop = max(first, before), min(end, before + part.frames)
            if begin < stop:
                found.append(Piece(part, before, begin - before, stop - before))
            before += part.frames
        return found
