"""What an export cannot carry, told before it is made.

Each remark says what is lost or changed, why, and at which places of the list (counted from 1), the first few of them.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from review.exports.edl import LONGEST_TITLE, MOST_EVENTS, Part, channels_of, edl_parts
from review.exports.edl_comments import LONGEST_NAME
from review.exports.options import CHANNEL_CODES, CLIPS_OWN, LONG, ExportOptions, rate_words
from review.exports.pull import Event, ExportRefused, SelectsList
from review.exports.reels import reel_of
from review.exports.table import is_formula
from review.exports.text import has_controls

STOP, LOST, TOLD = "stop", "lost", "told"  # it cannot be made; something is not in it; worth knowing
MOST_PLACES = 10


@dataclass(frozen=True)
class Remark:
    """`weight` is STOP, LOST or TOLD; `places` the first of the `count` events that it is about, if it is about any."""

    weight: str
    words: str
    places: tuple[int, ...] = ()
    count: int = 0


def preflight(selects: SelectsList, kind: str, options: ExportOptions) -> list[Remark]:
    """Everything that the format `kind` ('edl', 'csv', 'otio') will not carry of `selects` as they are, what stops it
    first."""
    remarks = [*_CHECKS[kind](selects, options), *_of_every_kind(selects)]
    return sorted(remarks, key=lambda remark: (STOP, LOST, TOLD).index(remark.weight))


def _remark(weight: str, words: str, selects: SelectsList, concerns: Callable[[Event], bool]) -> Iterator[Remark]:
    """One remark about the events that `concerns` picks, if it picks any; {n} in `words` is how many."""
    places = [place for place, event in enumerate(selects.events, 1) if concerns(event)]
    if places:
        many = f"{len(places)} select{'s' if len(places) > 1 else ''}"
        yield Remark(weight, words.replace("{n}", many), tuple(places[:MOST_PLACES]), len(places))


def _of_every_kind(selects: SelectsList) -> Iterator[Remark]:
    yield from _remark(
        LOST,
        "{n}: the camera gave no timecode, so it is counted from the file's time of day or its start. A system that "
        "looks for source timecode will not find these; use the card, file and frame that are told beside it.",
        selects,
        lambda event: not event.source_timecode,
    )
    yield from _remark(
        LOST,
        "{n}: the clip begins or ends before the handle does; the handle is as long as the clip allows.",
        selects,
        lambda event: any(event.clipped),
    )
    yield from _remark(
        TOLD,
        "{n}: the recording goes on in another file of the card; relink to all of them.",
        selects,
        lambda event: bool(event.more_files),
    )


def _edl(selects: SelectsList, options: ExportOptions) -> Iterator[Remark]:
    events = selects.events
    try:
        parts = edl_parts(selects, options)
    except ExportRefused as problem:
        yield Remark(STOP, str(problem))
    else:
        rates = {part.timebase for part in parts}
        yield from _rate_remarks(selects, options, parts)
        if len(rates) > 1:
            yield Remark(TOLD, f"An EDL holds one frame rate: there are {len(rates)}, each in files of its own.")
        if len(parts) > len(rates):
            yield Remark(TOLD, f"An EDL holds {MOST_EVENTS} events and less than a day: there are {len(parts)} files.")
        if any({event.timebase.drop for event in part.taken} == {True, False} for part in parts):
            yield Remark(TOLD, "Drop-frame and non-drop sources share a file; an FCM line stands before each change.")
    if not selects.title.isascii():
        yield Remark(LOST, "The list's name is spelt out in plain Latin letters.")
    if len(selects.title) > LONGEST_TITLE:
        yield Remark(LOST, f"The list's name is cut to {LONGEST_TITLE} characters.")
    yield from _remark(
        LOST,
        "{n}: the name of the clip, card or file is spelt out in plain Latin letters. The table of reels and the CSV "
        "have it as it is.",
        selects,
        lambda event: not f"{event.clip}{event.card}{event.file}".isascii(),
    )
    yield from _remark(
        LOST,
        "{n}: tags, note or section are spelt out in plain Latin letters. The CSV has them as they are.",
        selects,
        lambda event: not "".join((event.note, event.section, *event.tags)).isascii(),
    )
    yield from _remark(
        LOST,
        f"{{n}}: a name or path is longer than {LONGEST_NAME} characters and is cut. The table of reels has it whole.",
        selects,
        lambda event: len(event.card) + len(event.file) > LONGEST_NAME - 30 or len(event.clip) > LONGEST_NAME - 30,
    )
    yield from _channel_remarks(selects, options)
    if options.reels == LONG:
        yield from _remark(
            TOLD,
            "{n}: the card folder's name is not 9 to 32 of A-Z, 0-9, - and _, so the short reel stands for it.",
            selects,
            lambda event: reel_of(event, LONG) == event.reel,
        )
    yield from _remark(
        TOLD,
        "{n}: the handles are part of the event, and nothing in an EDL says where they end.",
        selects,
        lambda event: any(event.handles),
    )
    yield from _remark(
        TOLD,
        "{n}: source timecode passes midnight there, so it becomes two events.",
        selects,
        lambda event: event.source_frame % event.timebase.frames_per_day + event.length > event.timebase.frames_per_day,
    )
    if any(event.tags or event.note or event.rating or event.section for event in events):
        yield Remark(
            TOLD, "Tags, notes, ratings and sections are comments, for people to read; no system takes them in."
        )


def _rate_remarks(selects: SelectsList, options: ExportOptions, parts: list[Part]) -> Iterator[Remark]:
    """What the record rate that was asked for cannot be given to."""
    apart = dict.fromkeys(part.timebase for part in parts if part.apart)
    for timebase in apart:
        mine, wanted = rate_words(timebase), rate_words(options.rate)
        yield from _remark(
            LOST,
            f"{{n}} of {mine} fps cannot be in a file of {wanted}, as an EDL converts no rate: what is of {mine} comes "
            f"in a file of its own, at {mine}.",
            selects,
            lambda event, timebase=timebase: event.timebase == timebase,
        )
    if apart and all(part.apart for part in parts):
        yield Remark(LOST, f"The record rate that was asked for, {rate_words(options.rate)}, applies to none of them.")


def _channel_remarks(selects: SelectsList, options: ExportOptions) -> Iterator[Remark]:
    if options.channels == CLIPS_OWN:
        yield from _remark(
            LOST,
            "{n}: the clip has more than four channels of sound; the list names the first four.",
            selects,
            lambda event: event.channels > 4,
        )
        return
    picture, tracks = CHANNEL_CODES[options.channels]
    code = f"{options.channels:<4}"
    yield from _remark(
        LOST,
        f"{{n}} as {options.channels} alone: the select is in it; what else its clip has of picture or sound is not.",
        selects,
        lambda event: (event.has_picture and not picture) or event.channels > len(tracks),
    )
    yield from _remark(
        TOLD,
        f"{{n}}: the clip does not have all of {options.channels}; the list says what it has.",
        selects,
        lambda event: channels_of(event.has_picture, event.channels, options.channels)[0] != code,
    )


# What a list has, the columns of the CSV of which all those of one group carry it, and whether an event has any of it.
_IN_COLUMNS: tuple[tuple[str, tuple[tuple[str, ...], ...], Callable[[Event], object]], ...] = (
    ("the in and out", (("source in", "source out"), ("in frame", "out frame")), lambda event: True),
    ("the sections", (("section",),), lambda event: event.section),
    ("the handles", (("handle before", "handle after"),), lambda event: any(event.handles)),
    ("the notes", (("note",),), lambda event: event.note),
    ("the tags", (("tags",),), lambda event: event.tags),
    ("the ratings", (("rating",),), lambda event: event.rating),
)


def _csv(selects: SelectsList, options: ExportOptions) -> Iterator[Remark]:
    chosen = set(options.columns)
    for what, groups, has in _IN_COLUMNS:
        if not any(chosen.issuperset(group) for group in groups):
            columns = " and ".join(groups[0])
            words = f"No chosen column tells {what} of {{n}}; choose {columns} too."
            yield from _remark(LOST, words, selects, has)
    if "place" not in chosen and len(selects.events) > 1:
        yield Remark(
            TOLD, "The rows stand in the list's order; choose place too, to find that order again in a sorted table."
        )
    yield from _remark(
        TOLD,
        "{n}: a text begins like a formula; an apostrophe before it keeps a spreadsheet from running it.",
        selects,
        lambda event: any(map(is_formula, (event.note, event.clip, ", ".join(event.tags), event.file, event.section))),
    )
    yield from _controls(selects)


def _otio(selects: SelectsList, options: ExportOptions) -> Iterator[Remark]:
    if len({event.timebase for event in selects.events}) > 1:
        yield Remark(TOLD, "The clips have several frame rates; each keeps its own in the one timeline.")
    yield from _controls(selects)


def _controls(selects: SelectsList) -> Iterator[Remark]:
    yield from _remark(
        LOST,
        "{n}: control characters in the note, tags or clip's name are left out.",
        selects,
        lambda event: has_controls("".join((event.note, event.clip, *event.tags))),
    )


_CHECKS = {"edl": _edl, "csv": _csv, "otio": _otio}
