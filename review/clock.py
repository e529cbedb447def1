"""The clock of a shoot day, as timecode labels tell it: where a frame of one camera is on another's.

Time here is label time, in exact seconds since midnight of the day of the shoot: cameras that were set together show
the same label at the same moment, whatever their rates. Past midnight it goes on beyond 86,400.
"""

from fractions import Fraction

from review.timecode import Timebase, TimecodeError

DAY = 86_400  # seconds


def time_of(timebase: Timebase, frame: int) -> Fraction:
    """The label time at which frame `frame`, counted from midnight, begins."""
    day, within = divmod(frame, timebase.frames_per_day)
    label = timebase.label(within)
    hours, minutes, seconds, frames = (int(label[at : at + 2]) for at in (0, 3, 6, 9))
    return day * DAY + 3600 * hours + 60 * minutes + seconds + Fraction(frames, timebase.rate.nominal)


def frame_at(timebase: Timebase, time: Fraction) -> int:
    """The frame, counted from midnight, that is on at a label time; below 0 for a time before midnight. A label that
    drop-frame skips stands for the next one."""
    day, within = divmod(time, DAY)
    seconds, part = divmod(within, 1)
    frames = int(part * timebase.rate.nominal)
    hours, minutes, seconds = int(seconds) // 3600, int(seconds) // 60 % 60, int(seconds) % 60
    try:
        frame = timebase.frame(f"{hours:02}:{minutes:02}:{seconds:02}:{frames:02}")
    except TimecodeError:
        frame = timebase.frame(f"{hours:02}:{minutes:02}:{seconds:02}:{timebase.rate.nominal // 15:02}")
    return int(day) * timebase.frames_per_day + frame
