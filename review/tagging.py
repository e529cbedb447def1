"""The production's tag set: words in groups, the commonest with a key of their own."""

from collections.abc import Sequence

from review.models import Production, Tag

# Letters that the watching page leaves to tags (its own are in static/review/js/keys.js), the
# ones under the left hand first.
LETTERS = "asdfgqwertzxcvbyhp"


def know(production: Production, name: str, group: str = "") -> Tag:
    """The production's tag of this name, made with the next free key if it is new to it."""
    tag, _ = production.tags.get_or_create(
        folded=name.casefold(), defaults={"name": name, "group": group, "key": _free_key(production)}
    )
    return tag


def know_all(production: Production, groups: dict[str, Sequence[str]]) -> None:
    for group, names in groups.items():
        for name in names:
            know(production, name, group)


def _free_key(production: Production) -> str:
    taken = set(production.tags.values_list("key", flat=True))
    return next((letter for letter in LETTERS if letter not in taken), "")
