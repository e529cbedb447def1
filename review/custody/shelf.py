"""The shelf: media age. What is due to be proven, what to replace, and which tapes are about to lose their drive."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import F
from django.utils import timezone

from review import roles
from review.cards import media_kinds
from review.crew import access
from review.custody import copies
from review.models import Card, Copy, Job, Medium, Person, Production, TapeDrive
from review.refusals import Refusal
from review.work import jobs


@dataclass(frozen=True)
class OldMedium:
    """A medium to replace, from a day on and by another at the latest; both may lie ahead or behind."""

    medium: Medium
    begins: date
    latest: date


@dataclass(frozen=True)
class TapeOutlook:
    """The tapes of a generation, and what still reads them."""

    generation: int
    tapes: list[Medium]
    readers: list[TapeDrive]  # those that the production has today
    ends: date | None  # when the last of them goes; None while one has no end
    read_by: list[int]  # drive generations that could be bought

    @property
    def lost(self) -> bool:
        return not self.readers


def next_check(copy: Copy) -> date | None:
    """The day by which a copy is to be proven (again); today's date or earlier means it is due. None for a copy that
    is not kept: the camera's own card, or one on a retired medium."""
    medium = copy.medium
    if copy.is_original or medium.retired_at is not None:
        return None
    if copy.checked_at is None:
        return timezone.localdate(copy.found_at)
    days = medium.check_every or media_kinds.kind_of(medium.kind).check_every
    return timezone.localdate(copy.checked_at) + timedelta(days=days)


def due(production: Production, until: date) -> list[tuple[date, Copy]]:
    """The production's copies to be proven by the end of the day `until`, the longest overdue first."""
    found = Copy.objects.filter(card__production=production, medium__retired_at=None, is_original=False)
    days = ((next_check(copy), copy) for copy in found.select_related("card", "medium"))
    return sorted(((day, copy) for day, copy in days if day <= until), key=lambda each: (each[0], each[1].id))


def single(production: Production) -> list[tuple[Card, int]]:
    """Cards with fewer than two proven copies, and how many they have."""
    found = []
    for card in production.cards.prefetch_related("copies__medium"):
        kept = [copy for copy in card.copies.all() if not copy.is_original and copy.medium.retired_at is None]
        proven = {copy.medium_id for copy in kept if copy.state == Copy.State.SAME}
        if len(proven) < 2:
            found.append((card, len(proven)))
    return found


def replacement(medium: Medium) -> tuple[date, date] | None:
    """From when to think of replacing a medium, and when at the latest; a person's own date is both."""
    if medium.replace_by:
        return medium.replace_by, medium.replace_by
    return media_kinds.replacement(media_kinds.kind_of(medium.kind), medium.in_use_since)


def to_replace(production: Production, until: date) -> list[OldMedium]:
    """The media whose time to be replaced has begun by `until`, the oldest first."""
    found = []
    for medium in production.media.filter(retired_at=None):
        days = replacement(medium)
        if days and days[0] <= until:
            found.append(OldMedium(medium, *days))
    return sorted(found, key=lambda old: (old.latest, old.medium.label))


def tapes(production: Production, today: date) -> list[TapeOutlook]:
    """For each generation of tape in use: which of the production's drives read it, and until when."""
    by_generation: dict[int, list[Medium]] = {}
    for medium in production.media.filter(retired_at=None):
        if (generation := media_kinds.tape_generation(medium.kind)) is not None:
            by_generation.setdefault(generation, []).append(medium)
    drives = [drive for drive in production.tape_drives.all() if drive.is_there(today)]
    outlooks = []
    for generation, held in sorted(by_generation.items()):
        read_by = media_kinds.drives_that_read(generation)
        readers = [drive for drive in drives if drive.generation in read_by]
        ends = [drive.until for drive in readers]
        last = None if None in ends or not ends else max(ends)
        outlooks.append(TapeOutlook(generation, held, readers, last, read_by))
    return outlooks


def about_to_lose(productions: Iterable[Production], today: date) -> list[tuple[Production, TapeOutlook]]:
    """Productions of which a tape is read by none of their drives, or will be within a year."""
    soon = today + timedelta(days=365)
    found = ((production, outlook) for production in productions for outlook in tapes(production, today))
    return [(production, each) for production, each in found if each.lost or (each.ends and each.ends <= soon)]


