"""Productions and the people in them."""

import re
import secrets
from collections.abc import Iterable

from django.db import transaction
from django.db.models import Count
from django.utils import timezone

from review import roles
from review.cards.names import NameMisfit, production_code
from review.crew import access, activity, tokens
from review.models import Membership, Person, Production, Stint
from review.refusals import NotAllowed, Refusal
from review.timecode import Rate, Timebase, TimecodeError

_LOGIN = re.compile(r"[\w.@+-]{1,150}")


def find_production(code: str) -> Production:
    production = Production.objects.filter(code=code.strip().upper()).first()
    if production is None:
        known = ", ".join(Production.objects.values_list("code", flat=True)) or "none yet"
        raise Refusal(
            f'There is no production {code!r} (there is: {known}); make it with: manage.py production CODE "Title"',
            "production",
        )
    return production


def make_production(code: str, title: str, timebase: Timebase | None = None) -> tuple[Production, bool]:
    """Make a production (at 25 if no timebase is given), or give an existing one this title and, if given,
    this timebase. Returns it and whether it is new."""
    try:
        code = production_code(code)
    except NameMisfit as misfit:
        raise Refusal(str(misfit), "code") from None
    title = " ".join(title.split())
    if not 1 <= len(title) <= 200:
        raise Refusal("A production needs a title of up to 200 characters.", "title")
    production = Production.objects.filter(code=code).first()
    new = production is None
    production = production or Production(code=code)
    production.title = title
    if timebase is not None:
        production.rate_numerator, production.rate_denominator = timebase.rate.numerator, timebase.rate.denominator
        production.drop = timebase.drop
    production.save()
    return production, new


def read_timebase(text: str) -> Timebase:
    """'25', '29.97' (non-drop), '29.97DF' or '59.94df'. Raises Refusal."""
    text = text.strip().upper()
    try:
        drop = text.endswith("DF") and not text.endswith("NDF")
        return Timebase(Rate.parse(text.removesuffix("DF").removesuffix("N")), drop)
    except TimecodeError as problem:
        raise Refusal(str(problem), "rate") from None


def add_member(name: str, production: Production, role: str) -> tuple[Person, str | None]:
    """Give somebody a role; make them if they are new. Returns them and, if new, their password (shown once)."""
    if role not in roles.ROLES:
        raise Refusal(f"{role!r} is not a role; the roles are: {', '.join(roles.ROLES)}.", "role")
    if not _LOGIN.fullmatch(name):
        raise Refusal("A sign-in name is letters, digits and @ . + - _ only, up to 150 of them.", "name")
    with transaction.atomic():
        person = Person.objects.filter(username__iexact=name).first()
        password = None
        if person is None:
            password = fresh_password()
            person = Person.objects.create_user(name, password=password)
        Membership.objects.get_or_create(production=production, person=person, role=role)
    return person, password


def add_member_by(owner: Person, name: str, production: Production, role: str) -> tuple[Person, str | None]:
    access.require(owner, production, roles.MANAGE_PEOPLE)
    with transaction.atomic():
        person, password = add_member(name, production, role)
        _happened(production, owner, "added", f"{person} as {role}", person)
    return person, password


def _happened(production: Production, by: Person, did: str, words: str, person: Person) -> None:
    activity.happened(production, by, did, words, activity.About.PEOPLE, person.id)


def remove_member_by(owner: Person, membership: Membership) -> None:
    """Take a role away. What the person did stays. A production keeps at least one owner."""
    production = membership.production
    access.require(owner, production, roles.MANAGE_PEOPLE)
    with transaction.atomic():
        owners = list(Membership.objects.select_for_update().filter(production=production, role=roles.OWNER))
        others = Membership.objects.filter(id__in=[each.id for each in owners], person__is_active=True)
        if membership.role == roles.OWNER and not others.exclude(id=membership.id).exists():
            raise Refusal(f"{membership.person} is the only owner of {production.code}; make another owner first.")
        membership.delete()
        freed = ""
        if not production.memberships.filter(person=membership.person).exists():
            freed = _free_stints(membership.person, production, "no longer in the production")
        said = f"the role {membership.role} from {membership.person}{freed}"
        _happened(production, owner, "took", said, membership.person)


