"""The demo's rows: productions, people, and the shelf of drives (demo_days.py has what the people did)."""

from datetime import timedelta

from django.conf import settings
from django.utils import timezone

from review.crew import people
from review.custody import copies
from review.demo import scenario, shelf
from review.marking import tagging
from review.models import Card, Medium, Production, TapeDrive

PASSWORD = "kestrel-bay"  # the demo is served to its own machine only


def make_productions() -> None:
    for each in scenario.PRODUCTIONS:
        production, new = people.make_production(each.code, each.title, each.timebase)
        if new:
            tagging.know_all(production, each.tags)
            for person in scenario.PEOPLE:
                _join(production, person)


def _join(production: Production, person: scenario.Person) -> None:
    made, password = people.add_member(person.login, production, person.role)
    if password:
        made.set_password(PASSWORD)
        made.save(update_fields=["password"])


def make_shelf() -> None:
    """The copies of the cards, to be compared, and what is known of the drives that they are on."""
    if TapeDrive.objects.exists():
        return
    for copied in shelf.COPIES:
        card = Card.objects.get(name=copied.card)
        copy = copies.add(card, settings.HOME / copied.folder, is_original=copied.is_original)
        copies.ask_for_proof(copy, why="the demo")
    for drive in (shelf.WORKED_FROM, *shelf.DRIVES):
        Medium.objects.filter(label=drive.label).update(
            kind=drive.kind,
            place=drive.place,
            elsewhere=drive.elsewhere,
            in_use_since=timezone.localdate() - timedelta(days=365 * drive.years),
            check_every=drive.check_every,
        )
    label, generation = shelf.TAPE_DRIVE
    production = Production.objects.get(code=scenario.PRODUCTIONS[0].code)
    goes = timezone.localdate() + timedelta(days=150)
    TapeDrive.objects.create(production=production, label=label, generation=generation, until=goes)
