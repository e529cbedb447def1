"""Productions and the people in them."""

import re
import secrets

from django.db import transaction
from django.utils import timezone
from rest_framework.authtoken.models import Token

from review import access, roles
from review.cards.names import NameMisfit, production_code
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
    return add_member(name, production, role)


def remove_member_by(owner: Person, membership: Membership) -> None:
    """Take a role away. What the person did stays. A production keeps at least one owner."""
    production = membership.production
    access.require(owner, production, roles.MANAGE_PEOPLE)
    with transaction.atomic():
        owners = Membership.objects.select_for_update().filter(production=production, role=roles.OWNER)
        if membership.role == roles.OWNER and len(owners) == 1:
            raise Refusal(f"{membership.person} is the only owner of {production.code}; make another owner first.")
        membership.delete()
        if not production.memberships.filter(person=membership.person).exists():
            # What they had taken on is free again.
            held = Stint.objects.filter(clip__card__production=production, logger=membership.person, ended_at=None)
            held.update(ended_at=timezone.now())


def renew_password(person: Person) -> str:
    password = fresh_password()
    person.set_password(password)
    person.save(update_fields=["password"])
    return password


def renew_password_by(owner: Person, person: Person) -> str:
    """A new password for somebody who lost theirs, from an owner of every production they are in."""
    theirs = set(Membership.objects.filter(person=person).values_list("production", flat=True))
    owned = set(Membership.objects.filter(person=owner, role=roles.OWNER).values_list("production", flat=True))
    if not theirs or not theirs <= owned:
        raise NotAllowed(
            f"{person} is in productions that you do not own; whoever runs this Rushlight can give a new password "
            "with: manage.py member"
        )
    return renew_password(person)


def token_of(person: Person) -> str:
    """Their API token, made if they have none."""
    return Token.objects.get_or_create(user=person)[0].key


def fresh_password() -> str:
    """Three groups of four letters and digits that are not mistaken for one another."""
    letters = "abcdefghjkmnpqrstuvwxyz23456789"
    return "-".join("".join(secrets.choice(letters) for _ in range(4)) for _ in range(3))
