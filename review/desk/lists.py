"""Selects lists: making them, adding to them, and what is set for a whole list.

Everything but adding at the end says which version of the list it was meant for, and is refused when somebody changed
the list meanwhile. What moves, trims and sorts the entries is in arranging.py; what goes out in exporting.py.
"""

import uuid
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import timedelta

from django.db import IntegrityError, transaction
from django.utils import timezone

from review import roles
from review.crew import access, activity
from review.desk import finding
from review.desk.exporting import export, export_by
from review.desk.pulling import pull
from review.models import Activity, ListEntry, Person, Production, Select, SelectsList
from review.refusals import Conflict, NotFound, Refusal
from review.searching.wanted import read

__all__ = [
    "add",
    "add_found",
    "change",
    "changing",
    "delete",
    "export",
    "export_by",
    "make",
    "pull",
    "require_usable",
    "settle",
    "why_kept",
]

MOST_ENTRIES = 10_000
LONGEST_HANDLE = 60_000  # milliseconds
_AGAIN = timedelta(minutes=10)  # in which the same thing done to a list is told once


def make(person: Person, production: Production, name: str, select_ids: Sequence[uuid.UUID] = ()) -> SelectsList:
    """Make a list of these selects, in this order."""
    access.require(person, production, roles.MAKE_LISTS)
    name = _checked_name(name)
    try:
        with transaction.atomic():
            made = SelectsList.objects.create(production=production, name=name, made_by=person)
            _append(made, select_ids)
            _tell(person, made, "made")
    except IntegrityError:
        raise _name_taken(production, name) from None
    return made


def add(person: Person, selects_list: SelectsList, select_ids: Sequence[uuid.UUID]) -> int:
    """Add selects at the end; those that are in the list already stay where they are. Returns how many were new."""
    access.require(person, selects_list.production, roles.MAKE_LISTS)
    with transaction.atomic():
        locked = SelectsList.objects.select_for_update().get(id=selects_list.id)
        added = _append(locked, select_ids)
        if added:
            _touch(locked)
            _tell(person, locked, "added to")
    return added


def add_found(person: Person, selects_list: SelectsList, wanted: Mapping[str, str]) -> int:
    """Add everything that fits these filters (of review.searching.wanted) at the end, in the order in which it was
    shot. Returns how many were new; raises Refusal for nothing, and for more than a list can hold."""
    access.require(person, selects_list.production, roles.MAKE_LISTS)
    found = finding.find([selects_list.production], read({**wanted, "production": ""})).rows
    ids = list(found.order_by("shot_at", "id").values_list("select", flat=True)[: MOST_ENTRIES + 1])
    if not ids:
        raise Refusal("Nothing fits these filters, so nothing was added; take one of them away.", "found")
    if len(ids) > MOST_ENTRIES:
        raise Refusal(f"More than {MOST_ENTRIES:,} selects fit; narrow the search, then add what it finds.", "found")
    return add(person, selects_list, ids)


def change(
    person: Person,
    selects_list: SelectsList,
    version: int,
    *,
    name: str | None = None,
    select_ids: Sequence[uuid.UUID] | None = None,
) -> SelectsList:
    """Give the list this name, or exactly these selects in this order, if it still is at `version`."""
    try:
        with changing(person, selects_list, version, "changed") as locked:
            if name is not None:
                locked.name = _checked_name(name)
            if select_ids is not None:
                _set_order(locked, select_ids)
    except IntegrityError:
        raise _name_taken(selects_list.production, name) from None
    return locked


def settle(
    person: Person, selects_list: SelectsList, version: int, *, handles: int | None = None, merge: bool | None = None
) -> SelectsList:
    """Set the handles (milliseconds on both sides of every entry), and whether selects of one clip that touch or
    overlap become one event when they are pulled."""
    if handles is not None and not 0 <= handles <= LONGEST_HANDLE:
        raise Refusal(f"Handles are from 0 to {LONGEST_HANDLE // 1000} seconds.", "handles")
    with changing(person, selects_list, version, "set the handles of") as locked:
        if handles is not None:
            locked.handles = handles
        if merge is not None:
            locked.options = {**locked.options, "merge": merge}
    return locked


def delete(person: Person, selects_list: SelectsList, version: int) -> None:
    """Delete the list, if it still is at `version`; its selects stay. Raises Refusal for one that is kept."""
    access.require(person, selects_list.production, roles.MAKE_LISTS)
    with transaction.atomic():
        locked = _held(person, selects_list, version)
        if why := why_kept(locked):
            raise Refusal(f"“{locked.name}” cannot be deleted. {why}")
        size = locked.entries.filter(select__deleted=None).count()
        words = f"the list “{locked.name}” of {size} select{'' if size == 1 else 's'}, never exported"
        activity.happened(locked.production, person, "deleted", words, activity.About.LIST, locked.id)
        locked.delete()


def why_kept(selects_list: SelectsList) -> str:
    """Why the list is not to be deleted, in words; empty for one that nobody has taken anything from."""
    if selects_list.exports.exists():
        return "It was exported, and every export is kept, so that a cut made from it can be traced to it."
    if selects_list.stringouts.exists():
        return "A stringout was made of it, which would go with it."
    return ""


