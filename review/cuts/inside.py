"""Whether what an event uses lies inside a clip, and how far away it is where it does not."""

from collections.abc import Iterator
from dataclasses import dataclass

from review.cuts.events import Event
from review.cuts.known import Clips, KnownClip, forms
from review.cuts.ranges import SourceRange, source_range
from review.timecode import Timebase


@dataclass(frozen=True)
class Hit:
    """Frames [in_frame, out_frame) of a clip, of `used` frames that the event uses."""

    clip: KnownClip
    in_frame: int
    out_frame: int
    used: int
    doubts: tuple[str, ...]

    @property
    def whole(self) -> bool:
        """Whether all of what is used lies inside the clip."""
        return self.share == 1

    @property
    def share(self) -> float:
        """Of what is used, over 0 to 1."""
        return (self.out_frame - self.in_frame) / self.used


class Use:
    """What one event uses, worked out once for each way that clips count."""

    def __init__(self, event: Event, listed: Timebase, own_count: bool, *, lenient: bool = False):
        self.event, self._listed, self._own_count, self._lenient = event, listed, own_count, lenient
        self._known: dict[Timebase, SourceRange | None] = {}
        self._named = {form for name in (event.file, event.clip_name) for form in forms(name)}

    @property
    def nothing(self) -> bool:
        """Whether no frame of it is used, as far as its labels say."""
        labels = (self.event.source_in, self.event.source_out)
        return len({label[:8] + label[9:] for label in labels}) == 1 and not (self.event.tail or self.event.speed == 0)

    def of(self, timebase: Timebase) -> SourceRange | None:
        if timebase not in self._known:
            self._known[timebase] = source_range(
                self.event, timebase, self._listed, own_count=self._own_count, lenient=self._lenient
            )
        return self._known[timebase]

    def hits(self, clips: Clips) -> Iterator[Hit]:
        """The clips that hold some of it."""
        found = set()
        for timebase in clips.timebases:
            used = self.of(timebase)
            if used is None or not used.length:
                continue
            for clip in clips.at(timebase, used):
                if clip.id not in found and (hit := _hit(clip, _begins(clip, used), used)):
                    found.add(clip.id)
                    yield hit
        for clip in clips.untimed:
            used = self.of(clip.timebase)
            if used is None or not used.length or clip.id in found or not self._named & clip.names:
                continue
            if hit := _hit(clip, used.start, used, "it has no timecode, so the list may count from its first frame"):
                yield hit

    def nearest(self, clips: Clips) -> list[tuple[int, KnownClip]]:
        """The clips that are the fewest frames away, with how many."""
        found = []
        for timebase in clips.timebases:
            if used := self.of(timebase):
                found += [(_distance(clip, used), clip) for clip in clips.near(timebase, used.start)]
        return sorted(found, key=lambda each: (each[0], each[1].id))


def _begins(clip: KnownClip, used: SourceRange) -> int:
    """The frame of the clip that it begins at: below 0 where it begins before the clip and runs into it."""
    day = clip.timebase.frames_per_day
    begins = (used.start - clip.start) % day
    return begins - day if begins >= clip.frames and begins + used.length > day else begins


def _hit(clip: KnownClip, begins: int, used: SourceRange, *doubts: str) -> Hit | None:
    ends = begins + used.length
    if begins >= clip.frames or ends <= 0:
        return None
    outside = []
    if begins < 0:
        outside.append(f"{_frames(-begins)} before the clip's beginning")
    if ends > clip.frames:
        outside.append(f"{_frames(ends - clip.frames)} past the clip's end")
    return Hit(clip, max(0, begins), min(ends, clip.frames), used.length, (*used.doubts, *doubts, *outside))


def _frames(count: int) -> str:
    return "1 frame of it is" if count == 1 else f"{count:,} frames of it are"


def _distance(clip: KnownClip, used: SourceRange) -> int:
    day = clip.timebase.frames_per_day
    after = (used.start - clip.start) % day
    return min(abs(after - clip.frames + 1), day - after)
