"""Lists handed over: every export is kept as it went out, and what is new since somebody's last pull.

A pull is an export to a system that cuts; a table for reading is none. What is new is counted from all that this
person has pulled of the list, so that taking only what is new, twice, never gives the same event twice.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

from django.db import transaction
from django.db.models import QuerySet
from django.db.models.functions import Length
from django.utils import timezone

from review import roles
from review.crew import access, activity
from review.desk import pulling
from review.exports import FORMATS, Event, ExportOptions, ExportRefused, OptionRefused, Remark, bundle, preflight
from review.exports import SelectsList as Pull
from review.models import ListExport, Person, SelectsList
from review.refusals import NotFound, Refusal

PULLS = ("edl", "otio")
_ONCE = timedelta(seconds=60)  # the same bytes asked for twice in this time are one export: a click, a retry


@dataclass(frozen=True)
class News:
    """What is in a list that somebody has not pulled: of `events`, those in `changed` are selects that were pulled in
    another cut; `gone` selects were pulled and are no longer there. `last` is that person's last pull."""

    last: ListExport | None
    events: tuple[Event, ...]
    changed: tuple[Event, ...]
    gone: int

    @property
    def added(self) -> int:
        """How many events are of selects that were not pulled before."""
        return len(self.events) - len(self.changed)


def read_options(given: Mapping[str, object]) -> ExportOptions:
    """The options in a query, a form or JSON. Raises Refusal with the option's name as its field."""
    try:
        return ExportOptions.read(given)
    except OptionRefused as problem:
        raise Refusal(str(problem), problem.field) from None


def export(
    selects_list: SelectsList,
    kind: str,
    options: ExportOptions | None = None,
    *,
    person: Person | None = None,
    only_new: bool = False,
) -> ListExport:
    """Export the list as 'edl', 'csv' or 'otio' and keep what came out; several EDLs come in a zip. With `only_new`,
    what `person` has not pulled. Raises Refusal."""
    _require_kind(kind)
    options = options or ExportOptions()
    try:
        pulled = _pull(selects_list, person, only_new)
        file = bundle(FORMATS[kind](pulled, options))
    except OptionRefused as problem:
        raise Refusal(str(problem), problem.field) from None
    except ExportRefused as problem:
        raise Refusal(str(problem), "selects") from None
    chosen = options.chosen() | ({"new": True} if only_new else {}) | ({"merge": True} if _merges(selects_list) else {})
    digest = hashlib.sha256(file.content).hexdigest()
    with transaction.atomic():
        locked = SelectsList.objects.select_for_update().get(id=selects_list.id)
        last = locked.exports.defer("content").first()
        if last and last.made_at > timezone.now() - _ONCE and _says(last) == (person, kind, chosen, digest):
            last.content = file.content
            return last
        kept = locked.exports.create(
            number=last.number + 1 if last else 1,
            made_by=person,
            kind=kind,
            options=chosen,
            events=[[event.select_id, event.in_frame, event.out_frame] for event in pulled.events],
            name=file.name,
            content_type=file.content_type,
            content=file.content,
            sha256=digest,
        )
        offered = {"merge": _merges(locked), "kind": kind, **options.chosen()}
        SelectsList.objects.filter(id=locked.id).update(options=offered)  # of no interest to those who edit it
        what = f"{len(pulled.events)} {'events' if len(pulled.events) > 1 else 'event'}"
        activity.happened(
            selects_list.production,
            person,
            "exported",
            f"the list “{selects_list.name}” as {kind.upper()}, {what}, number {kept.number}",
            activity.About.LIST,
            selects_list.id,
        )
    return kept


def export_by(
    person: Person,
    selects_list: SelectsList,
    kind: str,
    options: ExportOptions | None = None,
    *,
    only_new: bool = False,
) -> ListExport:
    access.require(person, selects_list.production, roles.EXPORT)
    return export(selects_list, kind, options, person=person, only_new=only_new)


def versions(selects_list: SelectsList) -> QuerySet[ListExport]:
    """The exports of a list, the newest first, without their bytes; `size` says how many there are."""
    return selects_list.exports.select_related("made_by").annotate(size=Length("content")).defer("content")


def kept(selects_list: SelectsList, number: int) -> ListExport:
    """An export of this list as it went out. Raises NotFound."""
    found = selects_list.exports.filter(number=number).first() if 0 < number < 2**31 else None
    if found is None:
        raise NotFound(f"The list “{selects_list.name}” has no export {number}; its page shows those there are.")
    found.content = bytes(found.content)  # some databases give a view
    return found


def check(
    person: Person, selects_list: SelectsList, kind: str, options: ExportOptions, *, only_new: bool = False
) -> list[Remark]:
    """All that the format cannot carry of the list as it is, before it is exported. Raises Refusal where there is
    nothing to export."""
    access.require(person, selects_list.production, roles.EXPORT)
    _require_kind(kind)
    try:
        return preflight(_pull(selects_list, person, only_new), kind, options)
    except ExportRefused as problem:
        raise Refusal(str(problem), "selects") from None


def news(selects_list: SelectsList, person: Person, events: tuple[Event, ...] | None = None) -> News:
    """What `person` has not pulled of the list; `events` are those of the list, if they are at hand."""
    events = pulling.events(selects_list) if events is None else events
    pulls = list(selects_list.exports.filter(made_by=person, kind__in=PULLS).defer("content"))
    had = {tuple(event) for each in pulls for event in each.events}
    had_selects = {select for select, _, _ in had}
    fresh = tuple(event for event in events if (event.select_id, event.in_frame, event.out_frame) not in had)
    here = {select for event in events for select in (event.select_id, *event.also)}
    return News(
        pulls[0] if pulls else None,
        fresh,
        tuple(event for event in fresh if event.select_id in had_selects),
        len(had_selects - here),
    )


def _pull(selects_list: SelectsList, person: Person | None, only_new: bool) -> Pull:
    if not only_new:
        return pulling.pull(selects_list)
    if person is None:
        raise Refusal("What is new is counted from somebody's last pull: say who.", "new")
    found = news(selects_list, person)
    if found.last is None:
        raise Refusal(
            f"You have not pulled “{selects_list.name}” before, so all of it is new: export the whole list.", "new"
        )
    if not found.events:
        raise Refusal(f"Nothing is new in “{selects_list.name}” since your export {found.last.number}.", "new")
    return Pull(f"{selects_list.name} new", found.events, selects_list.production.code)


def _says(made: ListExport) -> tuple:
    return made.made_by, made.kind, made.options, made.sha256


def _merges(selects_list: SelectsList) -> bool:
    return pulling.merges(selects_list)


def _require_kind(kind: str) -> None:
    if kind not in FORMATS:
        raise Refusal(f"{kind!r} is not a format; use one of {', '.join(FORMATS)}.", "as")
