"""Shoot days and times of day that somebody names among the words: 'second day', '13 November', '09:40:42'."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from review.searching.wanted import Wanted

AROUND = timedelta(seconds=30)  # a time of day that is remembered

_ANY_DAY = date(2000, 1, 1)
_ORDINALS = {
    **{"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6},
    **{"seventh": 7, "eighth": 8, "ninth": 9, "tenth": 10, "eleventh": 11, "twelfth": 12},
}
_CARDINALS = {
    **{"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6},
    **{"seven": 7, "eight": 8, "nine": 9, "ten": 10, "eleven": 11, "twelve": 12},
}
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = (
    r"(?P<month>jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?"
    r"|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)"
)
_OF_MONTH = r"(?P<of_month>\d{1,2})(?:st|nd|rd|th)?"
_YEAR = r"(?:,?\s+(?P<year>\d{4}))?"

_DAY = re.compile(
    rf"\b(?:(?P<word>{'|'.join(_ORDINALS)})\s+day|day\s+(?P<after>\d{{1,3}}|{'|'.join(_CARDINALS)})"
    r"|(?P<before>\d{1,3})(?:st|nd|rd|th)\s+day)\b",
    re.IGNORECASE,
)
_DATES = (
    re.compile(rf"\b{_OF_MONTH}\s+(?:of\s+)?{_MONTH}\b{_YEAR}", re.IGNORECASE),
    re.compile(rf"\b{_MONTH}\s+{_OF_MONTH}\b{_YEAR}", re.IGNORECASE),
)
# A timecode as a picture or a log says it: its frames tell no time of day that is remembered.
_TIME = re.compile(
    r"(?<![\d:])(?P<hour>[01]?\d|2[0-3]):(?P<minute>[0-5]\d):(?P<second>[0-5]\d)(?:[:;.,]\d{2,3})?(?![\d:])"
)


@dataclass(frozen=True)
class Taken:
    """Words that were taken for something else, and for what."""

    words: str
    meaning: str


def read(wanted: Wanted, days: Sequence[date]) -> tuple[Wanted, list[Taken]]:
    """Take a day and a time of day out of the words, where none is chosen. `days` are the production's shoot days, in
    order: another day is left among the words."""
    taken = []
    for take in (_day, _time):
        wanted, found = take(wanted, days)
        taken += found
    return wanted, taken


def _day(wanted: Wanted, days: Sequence[date]) -> tuple[Wanted, list[Taken]]:
    if wanted.date or wanted.day or not (found := _numbered(wanted.text) or _dated(wanted.text, days)):
        return wanted, []
    number, match = found
    if number > len(days):
        return wanted, []
    day = days[number - 1]
    return replace(wanted, text=_without(match), day=number), [
        Taken(match[0], f"day {number}, {day.day} {day:%b %Y}"),
    ]


def _numbered(text: str) -> tuple[int, re.Match] | None:
    """The shoot day that a text names by its number."""
    match = _DAY.search(text)
    if match is None:
        return None
    after = (match["after"] or "").lower()
    number = _ORDINALS.get((match["word"] or "").lower()) or _CARDINALS.get(after) or int(after or match["before"])
    return (number, match) if number else None


def _dated(text: str, days: Sequence[date]) -> tuple[int, re.Match] | None:
    """The shoot day whose date a text names, in any year if it says none."""
    for match in (found for form in _DATES for found in form.finditer(text)):
        month, of_month = _MONTHS.index(match["month"][:3].lower()) + 1, int(match["of_month"])
        for number, day in enumerate(days, start=1):
            if (day.month, day.day) == (month, of_month) and match["year"] in (None, str(day.year)):
                return number, match
    return None


def _time(wanted: Wanted, days: Sequence[date]) -> tuple[Wanted, list[Taken]]:
    if wanted.since or wanted.until or not (match := _TIME.search(wanted.text)):
        return wanted, []
    at = datetime.combine(_ANY_DAY, time(*(int(match[part]) for part in ("hour", "minute", "second"))))
    since, until = (at - AROUND).time(), (at + AROUND).time()
    return replace(wanted, text=_without(match), since=since, until=until), [
        Taken(match[0], f"the time of day, {since} to {until}"),
    ]


def _without(match: re.Match) -> str:
    text = match.string
    return " ".join(f"{text[: match.start()]} {text[match.end() :]}".split()).strip(" ,")
