"""The ways through the house: what stands in the line at the top of every page, and what under More."""

from dataclasses import dataclass

from django.http import HttpRequest
from django.urls import reverse

from review import roles


@dataclass(frozen=True)
class Way:
    """A link at the top of a page. `parts` are the first parts of the addresses that belong to it."""

    words: str
    name: str  # of its address
    parts: frozenset[str]
    ability: str = roles.SEE

    @property
    def address(self) -> str:
        return reverse(self.name)


def _way(words: str, name: str, *parts: str, ability: str = roles.SEE) -> Way:
    return Way(words, name, frozenset({name, *parts}), ability)


LINE = (
    _way("Stints", "stints", "splits", ability=roles.TAKE_STINTS),
    _way("Days", "days"),
    _way("Coverage", "coverage", "forecast", "second-looks", "agreement"),
    _way("Cards", "cards", "clips"),
    _way("Selects", "selects"),
    _way("Lists", "lists", "stringouts"),
)
MORE = (
    _way("Field notes", "notes"),
    _way("Tags", "tags"),
    _way("Returned cuts", "cuts"),
    _way("Worth keeping", "keeping"),
    _way("Shelf", "shelf", "copies"),
    _way("What happened", "activity"),
    _way("People", "people", ability=roles.MANAGE_PEOPLE),
    _way("Machines", "machines", ability=roles.SEE_INSIDE),
    _way("Rules", "rules"),
)


def ways(request: HttpRequest, held: set[str]) -> dict:
    """What somebody who holds these roles is offered, and where they are."""
    here = request.path.split("/")[1]

    def offered(all_of_them):
        return [(each, here in each.parts) for each in all_of_them if roles.may(held, each.ability)]

    more = offered(MORE)
    return {"line": offered(LINE), "more": more, "in_more": next((way for way, there in more if there), None)}
