"""What the demo's people did in the days before it was made: through the use cases that the pages use, one thing after
the other, each at its time."""

import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from itertools import groupby

from django.db import transaction
from django.utils import timezone

from review.demo import days, logbook, notes, scenario
from review.demo.days import SLOT, Sitting, When
from review.desk import exporting, keeping, lists, returned_cuts
from review.marking import selecting, taking_notes
from review.models import Clip, Person, Production, Select, SelectsList, Viewing
from review.record import presence, stints, watching
from review.team import handing_out, planning, second_looks

_NAMES = uuid.UUID("6d5fb1a4-3a35-4f0e-9d4b-6c1f4cf0a7c3")  # so that a second run writes nothing twice
Deed = tuple[datetime, Callable[[], object]]


@contextmanager
def clock_at(moment: datetime) -> Iterator[None]:
    """It is `moment` for everything that asks Django for the time. For the demo's own process alone, in which nothing
    else runs: what happened is written once and never edited, so its time has to be right when it is written."""
    real = timezone.now
    timezone.now = lambda: moment
    try:
        yield
    finally:
        timezone.now = real


def make_logbook() -> None:
    """Everything that the demo's people have done so far."""
    if SelectsList.objects.exists():
        return
    with transaction.atomic():  # all of it or nothing, as half of it could not be gone on with
        for moment, do in sorted(_Days().deeds(), key=lambda deed: deed[0]):
            with clock_at(moment):
                do()


class _Days:
    def __init__(self):
        self.today, self.now = timezone.localdate(), timezone.now()
        self.people = {person.username: person for person in Person.objects.all()}
        self.clips = {(c.card.name, c.name): c for c in Clip.objects.select_related("card__production")}
        self.productions = [Production.objects.get(code=each.code) for each in scenario.PRODUCTIONS]
        self.marked: dict[int, Select] = {}  # by their places in logbook.MARKS

    def deeds(self) -> Iterator[Deed]:
        """What was done, and when; in no order."""
        first = self.productions[0]
        yield self._at(days.NOTES_TAKEN), lambda: taking_notes.take(self._one("producer"), first, notes.CSV.encode())
        for number, sitting in enumerate(days.SITTINGS):
            yield from self._sitting(sitting, number)
        for asked in days.SECOND_LOOKS:
            yield self._at(asked.when), lambda asked=asked: self._ask(asked)
        for taken in days.LEFT_ALONE:
            yield self._at(taken.when), lambda taken=taken: self._take(taken)
        yield self._at(days.KEPT.when), self._keep
        yield self._at(days.BEST_PULLED), self._pull_the_best
        yield self.now - timedelta(hours=days.HANDED_OUT.hours_ago), lambda: self._hand_out(first)
        yield self.now - timedelta(hours=days.ROUGH_CUT.hours_ago), lambda: self._take_in_the_cut(first)

    def _at(self, when: When) -> datetime:
        return timezone.make_aware(when.on(self.today))

    def _one(self, role: str) -> Person:
        return next(self.people[each.login] for each in scenario.PEOPLE if each.role == role)

    def _sitting(self, sitting: Sitting, number: int) -> Iterator[Deed]:
        begins = self._at(sitting.begins)
        for slot, part in enumerate(sitting.slot_by_slot()):
            late = begins + (slot + 1) * SLOT - timedelta(minutes=1)
            yield late, lambda slot=slot, part=part: self._work(sitting, number, slot, part, begins)
        yield begins + sitting.slots * SLOT, lambda: self._leave(sitting, number)

    def _work(self, sitting: Sitting, number: int, slot: int, part: list[days.Seen], begins: datetime) -> None:
        """One slot: what was on the screen, and what was marked of it."""
        person = self.people[sitting.logger]
        for (card, name), seen in groupby(part, key=lambda each: (each.card, each.clip)):
            clip, viewing = self.clips[card, name], _viewing(number, card, name)
            # Opened as the sitting began, so that the clock allows what was watched since.
            about = {"person": person, "clip": clip, "opened_at": begins}
            Viewing.objects.get_or_create(id=viewing, defaults=about)
            spans = [
                watching.Span(each.in_frame, each.out_frame, 4.0 if each.skimmed else 1.0, each.skimmed)
                for each in seen
            ]
            watching.record(person, clip, viewing, slot + 1, spans)
        for at in days.marked_in(sitting, part):
            if at not in self.marked:
                self._mark(at)

    def _mark(self, at: int) -> None:
        mark = logbook.MARKS[at]
        says = selecting.Mark(mark.in_frame, mark.out_frame, mark.tags, mark.note, mark.rating)
        clip, select_id = self.clips[mark.card, mark.clip], uuid.uuid5(_NAMES, f"mark {at}")
        self.marked[at] = selecting.put(self.people[mark.logger], select_id, clip, says, 0)

    def _leave(self, sitting: Sitting, number: int) -> None:
        last = sitting.seen[-1]
        clip, viewing = self.clips[last.card, last.clip], _viewing(number, last.card, last.clip)
        presence.leave(self.people[sitting.logger], clip, viewing, last.out_frame - 1, sitting.remark)

    def _ask(self, asked: days.SecondLook) -> None:
        second_looks.ask(self.people[asked.asked_by], self.clips[asked.card, asked.clip], why=asked.why)

    def _take(self, taken: days.Taken) -> None:
        person, clip = self.people[taken.logger], self.clips[taken.card, taken.clip]
        stints.take(person, clip)
        stints.touched(person, clip, when=timezone.now())  # a new row would have the time that it really is

    def _hand_out(self, production: Production) -> None:
        out = days.HANDED_OUT
        split = planning.propose(self.people[out.by], production, {"cards": out.cards}, out.hours)
        handing_out.accept(self.people[out.by], split, split.version)
        for stint in split.stints.select_related("logger", "clip"):
            stints.touched(stint.logger, stint.clip, when=timezone.now())

    def _pull_the_best(self) -> None:
        for told, production in zip(scenario.PRODUCTIONS, self.productions, strict=True):
            made = [self.marked[at] for at in sorted(self.marked)]
            best = [s.id for s in made if s.clip.card.production_id == production.id and s.rating >= 4]
            made = lists.make(self._one("editor"), production, f"{told.title}: the best so far", best)
            exporting.export_by(self._one("editor"), made, "edl")

    def _keep(self) -> None:
        kept = days.KEPT
        keeping.flag(self.people[kept.by], self.marked[kept.mark], kept.people, kept.rights)

    def _take_in_the_cut(self, production: Production) -> None:
        """As an editing system gives it back: some of what was pulled, in a list of its own."""
        told = days.ROUGH_CUT
        pulled = production.lists.get().exports.get().content.decode("ascii")
        content = pulled.partition(f"\r\n{told.events + 1:03}  ")[0] + "\r\n"
        name = f"{told.name}.edl"
        returned_cuts.take_in(self.people[told.by], production, name, content.encode("ascii"), name=told.name)


def _viewing(number: int, card: str, clip: str) -> uuid.UUID:
    return uuid.uuid5(_NAMES, f"sitting {number} {card} {clip}")
