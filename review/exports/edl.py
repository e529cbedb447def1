"""CMX3600 edit decision lists: the plain text list every editing system reads.

A list knows neither its rate nor (in its labels, for some readers) its drop kind, holds 999 events and
one day of record time: so a selects list becomes one file for each timebase, and more when it is long.
An event is one line of fixed columns, counted here from 1:

    001  61112A03 AA/V  C        10:00:00:00 10:00:04:00 01:00:00:00 01:00:04:00
    1-3  6-13     15-18 21-24    30-40       42-52       54-64       66-76
    number, reel, channels, edit type, source in and out, record in and out; outs are exclusive

The reel holds eight characters only, so comments under each event give the whole card name and path.
"""

import re
import textwrap
from collections.abc import Iterable
from functools import lru_cache

from review.exports.pull import Event, ExportFile, ExportRefused, SelectsList
from review.exports.text import ascii_line, file_name
from review.timecode import Timebase

MOST_EVENTS = 999  # the number has three digits
LONGEST_TITLE = 70
RESERVED_REELS = {"AX", "BARS", "BL", "BLACK"}  # they mean an auxiliary source, bars and black

_REEL = re.compile(r"[A-Z0-9_-]{1,8}")
_LINE_WIDTH = 80
_LONGEST_NAME = 240  # names and paths are not wrapped: half a path finds nothing
_RECORD_START = "01:00:00:00"


def is_legal_reel(reel: str) -> bool:
    """Whether editing systems take `reel` for the name of a source."""
    return bool(_REEL.fullmatch(reel)) and reel not in RESERVED_REELS


def cmx3600(selects: SelectsList) -> list[ExportFile]:
    """`selects` as lists of at most 999 events and one timebase each, in order, butted from 01:00:00:00.

    The files are numbered when there are several. Raises ExportRefused when two cards carry one reel, for
    a reel that no EDL can hold, and for a select of 23 hours or more.
    """
    _check_reels(selects.events)
    parts = _parts(selects.events)
    return [part.file(selects.title, number if len(parts) > 1 else None) for number, part in enumerate(parts, 1)]


class _Part:
    """One file as it is written. `room` is how many more frames fit: no record out may reach midnight."""

    def __init__(self, timebase: Timebase):
        self.timebase = timebase
        self.lines: list[str] = []
        self.events = 0
        self.record = timebase.frame(_RECORD_START)
        self.room = timebase.frames_per_day - self.record - 1
        self.record_in = timebase.label(self.record)
        self.rate = f"* COMMENT: RATE {_rate(timebase)}"

    def takes(self, event: Event, source: int, length: int, remark: str) -> bool:
        """Write `length` frames from frame `source` of the day as the next event; False if there is no room."""
        if self.events == MOST_EVENTS or length > self.room:
            return False
        self.events += 1
        self.room -= length
        self.record += length
        label, record_in, self.record_in = self.timebase.label, self.record_in, self.timebase.label(self.record)
        self.lines.append(
            f"{self.events:03}  {event.reel:<8} {_channels(event):<4}  C        "
            f"{label(source)} {label(source + length)} {record_in} {self.record_in}"
        )
        if event.channels > 2:
            self.lines.append("AUD  3" if event.channels == 3 else "AUD  3    4")
        self.lines += _comments(event)
        self.lines.append(self.rate)
        if remark:
            self.lines.append(f"* COMMENT: {remark}")
        return True

    def file(self, title: str, number: int | None) -> ExportFile:
        """The finished file, told apart from its sisters by `number` if it has any."""
        suffix = "" if number is None else f" {number} {_rate(self.timebase)}"
        title = (ascii_line(title) or "SELECTS")[: LONGEST_TITLE - len(suffix)] + suffix
        # Readers take what follows these two lines for event 1: no comment may come between.
        header = f"TITLE: {title}\r\nFCM: {'DROP FRAME' if self.timebase.drop else 'NON-DROP FRAME'}\r\n"
        content = header + "\r\n".join(self.lines) + "\r\n"
        return ExportFile(file_name(title, "edl"), content.encode("ascii"), "text/plain; charset=us-ascii")


