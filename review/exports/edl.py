"""CMX3600 edit decision lists: the plain text list every editing system reads.

A list knows neither its rate nor (in its labels, for some readers) its drop kind, holds 999 events and
one day of record time: so a selects list becomes one file for each timebase, and more when it is long.
An event is one line of fixed columns, counted here from 1:

    001  61112A03 AA/V  C        10:00:00:00 10:00:04:00 01:00:00:00 01:00:04:00
    1-3  6-13     15-18 21-24    30-40       42-52       54-64       66-76
    number, reel, channels, edit type, source in and out, record in and out; outs are exclusive

The reel holds eight characters only (32 in the wide dialect), so comments under each event give the whole card name
and path. The record times are those of the list's own order, also where the events are sorted by their source.
"""

from collections.abc import Iterable
from functools import lru_cache

from review.exports.edl_comments import comments
from review.exports.options import CHANNEL_CODES, CLIPS_OWN, DEFAULTS, LONG, SOURCE, ExportOptions, rate_words
from review.exports.pull import Event, ExportFile, ExportRefused, SelectsList
from review.exports.reels import LONG_FIELD, SHORT_FIELD, as_comments, check_reels, reel_of, reel_table
from review.exports.text import ascii_line, file_name
from review.timecode import Timebase

MOST_EVENTS = 999  # the number has three digits
LONGEST_TITLE = 70
_CODES = {tracks: code for code, tracks in CHANNEL_CODES.items()}
_FCM = {True: "FCM: DROP FRAME", False: "FCM: NON-DROP FRAME"}
_TEXT = "text/plain; charset=us-ascii"


def cmx3600(selects: SelectsList, options: ExportOptions = DEFAULTS) -> list[ExportFile]:
    """`selects` as lists of at most 999 events and one timebase each, in order, butted from the record start.

    The files are numbered when there are several. Raises ExportRefused when two cards carry one reel, for
    a reel that no EDL can hold, for a record start that a rate does not have, and for a select that is longer than
    what is left of the day after it.
    """
    return [part.file(selects.title) for part in edl_parts(selects, options)]


def edl_parts(selects: SelectsList, options: ExportOptions) -> list["Part"]:
    """The files before they are written, timebases in the order in which they first appear."""
    check_reels(selects.events)
    by_timebase: dict[Timebase, list[Part]] = {}
    timebase, parts = None, []
    for event in selects.events:
        if event.timebase is not timebase:  # looking the file up is dear
            timebase = event.timebase
            # Sources of the record rate that are counted the other way share its files: FCM says which is which.
            alike = options.rate is not None and timebase.rate == options.rate.rate
            record = options.rate if alike else timebase
            parts = by_timebase.setdefault(record, [])
        for piece in _pieces(event):
            if parts and parts[-1].takes(event, *piece):
                continue
            parts.append(Part(record, options))
            if not parts[-1].takes(event, *piece):
                raise ExportRefused(
                    f"The select at {event.source_in} in clip {event.clip} on card {event.card} is too long: an EDL "
                    f"that starts at {options.start} holds less than {parts[-1].hours} h. "
                    "Mark it in shorter pieces."
                )
    parts = [part for parts in by_timebase.values() for part in parts]
    if len(parts) > 1:
        for number, part in enumerate(parts, 1):
            part.number = number
    return parts


