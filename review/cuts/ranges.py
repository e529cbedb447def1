"""Which frames of a clip an event uses: from the list's labels to frames counted as the clip counts them.

A source's labels are the source's own, so they are read with the clip's rate and counting wherever that can be. A list
of another whole rate counts the frames of a second by its own: then the label's time finds the frame.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from review import clock
from review.cuts.events import Event
from review.timecode import Timebase, TimecodeError


@dataclass(frozen=True)
class SourceRange:
    """`length` frames from frame `start` of the clip's day. `doubts` are reasons why they may be others."""

    start: int
    length: int
    doubts: tuple[str, ...] = ()


def source_range(event: Event, clip: Timebase, listed: Timebase, *, own_count: bool = False) -> SourceRange | None:
    """What `event` uses of a source counted like `clip`, in a list counted like `listed`; None where the labels cannot
    be of such a source. With `own_count` the source's labels count as the clip does, whatever the list's rate is.

    The frames are [in, out) as they were written, and those that a speed change needs if these are more; backwards,
    they are the same frames. A freeze is one frame. A source that goes out under a dissolve or wipe goes on to its end.
    """
    same = own_count or clip.rate.nominal == listed.rate.nominal
    counted = None if same else listed
    try:
        start, start_moved = _frame(event.source_in, clip, counted)
        end, end_moved = _frame(event.source_out, clip, counted)
    except TimecodeError:
        return None
    doubts = []
    if not same:
        doubts.append(f"the list counts {listed.rate.nominal} frames a second and the clip {clip.rate.nominal}")
    if start_moved or end_moved:
        doubts.append("drop-frame counting skips a label of it; the next was taken")
    if event.speed == 0:
        return SourceRange(start, 1, tuple(doubts))
    shown = record_length(event, listed)
    length = (end - start) % clip.frames_per_day
    if length > clip.frames_per_day // 2:
        if event.speed is None or event.speed > 0:
            doubts.append("its out is before its in; as many frames were taken as are in the cut")
            length = _scaled(shown, listed, clip)
        else:  # written the way it is shown: from its last frame to its first
            start, length = end, clip.frames_per_day - length + 1
    written, tail = length, _scaled(event.tail, listed, clip)
    if event.speed is not None:
        run = Fraction(abs(event.speed)).limit_denominator(1000) / listed.rate.nominal
        tail = math.ceil(tail * run)
        if written == _scaled(shown, listed, clip):  # some lists write the length in the cut, whatever the speed
            length = max(written, math.ceil(written * run))
    elif written and written != _scaled(shown, listed, clip):
        doubts.append("it is of another length in the cut, and no line says at which speed it runs")
    if event.tail and event.speed is not None and event.speed < 0:
        start -= tail
    return SourceRange(start % clip.frames_per_day, length + tail, tuple(doubts))


def record_length(event: Event, listed: Timebase) -> int:
    """Frames of the list, from record in to record out; 0 where the labels cannot be."""
    timebase = Timebase(listed.rate, bool(event.drop) and listed.rate.can_drop)
    try:
        start, end = _frame(event.record_in, timebase)[0], _frame(event.record_out, timebase)[0]
    except TimecodeError:
        return 0
    return (end - start) % timebase.frames_per_day


def counts_past(label: str, timebase: Timebase) -> bool:
    """Whether a label has more frames than there are in a second."""
    return int(label[9:11]) >= timebase.rate.nominal


def _scaled(count: int, listed: Timebase, clip: Timebase) -> int:
    """A number of the list's frames as the clip's, by the clock of the labels."""
    return math.ceil(Fraction(count * clip.rate.nominal, listed.rate.nominal))


@lru_cache(maxsize=65536)  # a clip is asked about for every event that may be of it
def _frame(label: str, timebase: Timebase, counted: Timebase | None = None) -> tuple[int, bool]:
    """The frame of the day that carries `label`, and whether it is the next one because none does.

    With `counted`, the label counts the frames of a second by that timebase's rate. Raises TimecodeError.
    """
    plain = f"{label[0:2]}:{label[3:5]}:{label[6:8]}:{label[9:11]}"
    if counted is not None:
        hours, minutes, seconds, frames = (int(plain[at : at + 2]) for at in (0, 3, 6, 9))
        if hours > 23 or minutes > 59 or seconds > 59 or frames >= counted.rate.nominal:
            raise TimecodeError(f"{label} is no timecode at {counted.rate} frames a second")
        time = 3600 * hours + 60 * minutes + seconds + Fraction(frames, counted.rate.nominal)
        return clock.frame_at(timebase, time), False
    try:
        return timebase.frame(plain), False
    except TimecodeError:
        skipped = timebase.rate.nominal // 15
        if not timebase.drop or int(plain[9:]) >= skipped:
            raise
        return timebase.frame(f"{plain[:9]}{skipped:02}"), True
