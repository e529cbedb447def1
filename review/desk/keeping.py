"""Footage worth keeping: selects that a stock library could be offered later, because an archive is often paid for
that way. Whether they may be offered is the production's to decide: the rights are written down beside each."""

import uuid
from collections.abc import Mapping, Sequence
from datetime import date

from django.db import transaction
from django.db.models import Q, QuerySet

from review import roles
from review.crew import access
from review.crew.activity import happened
from review.desk import lists
from review.exports import ExportFile
from review.models import Activity, Person, Production, Select, SelectsList, WorthKeeping
from review.refusals import Refusal
from review.tables import table

LONGEST_RIGHTS = 2_000  # characters
MOST_WORDS = 20  # of a search; what follows is left aside
FILTERS = ("people", "rights", "card", "date", "text")
People = WorthKeeping.People


def flag(person: Person, select: Select, people: str = People.UNKNOWN, rights: str = "") -> WorthKeeping:
    """Say that a select is worth keeping, or change what is said of it. `people`: whether somebody is recognisable."""
    access.require(person, select.clip.card.production, roles.MARK)
    if people not in People.values:
        raise Refusal(f"Of people, say one of {', '.join(People.values)}.", "people")
    rights = "\n".join(" ".join(line.split()) for line in rights.replace("\0", "").splitlines()).strip()
    if len(rights) > LONGEST_RIGHTS:
        raise Refusal(f"The rights note has {len(rights):,} characters; {LONGEST_RIGHTS:,} is the most.", "rights")
    with transaction.atomic():
        select = (
            Select.objects.select_for_update(of=("self",)).select_related("clip__card__production").get(id=select.id)
        )
        if select.deleted is not None:
            raise Refusal("This select was deleted; bring it back first.", "select")
        before = WorthKeeping.objects.filter(select=select).first()
        if before and (before.people, before.rights) == (people, rights):
            return before
        kept, _ = WorthKeeping.objects.update_or_create(
            select=select,
            defaults={"people": people, "rights": rights},
            create_defaults={"people": people, "rights": rights, "flagged_by": person},
        )
        said = f"{select.clip} {select.clip.label(select.in_frame)}: {kept.get_people_display()}"
        _tell(person, select, "changed what is said of" if before else "flagged as worth keeping", said)
    return kept


def unflag(person: Person, select: Select) -> None:
    """Not worth keeping after all. Nothing happens where it was not flagged."""
    production = select.clip.card.production
    access.require(person, production, roles.MARK)
    with transaction.atomic():
        kept = WorthKeeping.objects.select_for_update().filter(select=select).first()
        if kept is None:
            return
        words = f"{select.clip} {select.clip.label(select.in_frame)}"
        if kept.rights:
            words += f"; its rights note was: {kept.rights}"
        kept.delete()
        _tell(person, select, "took the flag from", words)


def of(production: Production) -> QuerySet[WorthKeeping]:
    return WorthKeeping.objects.filter(select__clip__card__production=production, select__deleted=None)


def find(found: QuerySet[WorthKeeping], wanted: Mapping[str, str]) -> QuerySet[WorthKeeping]:
    """What is flagged, in shooting order, narrowed by `people`, `rights` (noted, missing), `card` (name), `date` and
    `text` (in the rights or the note). Raises Refusal for a filter that cannot be."""
    if people := wanted.get("people", ""):
        if people not in People.values:
            raise Refusal(f"{people!a} is not one of {', '.join(People.values)}.", "people")
        found = found.filter(people=people)
    rights = wanted.get("rights", "")
    if rights:
        found = found.exclude(rights="") if rights == "noted" else found.filter(rights="")
    if card := wanted.get("card", "").replace("\0", ""):
        found = found.filter(select__clip__card__name=card)
    if day := wanted.get("date", ""):
        try:
            found = found.filter(select__clip__card__shoot_date=date.fromisoformat(day))
        except ValueError:
            raise Refusal(f"{day!a} is not a date; write it as 2026-11-12.", "date") from None
    for word in wanted.get("text", "").replace("\0", "").split()[:MOST_WORDS]:
        found = found.filter(Q(rights__icontains=word) | Q(select__note__icontains=word))
    found = found.select_related("select__clip__card", "flagged_by").prefetch_related("select__tags")
    return found.order_by(
        "select__clip__card__shoot_date",
        "select__clip__card__name",
        "select__clip__start_frame",
        "select__in_frame",
        "pk",
    )


def pull(person: Person, production: Production, name: str, select_ids: Sequence[uuid.UUID]) -> SelectsList:
    """What is flagged as a list of its own, which exports like any other."""
    access.require(person, production, roles.MAKE_LISTS)
    if not select_ids:
        raise Refusal("Nothing is chosen. Flag selects as worth keeping first, or take a filter away.", "selects")
    return lists.make(person, production, name, select_ids)


COLUMNS = (
    "card",
    "reel",
    "file",
    "clip",
    "source in",
    "source out",
    "seconds",
    "tags",
    "note",
    "people",
    "rights",
    "flagged by",
    "flagged on",
    "select id",
)


def csv_of(production: Production, found: QuerySet[WorthKeeping]) -> ExportFile:
    return table(f"{production.code} worth keeping", COLUMNS, (_row(kept) for kept in found))


def _row(kept: WorthKeeping) -> tuple[str, ...]:
    select = kept.select
    clip = select.clip
    return (
        clip.card.name,
        clip.card.reel,
        "; ".join(clip.files_of(select.in_frame, select.out_frame)[0]),
        clip.name,
        clip.label(select.in_frame),
        clip.label(select.out_frame),
        f"{float(clip.timebase.rate.seconds(select.frames)):.3f}",
        ", ".join(tag.name for tag in select.tags.all()),
        select.note,
        kept.get_people_display(),
        kept.rights,
        str(kept.flagged_by),
        f"{kept.flagged_at:%Y-%m-%d}",
        str(select.id),
    )


def _tell(person: Person, select: Select, did: str, words: str) -> None:
    production = select.clip.card.production
    happened(production, person, did, words, Activity.About.SELECT, select.id, clip=select.clip)
