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


def source_range(
    event: Event, clip: Timebase, listed: Timebase, *, own_count: bool = False, lenient: bool = False
) -> SourceRange | None:
    """What `event` uses of a source counted like `clip`, in a list counted like `listed`; None where the labels cannot
    be of such a source. With `own_count` the source's labels count as the clip does, whatever the list's rate is. With
    `lenient` a label of more frames than a second has is read as the last frame of its second.

    The frames are [in, out) as they were written, and those that a speed change needs if these are more; backwards,
    they are the same frames. A freeze is one frame. A source that goes out under a dissolve or wipe goes on to its end.
    An out that is less than half a day after its in passes midnight.
    """
    same = own_count or clip.rate.nominal == listed.rate.nominal
    counted = None if same else listed
    labels, doubts = (event.source_in, event.source_out), []
    if lenient:
        counting = counted or clip
        doubts += [
            f"{label[9:]} is no frame at {counting.rate} fps, and the last of its second was taken"
            for label in dict.fromkeys(labels)
            if counts_past(label, counting)
        ]
        labels = tuple(_last_of_second(label, counting) for label in labels)
    try:
        (start, start_moved), (end, end_moved) = (_frame(label, clip, counted) for label in labels)
    except TimecodeError:
        return None
    if not same:
        doubts.append(f"the list counts {listed.rate.nominal} frames a second and the clip {clip.rate.nominal}")
    if start_moved or end_moved:
        doubts.append("drop-frame counting skips a label of it; the next was taken")
    if event.speed == 0:
        return SourceRange(start, 1, tuple(doubts))
    shown, shown_backwards = record_length(event, listed)
    length = (end - start) % clip.frames_per_day
    if length > clip.frames_per_day // 2:
        backwards = clip.frames_per_day - length
        if event.speed is not None and event.speed < 0:  # written the way it is shown: from its last frame to its first
            start, length = end, backwards + 1
        elif shown_backwards:
            doubts.append(
                "its out is before its in, in the source and in the cut, and they were read the other way round"
            )
            start, length = end, backwards
        else:
            doubts.append("its out is before its in; as many frames as are in the cut were taken from its in onwards")
            length = _scaled(shown, listed, clip)
    elif shown_backwards:
        doubts.append("its place in the cut ends before it begins, and was read the other way round")
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


def record_length(event: Event, listed: Timebase) -> tuple[int, bool]:
    """Frames of the list between record in and record out, and whether the out is before the in. 0 frames where the
    labels cannot be."""
    timebase = Timebase(listed.rate, bool(event.drop) and listed.rate.can_drop)
    try:
        start, end = _frame(event.record_in, timebase)[0], _frame(event.record_out, timebase)[0]
    except TimecodeError:
        return 0, False
    length = (end - start) % timebase.frames_per_day
    backwards = length > timebase.frames_per_day // 2
    return (timebase.frames_per_day - length if backwards else length), backwards


def counts_past(label: str, timebase: Timebase) -> bool:
    """Whether a label has more frames than there are in a second."""
    return int(label[9:11]) >= timebase.rate.nominal


def fault_of(event: Event, timebase: Timebase) -> str:
    """What is wrong with a source label that no frame counted like `timebase` carries; "" where nothing is."""
    for label in (event.source_in, event.source_out):
        try:
            _frame(label, timebase)
        except TimecodeError as problem:
            return str(problem)
    return ""


def _last_of_second(label: str, timebase: Timebase) -> str:
    return f"{label[:9]}{timebase.rate.nominal - 1:02}" if counts_past(label, timebase) else label


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
