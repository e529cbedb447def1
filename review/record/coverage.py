"""What has been seen of a production, and what nobody has seen. Every number on every page comes from here.

A frame is watched, or skimmed (by somebody, and watched by nobody), or unwatched; so the three always add up to what
was shot. Sums are kept in frames, apart for each rate, and so are exact; seconds are worked out from them.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cache

from django.db.models import Count, F, Q, QuerySet, Sum

from review.models import Card, Clip, Production, SecondLook, SeenBy, Select
from review.record import news
from review.remembered import Remembered
from review.timecode import Rate, Timebase

_FEW = 100  # groups, that are asked for by name
_BASE = ("rate_numerator", "rate_denominator", "drop")


@dataclass
class Frames:
    """Frames of one timebase. `asked` are those of second looks that are wanted, `twice` those of them that two people
    or more have watched."""

    shot: int = 0
    watched: int = 0
    skimmed: int = 0
    asked: int = 0
    twice: int = 0

    @property
    def unwatched(self) -> int:
        return self.shot - self.watched - self.skimmed

    def add(self, other: "Frames") -> None:
        # Written out, because pages add some ten thousand of these.
        self.shot += other.shot
        self.watched += other.watched
        self.skimmed += other.skimmed
        self.asked += other.asked
        self.twice += other.twice


Sums = dict[Timebase, Frames]


@dataclass
class Coverage:
    """Frames of footage by timebase, and how they were seen; as exact seconds by the names of `Frames`."""

    bases: Sums = field(default_factory=dict)
    clips: int = 0
    selects: int = 0
    by_person: dict[str, Sums] = field(default_factory=dict)  # what each watched, and skimmed without watching

    def _seconds(self, what: str) -> Fraction:
        return _seconds(self.bases, what)

    @property
    def shot(self) -> Fraction:
        return self._seconds("shot")

    @property
    def watched(self) -> Fraction:
        return self._seconds("watched")

    @property
    def skimmed(self) -> Fraction:
        return self._seconds("skimmed")

    @property
    def unwatched(self) -> Fraction:
        return self._seconds("unwatched")

    @property
    def asked(self) -> Fraction:
        return self._seconds("asked")

    @property
    def twice(self) -> Fraction:
        return self._seconds("twice")

    def most(self, what: str) -> list[str]:
        """The people who "watched" or "skimmed" some, whoever did most of it first."""
        sums = {
            name: sum(getattr(part, what) * base.rate.denominator / base.rate.numerator for base, part in bases.items())
            for name, bases in self.by_person.items()
        }
        return sorted((name for name, seconds in sums.items() if seconds), key=lambda name: (-sums[name], name))

    def by(self, name: str, what: str) -> Fraction:
        """Seconds that one person "watched" or "skimmed"."""
        return _seconds(self.by_person.get(name, {}), what)

    @property
    def people(self) -> dict[str, Fraction]:
        """Seconds watched by each person."""
        return self._of_people("watched")

    @property
    def skimmers(self) -> dict[str, Fraction]:
        """Seconds that each person skimmed and did not watch."""
        return self._of_people("skimmed")

    def _of_people(self, what: str) -> dict[str, Fraction]:
        found = {name: self.by(name, what) for name in sorted(self.by_person)}
        return {name: seconds for name, seconds in found.items() if seconds}

    def share(self, seconds: Fraction) -> float:
        """Per cent of what was shot, 0 to 100."""
        shot = self.shot
        return float(100 * seconds / shot) if shot else 0.0

    def add(self, other: "Coverage") -> None:
        _add(self.bases, other.bases)
        self.clips += other.clips
        self.selects += other.selects
        for name, bases in other.by_person.items():
            mine = self.by_person.get(name)
            if mine is None:
                mine = self.by_person[name] = {}
            _add(mine, bases)

    def put(self, base: Timebase, **counts: int) -> None:
        self.bases.setdefault(base, Frames()).add(Frames(**counts))

    def put_person(self, name: str, base: Timebase, watched: int, skimmed: int) -> None:
        part = self.by_person.setdefault(name, {}).setdefault(base, Frames())
        part.add(Frames(watched=watched, skimmed=skimmed))


def _seconds(bases: Sums, what: str) -> Fraction:
    parts = [base.rate.seconds(count) for base, part in bases.items() if (count := getattr(part, what))]
    return sum(parts[1:], parts[0]) if parts else Fraction(0)


def _add(bases: Sums, others: Sums) -> None:
    for base, part in others.items():
        mine = bases.get(base)
        if mine is None:
            mine = bases[base] = Frames()
        mine.add(part)


@cache
def timebase(numerator: int, denominator: int, drop: bool) -> Timebase:
    return Timebase(Rate(numerator, denominator), drop)


@dataclass(frozen=True)
class Stretch:
    """Frames [in_frame, out_frame) of a clip that nobody has watched; `skimmed` if somebody skimmed them, by the names
    that have been looked up, as those of who holds any of them for a first look, and who asked for a second one."""

    clip: Clip
    in_frame: int
    out_frame: int
    skimmed: bool = False
    skimmed_by: tuple[str, ...] = ()
    held_by: tuple[str, ...] = ()
    asked_by: tuple[str, ...] = ()

    @property
    def frames(self) -> int:
        return self.out_frame - self.in_frame

    @property
    def seconds(self) -> Fraction:
        return self.clip.timebase.rate.seconds(self.frames)


def footage(production: Production) -> QuerySet[Clip]:
    """The clips that count: those of cards that are trusted."""
    return Clip.objects.filter(counts(production))


def counts(production: Production, clip: str = "") -> Q:
    """The condition for footage to count, of rows whose clip is reached by `clip`: "clip__"."""
    return Q(**{f"{clip}card__production": production, f"{clip}card__state__in": Card.TRUSTED})


def grouped(
    column: str, condition: Callable[[str], Q], *, people: bool = True, selects: bool = True, marked_by: str = ""
) -> dict:
    """The coverage of the clips that fit, by one of their columns ("card", "card__camera"). `condition` gives the
    condition for rows whose clip is reached by a prefix, as `counts` does. Without `people`, not who saw what; without
    `selects`, not how many there are; with `marked_by`, only the selects of that person are counted."""
    found: dict = {}

    def of(row) -> Coverage:
        return found.setdefault(row[0], Coverage())

    clips = Clip.objects.filter(condition("")).order_by().values_list(column, *_BASE)
    sums = (Sum("frames"), Sum("watched_frames"), Sum("skimmed_frames"), Count("id"), Sum("select_count"))
    for row in clips.annotate(*sums):
        of(row).put(timebase(*row[1:4]), shot=row[4], watched=row[5], skimmed=row[6])
        of(row).clips += row[7]
        of(row).selects += 0 if marked_by or not selects else row[8]
    columns = [f"clip__{each}" for each in (column, *_BASE)]
    looks = SecondLook.objects.filter(condition("clip__"), ended_at=None).order_by().values_list(*columns)
    for row in looks.annotate(Sum("out_frame"), Sum("in_frame"), Sum("seen_frames")):
        of(row).put(timebase(*row[1:4]), asked=row[4] - row[5], twice=row[6])
    if selects and marked_by:
        marked = Select.objects.filter(condition("clip__"), deleted=None, logger__username=marked_by).order_by()
        for row in marked.values_list(columns[0]).annotate(Count("id")):
            of(row).selects += row[1]
    if people:
        add_people(found, column, condition)
    return found


def add_people(groups: dict, column: str, condition: Callable[[str], Q]) -> None:
    """Put who saw what into these groups of clips, as `grouped` makes them."""
    columns = [f"clip__{each}" for each in (column, *_BASE)]
    seen = SeenBy.objects.filter(condition("clip__")).order_by()
    if 0 < len(groups) <= _FEW:
        here = Q(**{f"{columns[0]}__in": [key for key in groups if key is not None]})
        seen = seen.filter(here | Q(**{f"{columns[0]}__isnull": True}) if None in groups else here)
    rows = seen.values_list(*columns, "person__username").annotate(Sum("watched_frames"), Sum("skimmed_frames"))
    for row in rows:
        if row[0] in groups:
            groups[row[0]].put_person(row[4], timebase(*row[1:4]), row[5], row[6])


def by_card(
    production: Production, only: Card | None = None, *, day: date | None = None, people: bool = True
) -> dict[Card, Coverage]:
    """Every trusted card's coverage, in the order of the cards; or that of one, or of those of a shoot day. Without
    `people`, not who saw what."""
    which = {name: each for name, each in (("id", only and only.id), ("shoot_date", day)) if each is not None}

    def condition(clip: str) -> Q:
        return counts(production, clip) & Q(**{f"{clip}card__{name}": each for name, each in which.items()})

    found = grouped("card", condition, people=people)
    cards = production.cards.filter(state__in=Card.TRUSTED, **which)
    return {card: found.get(card.id, Coverage()) for card in cards}


_CARDS = Remembered(most=200)  # the page of all productions asks for each of them


def by_card_as_known(production: Production) -> dict[Card, Coverage]:
    """As `by_card` without people, for pages that many have open: worked out once for everything that is new."""
    key = production.id, production.created
    return _CARDS.get(key, news.version(production), lambda: by_card(production, people=False))


def whole(production: Production) -> Coverage:
    """The coverage of the whole production, without who saw what: for where only the sums are shown."""
    return total(by_card_as_known(production).values())


def total(parts: Iterable[Coverage]) -> Coverage:
    whole = Coverage()
    for part in parts:
        whole.add(part)
    return whole


def by_day(cards: dict[Card, Coverage]) -> dict[date | None, Coverage]:
    return _regrouped(cards, lambda card: card.shoot_date)


def by_camera(cards: dict[Card, Coverage]) -> dict[str, Coverage]:
    return _regrouped(cards, lambda card: card.camera or "?")


def _regrouped(cards: dict[Card, Coverage], key) -> dict:
    groups: dict = {}
    for card, part in cards.items():
        groups.setdefault(key(card), Coverage()).add(part)
    return dict(sorted(groups.items(), key=lambda item: str(item[0] or "")))


def anything_unseen(production: Production) -> bool:
    return footage(production).filter(frames__gt=F("watched_frames") + F("skimmed_frames")).exists()