def _free_stints(person: Person, production: Production, why: str) -> str:
    """What somebody had taken on is free again. Returns the words for it, to be added to what happened."""
    held = Stint.objects.filter(clip__card__production=production, logger=person, ended_at=None)
    freed = held.update(ended_at=timezone.now(), ended_why=why)
    return f", and freed what they held: {freed} stretch{'es' if freed > 1 else ''}" if freed else ""


def stints_held(persons: Iterable[Person]) -> dict[int, int]:
    """By person, how many stints they hold, in all productions: what `stop_by` would free."""
    held = Stint.objects.filter(logger__in=list(persons), ended_at=None).order_by().values_list("logger")
    return dict(held.annotate(Count("id")))


def stop_by(owner: Person, person: Person) -> None:
    """Nobody signs in as `person` any more, nor does a script of theirs. What they did stays, under their name; what
    they had taken on is free. By an owner of every production they are in. Twice is once."""
    _require_owner_of_all(owner, person, "stop their sign-in")
    if person == owner:
        raise Refusal("You cannot stop your own sign-in; ask another owner.")
    with transaction.atomic():
        person = Person.objects.select_for_update().get(id=person.id)
        if not person.is_active:
            return
        person.is_active = False
        person.save(update_fields=["is_active"])
        tokens.revoke_all(person)
        for production in access.productions(person):
            freed = _free_stints(person, production, "the sign-in was stopped")
            _happened(production, owner, "stopped the sign-in of", f"{person}{freed}", person)


def bring_back_by(owner: Person, person: Person) -> None:
    """Somebody whose sign-in was stopped may sign in again, with the password they had; their tokens stay revoked."""
    _require_owner_of_all(owner, person, "bring them back")
    with transaction.atomic():
        person = Person.objects.select_for_update().get(id=person.id)
        if person.is_active:
            return
        person.is_active = True
        person.save(update_fields=["is_active"])
        for production in access.productions(person):
            _happened(production, owner, "brought back", str(person), person)


def _require_owner_of_all(owner: Person, person: Person, what: str) -> None:
    if not _owns_all(owner, person):
        raise NotAllowed(
            f"{person} is in productions that you do not own, so you cannot {what}; ask somebody who owns them all, "
            "or take their roles in yours away."
        )


def _owns_all(owner: Person, person: Person) -> bool:
    """Whether every production that `person` is in has this owner."""
    theirs = set(Membership.objects.filter(person=person).values_list("production", flat=True))
    owned = set(Membership.objects.filter(person=owner, role=roles.OWNER).values_list("production", flat=True))
    return owner.is_active and bool(theirs) and theirs <= owned


def change_password(person: Person, password: str) -> int:
    """A new password ends what the old one opened: all sessions (their digest is of the password), and all tokens.
    Returns how many tokens ended."""
    with transaction.atomic():
        person.set_password(password)
        person.save(update_fields=["password"])
        return tokens.revoke_all(person)


def renew_password(person: Person) -> str:
    password = fresh_password()
    change_password(person, password)
    return password


def renew_password_by(owner: Person, person: Person) -> str:
    """A new password for somebody who lost theirs, from an owner of every production they are in."""
    if not _owns_all(owner, person):
        raise NotAllowed(
            f"{person} is in productions that you do not own; whoever runs this Rushlight can give a new password "
            "with: manage.py member"
        )
    with transaction.atomic():
        for production in access.productions(person):
            _happened(production, owner, "gave a new password to", str(person), person)
        return renew_password(person)


def fresh_password() -> str:
    """Three groups of four letters and digits that are not mistaken for one another."""
    letters = "abcdefghjkmnpqrstuvwxyz23456789"
    return "-".join("".join(secrets.choice(letters) for _ in range(4)) for _ in range(3))
