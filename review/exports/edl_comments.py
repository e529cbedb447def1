"""The comments under an event of a CMX3600 list: where it comes from and what was said of it, in plain ASCII.

Of the kinds that the trade shares only: clip name, source file, and COMMENT for everything else. Free text always
starts with COMMENT, as some readers take LOC, M2 or ASC_SOP at the start of a comment for orders.
"""

import textwrap
from functools import lru_cache

from review.exports.pull import Event
from review.exports.text import ascii_line

LONGEST_NAME = 240  # names and paths are not wrapped: half a path finds nothing
_LINE_WIDTH = 80


def comments(event: Event) -> list[str]:
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
    if event.section:
        lines += _wrapped("* COMMENT: SECTION ", event.section)
    if event.rating:
        lines.append(f"* COMMENT: RATING {event.rating}")
    if event.tags:
        lines += _tags(event.tags)
    if event.note:
        lines += _wrapped("* COMMENT: NOTE ", event.note)
    return lines


@lru_cache(maxsize=4096)  # a clip gives many selects
def _names(clip: str, card: str, file: str) -> tuple[str, ...]:
    path = ascii_line(file)
    return tuple(
        cut(line)
        for line in (
            f"* FROM CLIP NAME: {ascii_line(clip)}",
            f"* SOURCE FILE: {path.rpartition('/')[2]}",
            f"* COMMENT: CARD {ascii_line(card)} FILE {path}",
        )
    )


@lru_cache(maxsize=4096)  # the same few stand on many selects
def _tags(tags: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(_wrapped("* COMMENT: TAGS ", ", ".join(tags)))


def cut(line: str) -> str:
    """A line with a name in it, of a bearable length."""
    return line if len(line) <= LONGEST_NAME else line[: LONGEST_NAME - 3] + "..."


def _wrapped(prefix: str, text: str) -> list[str]:
    text, width = ascii_line(text), _LINE_WIDTH - len(prefix)
    if len(text) <= width:
        return [prefix + text] if text else []
    return [prefix + line for line in textwrap.wrap(text, width, break_on_hyphens=False)]
