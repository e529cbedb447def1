"""How a person likes to work: their own keys, and a few measures. Kept with the person, so they hold everywhere."""

import re

from review.models import Person
from review.refusals import Refusal

CATCH_SECONDS = 10  # how far back the catch key reaches
MOST_KEYS = 200

_KEY = re.compile(r"(Ctrl )?(Shift )?([!-~]|Space|Delete|Escape|Enter|Home|End|PageUp|PageDown|Tab|F\d{1,2}|[←-↓])")
_INTENT = re.compile(r"[a-zA-Z]{1,40}(:[0-9a-z]{1,3})?")


def of(person: Person) -> dict:
    """The person's habits, whole: what they never set is as it is for everybody."""
    kept = person.habits or {}
    return {"keys": kept.get("keys", {}), "catch_seconds": kept.get("catch_seconds", CATCH_SECONDS)}


def keep(person: Person, keys: dict | None = None, catch_seconds: int | None = None) -> dict:
    """Keep a person's habits; what is not given stays. `keys` maps what to do (an intent of the page's key table) to
    the keys that do it, none to have none; intents that are not in it keep their usual keys."""
    kept = of(person)
    if keys is not None:
        kept["keys"] = _checked(keys)
    if catch_seconds is not None:
        if not 1 <= catch_seconds <= 600:
            raise Refusal("The catch key reaches 1 to 600 seconds back.", "catch_seconds")
        kept["catch_seconds"] = catch_seconds
    person.habits = kept
    person.save(update_fields=["habits"])
    return kept


def _checked(keys: dict) -> dict:
    if len(keys) > MOST_KEYS:
        raise Refusal(f"{len(keys)} changed keys; {MOST_KEYS} is the most.", "keys")
    used: dict[str, str] = {}
    for intent, names in keys.items():
        if not _INTENT.fullmatch(intent) or not isinstance(names, list) or len(names) > 4:
            raise Refusal(f"{intent[:40]!r} is nothing that a key can do.", "keys")
        for name in names:
            if not isinstance(name, str) or not _KEY.fullmatch(name):
                raise Refusal(f"{str(name)[:20]!r} is no key.", "keys")
            if other := used.get(name):
                raise Refusal(f"{name} cannot do two things: {other} and {intent}.", "keys")
            used[name] = intent
    return keys
