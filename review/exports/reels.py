"""Reels as an EDL names them, and the table that leads from a reel to its card folder and files."""

import csv
import io
import re
from collections.abc import Iterable

from review.exports.edl_comments import cut
from review.exports.options import LONG
from review.exports.pull import Event, ExportRefused
from review.exports.table import cell
from review.exports.text import ascii_line

RESERVED_REELS = {"AX", "BARS", "BL", "BLACK"}  # they mean an auxiliary source, bars and black
SHORT_FIELD, LONG_FIELD = 8, 32  # characters; the wide dialect is common and not CMX3600

_REEL = re.compile(r"[A-Z0-9_-]{1,8}")
_LONG_REEL = re.compile(r"[A-Z0-9_-]{9,32}")


def is_legal_reel(reel: str) -> bool:
    """Whether editing systems take `reel` for the name of a source."""
    return bool(_REEL.fullmatch(reel)) and reel not in RESERVED_REELS


def reel_of(event: Event, reels: str) -> str:
    """The card's own reel; in the long form the card folder's name, where that is 9 to 32 of A-Z, 0-9, - and _.
    It depends on the card alone, so that it is the same in every list, and no two cards share one."""
    return event.card if reels == LONG and _LONG_REEL.fullmatch(event.card) else event.reel


def check_reels(events: Iterable[Event]) -> None:
    """Raise ExportRefused when two cards carry one reel, and for a reel that no EDL can hold."""
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


def reel_table(events: Iterable[Event], reels: str) -> list[tuple[str, str, str]]:
    """Reel, card folder and file below it, each once, by reel and file."""
    return sorted(
        {(reel_of(event, reels), event.card, file) for event in events for file in (event.file, *event.more_files)}
    )


def as_comments(table: Iterable[tuple[str, str, str]]) -> list[str]:
    """The table as comments: a line for each reel, under it one for each of its files."""
    lines, said = [], None
    for reel, card, file in table:
        if reel != said:
            lines.append(cut(f"* COMMENT: REEL {reel} IS CARD {ascii_line(card)}"))
            said = reel
        lines.append(cut(f"* COMMENT: REEL {reel} FILE {ascii_line(file)}"))
    return lines


def as_csv(table: Iterable[tuple[str, str, str]]) -> bytes:
    """The table for spreadsheets, in the cards' own letters."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(("reel", "card", "file"))
    writer.writerows((reel, cell(card), cell(file)) for reel, card, file in table)
    return text.getvalue().encode("utf-8-sig")