@contextmanager
def changing(person: Person, selects_list: SelectsList, version: int, did: str) -> Iterator[SelectsList]:
    """The list, held for a change that was meant for `version` of it; what is done inside counts as one change, which
    is told in the activity. Raises Conflict when the list is at another version."""
    access.require(person, selects_list.production, roles.MAKE_LISTS)
    with transaction.atomic():
        locked = _held(person, selects_list, version)
        yield locked
        _touch(locked)
        _tell(person, locked, did)


def _held(person: Person, selects_list: SelectsList, version: int) -> SelectsList:
    held = SelectsList.objects.select_for_update(of=("self",)).select_related("production")
    locked = held.filter(id=selects_list.id).first()
    if locked is None:
        raise NotFound("Somebody deleted this list meanwhile; its selects are still there.", "list")
    if locked.version != version:
        last = _told(locked).select_related("person").first()
        who = f" ({last.person} {last.did} it)" if last and last.person and last.person != person else ""
        raise Conflict(f"Somebody changed this list since you saw it{who}; look at it and do it again.", locked)
    return locked


def _checked_name(name: str) -> str:
    name = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    if not 1 <= len(name) <= 200:
        raise Refusal("A list needs a name of up to 200 characters.", "name")
    return name


def _name_taken(production: Production, name: str | None) -> Refusal:
    return Refusal(f"{production.code} has a list named {name!r} already; choose another name.", "name")


def _set_order(selects_list: SelectsList, select_ids: Sequence[uuid.UUID]) -> None:
    """What was deleted meanwhile is not shown, so it cannot be named: it keeps its place in the list, at the end. What
    is new is in the section of the one before it. Raises Refusal for an order that would tear a section apart."""
    here = {entry.select_id: entry for entry in selects_list.entries.select_related("select", "section")}
    wanted = list(dict.fromkeys(select_ids))
    new = [each for each in wanted if each not in here]
    require_usable(selects_list, new)
    deleted = {each for each, entry in here.items() if entry.select.deleted} - set(wanted)
    _require_room(len(wanted) + len(deleted))
    order, section, reached = [], None, -1
    for each in [*wanted, *(each for each in here if each in deleted)]:
        entry = here.get(each) or ListEntry(list=selects_list, select_id=each, section=section)
        at = entry.section.position if entry.section else -1
        if each not in deleted:
            if at < reached:
                raise Refusal("This order tears sections apart; move selects or sections one by one.", "selects")
            section, reached = entry.section, at
        order.append(entry)
    selects_list.entries.all().delete()
    for position, entry in enumerate(order):
        entry.id, entry.position = None, position
    ListEntry.objects.bulk_create(order, batch_size=500)


def _append(selects_list: SelectsList, select_ids: Sequence[uuid.UUID]) -> int:
    here = set(selects_list.entries.values_list("select_id", flat=True))
    new = [each for each in dict.fromkeys(select_ids) if each not in here]
    require_usable(selects_list, new)
    _require_room(len(here) + len(new))
    last = selects_list.entries.order_by("-position").values_list("position", flat=True).first()
    start = 0 if last is None else last + 1
    section = selects_list.sections.last()
    ListEntry.objects.bulk_create(
        [
            ListEntry(list=selects_list, select_id=each, section=section, position=at)
            for at, each in enumerate(new, start)
        ],
        batch_size=500,
    )
    return len(new)


def _require_room(entries: int) -> None:
    if entries > MOST_ENTRIES:
        raise Refusal(f"A list holds {MOST_ENTRIES:,} selects; this would make {entries:,}. Begin another.", "selects")


def require_usable(selects_list: SelectsList, select_ids: Sequence[uuid.UUID]) -> None:
    """Raise Refusal unless all of these are undeleted selects of the list's production."""
    usable = set()
    for start in range(0, len(select_ids), 500):  # databases bound how many values a question may have
        usable.update(
            Select.objects.filter(
                id__in=select_ids[start : start + 500], clip__card__production=selects_list.production, deleted=None
            ).values_list("id", flat=True)
        )
    unknown = [each for each in select_ids if each not in usable]
    if unknown:
        raise Refusal(
            f"{len(unknown)} of these are not selects of {selects_list.production.code} (or were deleted): "
            f"{', '.join(map(str, unknown[:3]))}{'…' if len(unknown) > 3 else ''}",
            "selects",
        )


def _touch(selects_list: SelectsList) -> None:
    selects_list.version += 1
    selects_list.save(update_fields=["name", "version", "modified", "handles", "options"])


def _told(selects_list: SelectsList):
    return Activity.objects.filter(
        production=selects_list.production_id, about=activity.About.LIST, subject=str(selects_list.id)
    )


def _tell(person: Person, selects_list: SelectsList, did: str) -> None:
    """Somebody who puts a list in order moves a hundred things: it is told once in a while."""
    last = _told(selects_list).first()
    if last and (last.person_id, last.did) == (person.id, did) and last.at > timezone.now() - _AGAIN:
        return
    words = f"the list “{selects_list.name}”"
    activity.happened(selects_list.production, person, did, words, activity.About.LIST, selects_list.id)
