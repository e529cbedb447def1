"""What has been seen of a production, and what nobody has seen. Every number on every page comes from here.

A frame is watched, or skimmed (by somebody, and watched by nobody), or unwatched; so the three
always add up to what was shot.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from django.db.models import Count, F, QuerySet, Sum

from review import frames
from review.models import Card, Clip, Person, Production, Select, WatchedRange
from review.timecode import Rate


@dataclass
class Coverage:
    """Exact seconds of footage, and how they were seen."""

    shot: Fraction = Fraction(0)
    watched: Fraction = Fraction(0)
    skimmed: Fraction = Fraction(0)
    clips: int = 0
    selects: int = 0
    people: dict[str, Fraction] = field(default_factory=dict)  # name -> seconds watched by that person

    @property
    def unwatched(self) -> Fraction:
        return self.shot - self.watched - self.skimmed

    def share(self, seconds: Fraction) -> float:
        """Per cent of what was shot, 0 to 100."""
        return float(100 * seconds / self.shot) if self.shot else 0.0

    def add(self, other: "Coverage") -> None:
        self.shot += other.shot
        self.watched += other.watched
        self.skimmed += other.skimmed
        self.clips += other.clips
        self.selects += other.selects
        for person, seconds in other.people.items():
            self.people[person] = self.people.get(person, Fraction(0)) + seconds


@dataclass(frozen=True)
class Stretch:
    """Frames [in_frame, out_frame) of a clip that nobody has seen."""

    clip: Clip
    in_frame: int
    out_frame: int

    @property
    def seconds(self) -> Fraction:
        return self.clip.timebase.rate.seconds(self.out_frame - self.in_frame)


def footage(production: Production) -> QuerySet[Clip]:
    """The clips that count: those of cards that are trusted."""
    return Clip.objects.filter(card__production=production, card__state__in=Card.TRUSTED)


def by_card(production: Production, only: Card | None = None) -> dict[Card, Coverage]:
    """Every trusted card's coverage, in the order of the cards; or that of one."""
    cards = list(production.cards.filter(state__in=Card.TRUSTED, **({"id": only.id} if only else {})))
    found = {card.id: Coverage() for card in cards}
    clips = Clip.objects.filter(card__in=found).order_by()
    by_rate = clips.values("card", "rate_numerator", "rate_denominator").annotate(
        shot=Sum("frames"), watched=Sum("watched_frames"), skimmed=Sum("skimmed_frames"), clips=Count("id")
    )
    for row in by_rate:
        rate = _rate(row)
        found[row["card"]].add(
            Coverage(
                rate.seconds(row["shot"]), rate.seconds(row["watched"]), rate.seconds(row["skimmed"]), row["clips"]
            )
        )
    selects = Select.objects.filter(clip__in=clips, deleted=None).order_by()
    for row in selects.values("clip__card").annotate(selects=Count("id")):
        found[row["clip__card"]].selects = row["selects"]
    for row in _watched_by_person(clips):
        people = found[row["clip__card"]].people
        seconds = _rate(row, "clip__").seconds(row["until"] - row["since"])
        people[row["person__username"]] = people.get(row["person__username"], Fraction(0)) + seconds
    return {card: found[card.id] for card in cards}


def _watched_by_person(clips: QuerySet[Clip]) -> QuerySet:
    """One person's watched ranges never overlap, so their sum is the frames they watched."""
    return (
        WatchedRange.objects.filter(clip__in=clips, manner=WatchedRange.Manner.WATCHED)
        .order_by("person__username")
        .values("clip__card", "person__username", "clip__rate_numerator", "clip__rate_denominator")
        .annotate(until=Sum("out_frame"), since=Sum("in_frame"))
    )


def _rate(row: dict, prefix: str = "") -> Rate:
    return Rate(row[f"{prefix}rate_numerator"], row[f"{prefix}rate_denominator"])


def total(parts: Iterable[Coverage]) -> Coverage:
    whole = Coverage()
    for part in parts:
        whole.add(part)
    return whole


def by_day(cards: dict[Card, Coverage]) -> dict[date | None, Coverage]:
    return _grouped(cards, lambda card: card.shoot_date)


def by_camera(cards: dict[Card, Coverage]) -> dict[str, Coverage]:
    return _grouped(cards, lambda card: card.camera or "?")


def _grouped(cards: dict[Card, Coverage], key) -> dict:
    groups: dict = {}
    for card, part in cards.items():
        groups.setdefault(key(card), Coverage()).add(part)
    return dict(sorted(groups.items(), key=lambda item: str(item[0] or "")))


def unwatched(production: Production) -> list[Stretch]:
    """The stretches that nobody has watched or skimmed, longest first."""
    clips = footage(production).filter(frames__gt=F("watched_frames") + F("skimmed_frames"))
    seen: dict[int, list[tuple[int, int]]] = {}
    rows = WatchedRange.objects.filter(clip__in=clips).order_by().values_list("clip", "in_frame", "out_frame")
    for clip_id, in_frame, out_frame in rows.iterator():
        seen.setdefault(clip_id, []).append((in_frame, out_frame))
    stretches = [
        Stretch(clip, *gap)
        for clip in clips.select_related("card").defer("probe", "files", "file_frames", "sidecars")
        for gap in frames.gaps(seen.get(clip.id, ()), clip.frames)
    ]
    return sorted(stretches, key=lambda stretch: -stretch.seconds)


def next_unwatched(production: Production, person: Person, after: Clip | None = None) -> Stretch | None:
    """The first unseen frames for this person, in shooting order: from the clips after `after`, then from the
    start. What somebody else has taken on is left to them."""
    order = (F("card__shoot_date").asc(nulls_last=True), "start_frame", "card__camera", "id")
    ready = footage(production).filter(proxy_state__in=Clip.PLAYABLE).order_by(*order)
    places = {clip_id: place for place, clip_id in enumerate(ready.values_list("id", flat=True))}
    here = places.get(after.id, -1) if after else -1
    unseen = ready.filter(frames__gt=F("watched_frames") + F("skimmed_frames")).values_list("id", flat=True)
    for clip_id in sorted(unseen, key=lambda each: (places[each] <= here, places[each])):
        clip = Clip.objects.select_related("card").get(id=clip_id)
        taken = clip.stints.filter(ended_at=None).exclude(logger=person).values_list("in_frame", "out_frame")
        seen = clip.watched_ranges.values_list("in_frame", "out_frame")
        if free := frames.gaps([*seen, *taken], clip.watchable_frames):
            return Stretch(clip, *free[0])
    return None