class Part:
    """One file as it is written. `room` is how many more frames fit: no record out may reach midnight."""

    number: int | None = None  # among its sisters, if it has any

    def __init__(self, timebase: Timebase, options: ExportOptions):
        self.timebase = timebase
        self.options = options
        self.rate = f"* COMMENT: RATE {rate_words(timebase)}"
        # Reel, first frame, whether drop-frame, the event's line but for its number, the lines under it.
        self.lines: list[tuple[str, int, bool, str, list[str]]] = []
        self.taken: list[Event] = []
        self.record = options.record_start(timebase)
        self.room = timebase.frames_per_day - self.record - 1
        self.hours = -(-self.room // (3600 * timebase.rate.nominal))
        self.record_in = self.first = timebase.label(self.record)
        self.width = LONG_FIELD if options.reels == LONG else SHORT_FIELD
        self.apart = options.rate is not None and timebase.rate != options.rate.rate

    def takes(self, event: Event, source: int, length: int, remark: str) -> bool:
        """Write `length` frames from frame `source` of the day as the next event; False if there is no room."""
        if len(self.lines) == MOST_EVENTS or length > self.room:
            return False
        self.room -= length
        self.record += length
        record_in, self.record_in = self.record_in, self.timebase.label(self.record)
        label, reel = event.timebase.label, reel_of(event, self.options.reels)
        code, more_channels = channels_of(event.has_picture, event.channels, self.options.channels)
        more = [*more_channels, *comments(event)] if more_channels else comments(event)
        more.append(self._rate_of(event.timebase))
        if remark:
            more.append(f"* COMMENT: {remark}")
        if self.apart and not self.lines:
            more.append(f"* COMMENT: {self.why_apart.upper()}")
        line = (
            f"{reel:<{self.width}} {code}  C        {label(source)} {label(source + length)} "
            f"{record_in} {self.record_in}"
        )
        self.lines.append((reel, source, event.timebase.drop, line, more))
        self.taken.append(event)
        return True

    def _rate_of(self, timebase: Timebase) -> str:
        return self.rate if timebase is self.timebase else f"* COMMENT: RATE {rate_words(timebase)}"

    @property
    def why_apart(self) -> str:
        """Why these events are not in the file of the record rate; empty where they are."""
        if not self.apart:
            return ""
        mine, wanted = rate_words(self.timebase), rate_words(self.options.rate)
        return f"apart, as an EDL holds one rate: these are {mine}, the list is {wanted}"

    def title(self, title: str) -> str:
        suffix = "" if self.number is None else f" {self.number} {rate_words(self.timebase)}"
        return short_title(title, suffix)

    def file(self, title: str) -> ExportFile:
        """The finished file."""
        lines = self.lines
        if self.options.order == SOURCE:
            lines = sorted(lines, key=lambda line: line[:2])
        title, drop = self.title(title), lines[0][2]
        # Readers take what follows these two lines for event 1: no comment may come between.
        written = [f"TITLE: {title}", _FCM[drop]]
        for number, (_, _, dropping, line, more) in enumerate(lines, 1):
            if dropping != drop:
                drop = dropping
                written.append(_FCM[drop])
            written.append(f"{number:03}  {line}")
            written += more
        if self.options.table:
            written += as_comments(reel_table(self.taken, self.options.reels))
        written.append("")
        return ExportFile(file_name(title, "edl"), "\r\n".join(written).encode("ascii"), _TEXT)


def short_title(title: str, suffix: str) -> str:
    return (ascii_line(title) or "SELECTS")[: LONGEST_TITLE - len(suffix)] + suffix


def _pieces(event: Event) -> Iterable[tuple[int, int, str]]:
    """First frame of the day, length and remark: two where timecode passes midnight, as no out may precede its in.
    A day and more, which no file holds, stays one piece."""
    day = event.timebase.frames_per_day
    start, length = (event.clip_start + event.in_frame) % day, event.out_frame - event.in_frame
    if start + length <= day or length >= day:
        return ((start, length, ""),)
    today = day - start
    return (
        (start, today, "PART 1 OF 2, CUT AT MIDNIGHT"),
        (0, length - today, "PART 2 OF 2, CUT AT MIDNIGHT"),
    )


@lru_cache(maxsize=256)
def channels_of(has_picture: bool, channels: int, wanted: str) -> tuple[str, tuple[str, ...]]:
    """The channels column, and the line for tracks 3 and 4 if they are carried: A is track A1, AA is A1 and A2, B is V
    and A1. A code that was chosen is narrowed to what the clip has; with nothing left, it is as the clip has it."""
    if wanted != CLIPS_OWN:
        picture, tracks = CHANNEL_CODES[wanted]
        left = (picture and has_picture, tuple(track for track in tracks if track <= channels))
        if left in _CODES:
            return f"{_CODES[left]:<4}", ()
    own = (has_picture, tuple(range(1, min(channels, 2) + 1)))
    extra = {3: ("AUD  3",)}.get(channels, ("AUD  3    4",) if channels > 3 else ())
    return f"{_CODES.get(own, 'NONE'):<4}", extra
