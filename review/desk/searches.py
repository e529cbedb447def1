"""Searches that somebody gave a name: everybody in the production finds them beside the search box."""

from dataclasses import replace
from urllib.parse import parse_qsl, urlencode

from django.db import IntegrityError, transaction

from review import roles
from review.crew import access, activity
from review.models import NamedSearch, Person, Production
from review.refusals import NotAllowed, Refusal
from review.searching import wanted

LONGEST_NAME = NamedSearch._meta.get_field("name").max_length
MOST = 200  # in one production


def name(person: Person, production: Production, title: str, query: str) -> NamedSearch:
    """Give a search a name. `query` is what follows the '?' in the address of the page; only what a search is made of
    is kept of it. Raises Refusal."""
    access.require(person, production, roles.SEE)
    title = " ".join(title.replace("\0", "").split())
    if not 1 <= len(title) <= LONGEST_NAME:
        raise Refusal(f"Give the search a name of up to {LONGEST_NAME} characters.", "name")
    kept = tidy(query)
    if not kept:
        raise Refusal("There is nothing to keep: search for something first, then give it a name.", "query")
    if production.searches.count() >= MOST:
        raise Refusal(f"{production.code} has {MOST} named searches; forget one first.", "name")
    try:
        with transaction.atomic():
            made = production.searches.create(name=title, query=kept, made_by=person)
            activity.happened(production, person, "named", f"the search “{title}”", activity.About.PRODUCTION, made.id)
    except IntegrityError:
        raise Refusal(
            f"There is a search named “{title}” already; take another name, or forget that one.", "name"
        ) from None
    return made


def tidy(query: str) -> str:
    """The filters of a query that do something, in their usual order. Raises Refusal for one that makes no sense."""
    try:
        given = dict(parse_qsl(query.removeprefix("?"), max_num_fields=100))
    except ValueError:
        raise Refusal("This search has more parts than there are filters.", "query") from None
    asked = wanted.read(given)
    return urlencode(wanted.written(replace(asked, production="")))


def forget(person: Person, search: NamedSearch) -> None:
    """Take a named search away: whoever named it may, and an owner."""
    access.require(person, search.production, roles.SEE)
    if search.made_by_id != person.id and not access.may(person, search.production, roles.MANAGE_PEOPLE):
        who = f"{search.made_by}, who named it, or an owner"
        raise NotAllowed(f"To forget “{search.name}” you must be {who}; ask them.")
    with transaction.atomic():
        activity.happened(
            search.production, person, "forgot", f"the search “{search.name}”", activity.About.PRODUCTION, search.id
        )
        search.delete()