def _check_reels(events: Iterable[Event]) -> None:
    cards: dict[str, str] = {}
    for event in events:
        other = cards.setdefault(event.reel, event.card)
        if other != event.card:
            raise ExportRefused(
                f"Cards {other} and {event.card} both have the reel {event.reel}, and an EDL could not tell them "
                "apart: give one of them another reel, or put them in two lists."
            )
    for reel, card in cards.items():
        if not is_legal_reel(reel):
            raise ExportRefused(
                f"Card {card} has the reel {reel!r}, which an EDL cannot hold. A reel is one to eight of A-Z, 0-9, "
                f"- and _, and not {', '.join(sorted(RESERVED_REELS))}: give the card another reel."
            )


def _parts(events: Iterable[Event]) -> list[_Part]:
    """The files, timebases in the order in which they first appear."""
    by_timebase: dict[Timebase, list[_Part]] = {}
    for event in events:
        parts = by_timebase.setdefault(event.timebase, [])
        for piece in _pieces(event):
            if parts and parts[-1].takes(event, *piece):
                continue
            parts.append(_Part(event.timebase))
            if not parts[-1].takes(event, *piece):
                raise ExportRefused(
                    f"The select at {event.source_in} in clip {event.clip} on card {event.card} is too long: an EDL "
                    f"that starts at {_RECORD_START} holds less than 23 hours. Mark it in shorter pieces."
                )
    return [part for parts in by_timebase.values() for part in parts]


def _pieces(event: Event) -> list[tuple[int, int, str]]:
    """First frame of the day, length and remark: two where timecode passes midnight, as no out may precede its in."""
    day = event.timebase.frames_per_day
    start = event.source_frame % day
    if start + event.length <= day:
        return [(start, event.length, "")]
    today = day - start
    return [
        (start, today, "PART 1 OF 2, CUT AT MIDNIGHT"),
        (0, event.length - today, "PART 2 OF 2, CUT AT MIDNIGHT"),
    ]


def _channels(event: Event) -> str:
    """The channels column: A is track A1, AA is A1 and A2, B is V and A1. Tracks 3 and 4 have their own line."""
    if event.has_picture:
        return ("V", "B", "AA/V")[min(event.channels, 2)]
    return ("NONE", "A", "AA")[min(event.channels, 2)]


def _comments(event: Event) -> list[str]:
    """Free text always starts with COMMENT: some readers take LOC, M2 or ASC_SOP there for orders."""
    lines = [*_names(event.clip, event.card, event.file)]
    for file in event.more_files:
        lines += _wrapped("* COMMENT: GOES ON IN FILE ", file)
    if not event.source_timecode:
        if event.clip_start:
            lines.append("* COMMENT: NO SOURCE TIMECODE, COUNTED FROM THE FILE'S TIME OF DAY")
            lines.append(f"* COMMENT: IN IS FRAME {event.in_frame} OF THE CLIP, COUNTED FROM 0")
        else:
            lines.append("* COMMENT: NO SOURCE TIMECODE, COUNTED FROM THE START OF THE CLIP")
    if event.channels > 4:
        lines.append(f"* COMMENT: AUDIO CHANNELS {event.channels}")
    if event.tags:
        lines += _wrapped("* COMMENT: TAGS ", ", ".join(event.tags))
    if event.note:
        lines += _wrapped("* COMMENT: NOTE ", event.note)
    return lines


@lru_cache(maxsize=4096)  # a clip gives many selects
def _names(clip: str, card: str, file: str) -> tuple[str, ...]:
    path = ascii_line(file)
    lines = (
        f"* FROM CLIP NAME: {ascii_line(clip)}",
        f"* SOURCE FILE: {path.rpartition('/')[2]}",
        f"* COMMENT: CARD {ascii_line(card)} FILE {path}",
    )
    return tuple(line if len(line) <= _LONGEST_NAME else line[: _LONGEST_NAME - 3] + "..." for line in lines)


def _wrapped(prefix: str, text: str) -> list[str]:
    text, width = ascii_line(text), _LINE_WIDTH - len(prefix)
    if len(text) <= width:
        return [prefix + text] if text else []
    return [prefix + line for line in textwrap.wrap(text, width, break_on_hyphens=False)]


def _rate(timebase: Timebase) -> str:
    """'25', '29.97DF' or '29.97NDF': the kind is named where there are two."""
    if not timebase.rate.can_drop:
        return str(timebase.rate)
    return f"{timebase.rate}{'DF' if timebase.drop else 'NDF'}"