def recheck(production: Production | None, most: int, today: date) -> tuple[list[Copy], list[Copy]]:
    """Ask for proof of the copies that are due, the longest overdue first, `most` at a time. Returns those asked for
    and those that are due and away, so that somebody fetches their drive."""
    asked: list[Copy] = []
    away: list[Copy] = []
    productions = [production] if production else Production.objects.all()
    waiting = sorted((each for one in productions for each in due(one, today)), key=lambda each: (each[0], each[1].id))
    for _, copy in waiting:
        if not copies.is_reachable(copy):
            away.append(copy)
        elif len(asked) < most and (copy.card.trusted or copy.folder == copy.card.folder):
            copies.ask_for_proof(copy, why="it is due")
            asked.append(copy)
    return asked, away


@dataclass(frozen=True)
class Description:
    """What a person says of a medium. Days and dates may be None: then what is usual for its kind holds."""

    label: str
    kind: str
    place: str
    elsewhere: bool
    in_use_since: date | None
    check_every: int | None
    replace_by: date | None


def describe(person: Person, medium: Medium, says: Description) -> None:
    """Write down what a medium is and where it is kept."""
    access.require(person, medium.production, roles.CHECK_CARDS)
    label = " ".join(says.label.split())
    if not label:
        raise Refusal("Give the medium a label: what is written on it.", "label")
    if says.kind not in media_kinds.KINDS:
        raise Refusal("Choose one of the kinds of medium.", "kind")
    if says.check_every is not None and not 1 <= says.check_every <= 3650:
        raise Refusal("A copy is proven every 1 to 3650 days.", "check_every")
    if says.in_use_since and says.in_use_since > timezone.localdate():
        raise Refusal("A medium cannot be in use since a day that is still to come.", "in_use_since")
    own = Copy.objects.filter(medium=medium, folder=F("card__folder"))
    if says.elsewhere and own.exists():
        raise Refusal("Cards are worked from it, so it is where the work is, and not elsewhere.", "elsewhere")
    if says.kind == media_kinds.ORIGINAL and own.exists():
        raise Refusal("Cards are worked from it, so it is no camera's card.", "kind")
    medium.label, medium.kind, medium.place = label[:80], says.kind, " ".join(says.place.split())[:80]
    medium.elsewhere, medium.in_use_since = says.elsewhere, says.in_use_since
    medium.check_every, medium.replace_by = says.check_every, says.replace_by
    medium.save()


def retire(person: Person, medium: Medium) -> None:
    """The medium is not used any more: its copies are not counted. What is on it is left alone."""
    access.require(person, medium.production, roles.CHECK_CARDS)
    held = Copy.objects.filter(medium=medium).select_related("card")
    if worked_from := [copy.card.name for copy in held if copy.folder == copy.card.folder]:
        raise Refusal(f"{medium.label} holds the folder that {worked_from[0]} is worked from; it cannot be retired.")
    medium.retired_at = timezone.now()
    medium.save(update_fields=["retired_at"])


def take_back(person: Person, medium: Medium) -> None:
    """The medium is in use after all."""
    access.require(person, medium.production, roles.CHECK_CARDS)
    medium.retired_at = None
    medium.save(update_fields=["retired_at"])


def add_drive(person: Person, production: Production, label: str, generation: int, until: date | None) -> TapeDrive:
    """The production can read tapes with one more drive."""
    access.require(person, production, roles.CHECK_CARDS)
    if generation not in media_kinds.TAPES:
        raise Refusal(
            f"LTO drives are of generation {media_kinds.OLDEST_TAPE} to {media_kinds.NEWEST_TAPE}.", "generation"
        )
    label = " ".join(label.split())
    if not label:
        raise Refusal("Say which drive it is, and where.", "label")
    return TapeDrive.objects.create(production=production, label=label[:80], generation=generation, until=until)


def remove_drive(person: Person, drive: TapeDrive) -> None:
    access.require(person, drive.production, roles.CHECK_CARDS)
    drive.delete()


def being_proven(found: Iterable[Copy]) -> set[int]:
    """Which of these copies a job is open for."""
    found = list(found)
    checked = Job.objects.filter(kind=Job.Kind.CHECK, state__in=jobs.OPEN).values_list("card_id", flat=True)
    own = {copy.id for copy in found if copy.folder == copy.card.folder and copy.card_id in set(checked)}
    return own | set(Job.objects.filter(copy__in=found, state__in=jobs.OPEN).values_list("copy_id", flat=True))
