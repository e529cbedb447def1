"""What a person may see and do. Everything that is shown starts from one of these queries."""

from django.db.models import Q, QuerySet

from review import roles
from review.models import (
    Card,
    Clip,
    Cut,
    Job,
    Membership,
    NamedSearch,
    Person,
    Production,
    SecondLook,
    Select,
    SelectsList,
    Split,
    Stint,
    Stringout,
    Tag,
    Viewing,
    WorthKeeping,
)
from review.refusals import NotAllowed, NotFound


def roles_in(person: Person, production: Production) -> set[str]:
    return set(Membership.objects.filter(person=person, production=production).values_list("role", flat=True))


def may(person: Person, production: Production, ability: str) -> bool:
    return person.is_active and roles.may(roles_in(person, production), ability)


def require(person: Person, production: Production, ability: str) -> None:
    """Raise NotFound for somebody outside the production, NotAllowed for a member without the ability."""
    held = roles_in(person, production) if person.is_active else set()
    if not held:
        raise NotFound("There is no such production, or you are not a member of it.")
    if not roles.may(held, ability):
        raise NotAllowed(f"To {ability} in {production.code} you must be {roles.who_may(ability)}; ask its owner.")


def productions(person: Person) -> QuerySet[Production]:
    return Production.objects.filter(memberships__person=person).distinct()


def last_in(person: Person) -> Production | None:
    """The production of the footage that they opened last; the first of theirs, if they have opened none."""
    opened = Viewing.objects.filter(person=person, clip__card__production__in=_in_productions(person))
    last = opened.order_by("-opened_at").select_related("clip__card__production").first()
    return last.clip.card.production if last else productions(person).first()


def _in_productions(person: Person) -> QuerySet:
    return Membership.objects.filter(person=person).values("production")


def cards(person: Person) -> QuerySet[Card]:
    return Card.objects.filter(production__in=_in_productions(person))


def clips(person: Person) -> QuerySet[Clip]:
    return Clip.objects.filter(card__production__in=_in_productions(person))


def selects(person: Person) -> QuerySet[Select]:
    """Deleted ones included: a delete can be undone."""
    return Select.objects.filter(clip__card__production__in=_in_productions(person))


def searches(person: Person) -> QuerySet[NamedSearch]:
    return NamedSearch.objects.filter(production__in=_in_productions(person))


def tags(person: Person) -> QuerySet[Tag]:
    return Tag.objects.filter(production__in=_in_productions(person))


def stints(person: Person) -> QuerySet[Stint]:
    return Stint.objects.filter(clip__card__production__in=_in_productions(person))


def splits(person: Person) -> QuerySet[Split]:
    return Split.objects.filter(production__in=_in_productions(person))


def second_looks(person: Person) -> QuerySet[SecondLook]:
    return SecondLook.objects.filter(clip__card__production__in=_in_productions(person))


def lists(person: Person) -> QuerySet[SelectsList]:
    return SelectsList.objects.filter(production__in=_in_productions(person))


def stringouts(person: Person) -> QuerySet[Stringout]:
    return Stringout.objects.filter(list__production__in=_in_productions(person))


def cuts(person: Person) -> QuerySet[Cut]:
    return Cut.objects.filter(production__in=_in_productions(person))


def kept(person: Person) -> QuerySet[WorthKeeping]:
    """What is flagged as worth keeping, of selects that are not deleted."""
    return WorthKeeping.objects.filter(select__in=selects(person).filter(deleted=None))


def jobs(person: Person) -> QuerySet[Job]:
    mine = _in_productions(person)
    return Job.objects.filter(Q(card__production__in=mine) | Q(stringout__list__production__in=mine))
