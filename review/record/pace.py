"""How fast people get through footage: written down in slots of five minutes as watching arrives, read by forecasts.

A slot in which somebody watched anything counts as five minutes of work: marking, tagging and going back are in it. A
longer pause is not.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import IntegrityError, transaction
from django.db.models import Count, F, Max, Sum
from django.utils import timezone

from review.forecast import Day, Done
from review.models import Clip, Person, Production, WorkedSlot
from review.remembered import Remembered

SLOT = timedelta(minutes=WorkedSlot.MINUTES)
_SLOT_HOURS = SLOT / timedelta(hours=1)
MOST_SLOTS = 144  # twelve hours: what a page that was cut off for longer brings goes into its last ones
WINDOW_DAYS = 21  # that paces are taken from: whole days, so not today
SOUND, NO_CAMERA = "sound", "?"  # kinds of footage beside camera letters


@dataclass(frozen=True)
class Worked:
    """Frames of one clip that were on the screen; *fresh* ones nobody had seen before, each counted once."""

    shown: int
    fresh_watched: int
    fresh_skimmed: int


def write_down(person: Person, clip: Clip, worked: Worked, seconds: float) -> None:
    """Add what came of `seconds` of playing, that end now, to the slots that they lie in. In the transaction that
    counts them."""
    slots = _slots(timezone.now(), seconds)
    micro = [
        count * 1_000_000 * clip.rate_denominator // clip.rate_numerator
        for count in (worked.shown, worked.fresh_watched, worked.fresh_skimmed)
    ]
    for at, began in enumerate(slots):
        sums = [each * (at + 1) // len(slots) - each * at // len(slots) for each in micro]
        _add(person, clip, began, dict(zip(("shown", "fresh_watched", "fresh_skimmed"), sums, strict=True)))


def _slots(now: datetime, seconds: float) -> list[datetime]:
    """The slots that playing which ends now took, oldest first: one, unless a page had been cut off for a while."""
    last = now.replace(minute=now.minute - now.minute % WorkedSlot.MINUTES, second=0, microsecond=0)
    count = min(MOST_SLOTS, max(1, -int(-seconds // SLOT.total_seconds())))
    return [last - back * SLOT for back in reversed(range(count))]


def _add(person: Person, clip: Clip, began: datetime, sums: dict[str, int]) -> None:
    which = {
        "production": clip.card.production,
        "person": person,
        "began": began,
        "camera": clip.card.camera,
        "sound": clip.kind == Clip.Kind.SOUND,
    }
    more = {name: F(name) + count for name, count in sums.items()}
    if WorkedSlot.objects.filter(**which).update(**more):
        return
    try:
        with transaction.atomic():
            WorkedSlot.objects.create(**which, **sums)
    except IntegrityError:  # another page of the same person was faster
        WorkedSlot.objects.filter(**which).update(**more)


def kind_of(camera: str, sound: bool) -> str:
    """The kind of footage that a pace is told for: a camera's letter, or sound."""
    return SOUND if sound else camera or NO_CAMERA


@dataclass(frozen=True)
class Record:
    """What is on record of the days before one. `version` is another when it is."""

    days: list[Day]
    version: tuple


_RECORDS = Remembered(most=4, seconds=3600)


def record(production: Production, today: date) -> Record:
    """What each person did on each of the days before `today` on which they worked. It hardly changes on a day, and
    is remembered."""
    sums = (
        _slots_before(production, today)
        .order_by()
        .aggregate(Count("id"), Max("id"), Sum("shown"), Sum("fresh_watched"), Sum("fresh_skimmed"))
    )
    version = (today, timezone.get_current_timezone_name(), *sums.values())
    return _RECORDS.get(production.id, version, lambda: Record(observed(production, today), version))


def _slots_before(production: Production, today: date):
    begin = datetime.combine(today - timedelta(WINDOW_DAYS), datetime.min.time(), timezone.get_current_timezone())
    end = datetime.combine(today, datetime.min.time(), timezone.get_current_timezone())
    return WorkedSlot.objects.filter(production=production, began__gte=begin, began__lt=end, shown__gt=0)


def observed(production: Production, today: date) -> list[Day]:
    """What each person did on each of the days before `today` on which they worked, from its slots."""
    rows = _slots_before(production, today).order_by("person__username", "began")
    columns = ("person__username", "began", "camera", "sound", "shown", "fresh_watched", "fresh_skimmed")
    days: dict[tuple[str, date], dict[tuple[str, bool], list[float]]] = {}
    local: dict[datetime, date] = {}  # many people work in one slot
    for slot in _slotwise(rows.values_list(*columns).iterator()):
        name, began = slot[0][:2]
        day = local.get(began) or local.setdefault(began, timezone.localtime(began).date())
        done = days.setdefault((name, day), {})
        shown = sum(row[4] for row in slot)
        for _, _, camera, sound, part, watched, skimmed in slot:
            # A slot is shared out by what was on the screen; who skimmed more than they watched was skimming.
            both = done.setdefault((kind_of(camera, sound), skimmed > watched), [0.0, 0.0])
            both[0] += part / shown * _SLOT_HOURS
            both[1] += (watched + skimmed) / 3_600_000_000
    return [Day(name, day, {kind: Done(*both) for kind, both in done.items()}) for (name, day), done in days.items()]


def _slotwise(rows) -> Iterator[list[tuple]]:
    """The rows of one person and slot together."""
    slot: list[tuple] = []
    for row in rows:
        if slot and row[:2] != slot[0][:2]:
            yield slot
            slot = []
        slot.append(row)
    if slot:
        yield slot
