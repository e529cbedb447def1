"""What somebody looks for, read once from the address: the words and every filter beside them.

The same parameters serve the page, the JSON surface and searches that were given a name.
"""

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass, fields

from review.refusals import Refusal

SORTS = ("shot", "newest", "rating")
MOST_TAGS = 20  # in one filter
_SECONDS = re.compile(r"\d{1,6}(\.\d{1,3})?")
_TIME = re.compile(r"(\d{1,2})(?:[:.]?(\d\d)(?:[:.](\d\d))?)?")


@dataclass(frozen=True)
class Wanted:
    """Every filter narrows what is found; one that is empty does nothing.

    `tag` must all be there, of `tag_any` one, of `tag_none` none. `since` and `until` are times of day on the
    production's clock, [since, until), over midnight if until is the earlier. `longer` and `shorter` are milliseconds,
    both meant. `pulled` is "no" (in no export yet) or "unlisted" (in no list either); `cut` is "yes" (a cut that came
    back uses a frame of it) or "no"."""

    text: str = ""
    production: str = ""
    card: str = ""
    clip: int | None = None
    camera: str = ""
    date: datetime.date | None = None
    day: int | None = None  # counted from 1 over the days that were shot
    since: datetime.time | None = None
    until: datetime.time | None = None
    tag: tuple[str, ...] = ()
    tag_any: tuple[str, ...] = ()
    tag_none: tuple[str, ...] = ()
    rating: int | None = None  # that or better
    logger: str = ""
    longer: int | None = None
    shorter: int | None = None
    seen: str = ""
    pulled: str = ""
    cut: str = ""
    angles: str = ""
    keep: str = ""
    sort: str = "shot"


FILTERS = tuple(field.name for field in fields(Wanted))


def read(query: Mapping[str, str]) -> Wanted:
    """Raises Refusal, with the field, for a filter that makes no sense."""
    found = {}
    for name in FILTERS:
        value = (query.get(name) or "").replace("\0", "").strip()  # no text holds it, and a database may refuse it
        if value:
            found[name] = _READ[name](value, name)
    return Wanted(**found)


def written(wanted: Wanted) -> dict[str, str]:
    """As `read` takes it: only what does something."""
    return {name: text for name in FILTERS if (text := _write(name, getattr(wanted, name)))}


def _write(name: str, value) -> str:
    if value is None or (name, value) == ("sort", "shot"):
        return ""
    if isinstance(value, tuple):
        return ",".join(value)
    if isinstance(value, datetime.time):
        return f"{value:%H:%M:%S}" if value.second else f"{value:%H:%M}"
    if name in ("longer", "shorter"):
        return f"{value / 1000:g}"
    return str(value)


def _text(value: str, name: str) -> str:
    return value[:500]


def _date(value: str, name: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(value)
    except ValueError:
        raise Refusal(f"{value!r} is not a date; write it as 2026-11-12.", name) from None


def _day(value: str, name: str) -> int:
    if not value.isdecimal() or len(value) > 4 or not int(value):
        raise Refusal(f"{value!r} is no shoot day; count them from 1.", name)
    return int(value)


def _time(value: str, name: str) -> datetime.time:
    match = _TIME.fullmatch(value)
    if not match or int(match[1]) > 23 or int(match[2] or 0) > 59 or int(match[3] or 0) > 59:
        raise Refusal(f"{value!r} is not a time of day; write it as 16:30.", name)
    return datetime.time(*(int(part or 0) for part in match.groups()))


def _rating(value: str, name: str) -> int:
    if value not in ("0", "1", "2", "3", "4", "5"):
        raise Refusal(f"{value!r} is not a rating; it goes from 0 to 5.", name)
    return int(value)


def _clip(value: str, name: str) -> int:
    if not value.isdecimal() or len(value) > 18:
        raise Refusal(f"{value!r} is not a clip's number.", name)
    return int(value)


def _tags(value: str, name: str) -> tuple[str, ...]:
    folded = tuple(dict.fromkeys(part.strip().casefold() for part in value.split(",") if part.strip()))
    if len(folded) > MOST_TAGS:
        raise Refusal(f"{len(folded)} tags in one filter; {MOST_TAGS} is the most.", name)
    return folded


def _milliseconds(value: str, name: str) -> int:
    if not _SECONDS.fullmatch(value):
        raise Refusal(f"{value!r} is not a length in seconds; write it as 12 or 2.5.", name)
    return round(1000 * float(value))


def _one_of(*known: str):
    def read_one(value: str, name: str) -> str:
        if value not in known:
            raise Refusal(f"{value!r} is not known here; use {' or '.join(known)}.", name)
        return value

    return read_one


_READ = {
    "text": _text,
    "production": lambda value, name: value.upper(),
    "card": _text,
    "clip": _clip,
    "camera": lambda value, name: value.upper(),
    "date": _date,
    "day": _day,
    "since": _time,
    "until": _time,
    "tag": _tags,
    "tag_any": _tags,
    "tag_none": _tags,
    "rating": _rating,
    "logger": _text,
    "longer": _milliseconds,
    "shorter": _milliseconds,
    "seen": _one_of("twice"),
    "pulled": _one_of("no", "unlisted"),
    "cut": _one_of("yes", "no"),
    "angles": _one_of("yes"),
    "keep": _one_of("yes"),
    "sort": _one_of(*SORTS),
}
