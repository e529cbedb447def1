"""The demo's rows: productions, people, and what they have logged so far."""

import uuid
from datetime import timedelta

from django.conf import settings
from django.utils import timezone

from review import copies, field_notes, lists, people, selecting, tagging, watching
from review.demo import logbook, notes, scenario, shelf
from review.models import Card, Clip, Medium, Person, Production, SelectsList, TapeDrive, Viewing

PASSWORD = "kestrel-bay"  # the demo is served to its own machine only
_NAMES = uuid.UUID("6d5fb1a4-3a35-4f0e-9d4b-6c1f4cf0a7c3")  # so that a second run writes nothing twice


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


def make_logbook() -> None:
    """Marks, watched ranges and a list, through the use cases that the pages use."""
    if SelectsList.objects.exists():
        return
    persons = {person.username: person for person in Person.objects.all()}
    clips = {(c.card.name, c.name): c for c in Clip.objects.select_related("card__production")}
    for number, seen in enumerate(logbook.WATCHED):
        _watch(persons[seen.logger], clips[seen.card, seen.clip], seen, uuid.uuid5(_NAMES, f"seen {number}"))
    production = Production.objects.get(code=scenario.PRODUCTIONS[0].code)
    producer = next(persons[each.login] for each in scenario.PEOPLE if each.role == "producer")
    field_notes.take(producer, production, notes.CSV.encode())
    made = []
    for number, mark in enumerate(logbook.MARKS):
        clip = clips[mark.card, mark.clip]
        says = selecting.Mark(mark.in_frame, mark.out_frame, mark.tags, mark.note, mark.rating)
        made.append(selecting.put(persons[mark.logger], uuid.uuid5(_NAMES, f"mark {number}"), clip, says, 0))
    editor = next(persons[each.login] for each in scenario.PEOPLE if each.role == "editor")
    for each in scenario.PRODUCTIONS:
        production = Production.objects.get(code=each.code)
        best = [s.id for s in made if s.clip.card.production_id == production.id and s.rating >= 4]
        lists.make(editor, production, f"{each.title}: the best so far", best)


def _watch(person: Person, clip: Clip, seen: logbook.Watched, viewing_id: uuid.UUID) -> None:
    # As if the page had been opened an hour ago, so that the clock allows what was watched since.
    Viewing.objects.get_or_create(
        id=viewing_id,
        defaults={"person": person, "clip": clip, "opened_at": timezone.now() - timedelta(hours=1)},
    )
    speed = 4.0 if seen.skimmed else 1.0
    watching.record(person, clip, viewing_id, 1, [watching.Span(seen.in_frame, seen.out_frame, speed, seen.skimmed)])
