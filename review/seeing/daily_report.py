"""The daily log report: what a shoot day brought, how far it has been seen, and what still keeps its cards."""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db.models import Prefetch

from review.cards.wiping import WipeAnswer
from review.custody import wiping
from review.models import Card, FieldNote, Production, Select, Tag
from review.record import coverage, field_notes
from review.record.coverage import Coverage
from review.refusals import NotFound
from review.seeing import day_map

BEST = 12  # selects with a picture
LEAST_RATING = 3  # of 5, to be among the best


@dataclass(frozen=True)
class CardLine:
    """A card of the day: `part` is None for one that is not trusted; `first` and `last` are times of day or ""."""

    card: Card
    part: Coverage | None
    first: str
    last: str
    wipe: WipeAnswer


@dataclass(frozen=True)
class Report:
    """A shoot day on paper. `people` are (name, seconds watched by them, seconds that they skimmed and did not watch),
    most first; `still` are the stretches of time (words from, to) when no camera rolled."""

    production: Production
    day: date
    total: Coverage
    cameras: list[tuple[str, Coverage]]  # or recorders, by name
    cards: list[CardLine]
    people: list[tuple[str, Fraction, Fraction]]
    best: list[Select]
    rated: int  # selects of LEAST_RATING or more
    lost_notes: list[FieldNote]
    note_count: int
    still: list[tuple[str, str]]

    @property
    def uncounted(self) -> int:
        """Cards whose footage is not counted, because they cannot be trusted yet."""
        return sum(line.part is None for line in self.cards)

    @property
    def not_to_be_wiped(self) -> list[CardLine]:
        return [line for line in self.cards if not line.wipe.may]


def of(production: Production, day: date) -> Report:
    """The report of a day. Raises NotFound for one with neither cards nor field notes."""
    cards = list(production.cards.filter(shoot_date=day))
    notes = list(production.field_notes.filter(day=day))
    if not cards and not notes:
        raise NotFound(f"Nothing of {production.code} was shot or written down on {day:%-d %B %Y}.")
    parts = coverage.by_card(production, day=day)
    total = coverage.total(parts.values())
    wipes = wiping.answers(cards)
    rolled = day_map.in_order(production, day)
    good = _selects(production, day)
    return Report(
        production=production,
        day=day,
        total=total,
        cameras=[(_named(camera, rolled), part) for camera, part in coverage.by_camera(parts).items()],
        cards=[CardLine(card, parts.get(card), *_times(card, rolled), wipes[card.id]) for card in cards],
        people=_people(total),
        best=list(good[:BEST]),
        rated=good.count(),
        lost_notes=field_notes.without_footage(production, notes),
        note_count=len(notes),
        still=[tuple(map(day_map.time_of_day, each)) for each in day_map.still_times(rolled)],
    )


def _people(total: Coverage) -> list[tuple[str, Fraction, Fraction]]:
    names = [*total.most("watched"), *total.most("skimmed")]
    return [(name, total.by(name, "watched"), total.by(name, "skimmed")) for name in dict.fromkeys(names)]


def _selects(production: Production, day: date):
    marked = Select.objects.filter(clip__in=coverage.footage(production), clip__card__shoot_date=day, deleted=None)
    tags = Prefetch("tags", Tag.objects.order_by("name"))
    return (
        marked.filter(rating__gte=LEAST_RATING)
        .select_related("clip__card", "logger")
        .prefetch_related(tags)
        .order_by("-rating", "clip__start_frame", "in_frame", "id")
    )


def _named(camera: str, rolled: list[day_map.Rolled]) -> str:
    """A camera's letter in words; what recorded sound alone that day is none."""
    sound_alone = {each.sound for each in rolled if each.camera == camera} == {True}
    return f"{'Sound' if sound_alone else 'Camera'} {camera}"


def _times(card: Card, rolled: list[day_map.Rolled]) -> tuple[str, str]:
    mine = [clip for clip in rolled if clip.card == card.id]
    if not mine:
        return "", ""
    return day_map.time_of_day(min(c.start for c in mine)), day_map.time_of_day(max(c.end for c in mine))
