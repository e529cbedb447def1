"""What of a production's footage is in its cuts: per card, and for selects that made it."""

import uuid
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import Exists, F, OuterRef, QuerySet

from review import frames
from review.models import Card, Clip, Cut, CutEvent, Production, Select
from review.timecode import Rate

_AT_ONCE = 500  # ids in one query: databases limit them


@dataclass
class CardUse:
    """Exact seconds of a card's footage, and how much of it is in the cut; frames used twice count once."""

    card: Card
    shot: Fraction = Fraction(0)
    used: Fraction = Fraction(0)
    clips: int = 0
    clips_used: int = 0
    events: int = 0
    likely: int = 0  # of these events, those that are not sure

    @property
    def share(self) -> float:
        """Per cent, 0 to 100."""
        return float(100 * self.used / self.shot) if self.shot else 0.0


def events_of(production: Production, cut: Cut | None = None) -> QuerySet[CutEvent]:
    """The events whose footage was found: of one cut, or of all that came back."""
    events = CutEvent.objects.filter(cut__production=production, clip__isnull=False)
    return events.filter(cut=cut) if cut else events


def events_not_found(production: Production, cut: Cut | None = None) -> QuerySet[CutEvent]:
    """The events that use footage and nobody knows which: not found, not read, or of a clip that is gone since."""
    events = CutEvent.objects.filter(cut__production=production, clip=None).exclude(sure=CutEvent.Sure.NONE)
    return events.filter(cut=cut) if cut else events


def used_ranges(events: QuerySet[CutEvent]) -> dict[int, list[frames.FrameRange]]:
    """Clip id -> the frames of it that these events use, each once."""
    found: dict[int, list[tuple[int, int]]] = {}
    for clip_id, in_frame, out_frame in events.order_by().values_list("clip", "in_frame", "out_frame").iterator():
        found.setdefault(clip_id, []).append((in_frame, out_frame))
    return {clip_id: frames.union(ranges) for clip_id, ranges in found.items()}


def by_card(production: Production, cut: Cut | None = None) -> list[CardUse]:
    """Every card with footage in order, those that nobody used included."""
    events = events_of(production, cut)
    used = used_ranges(events)
    found = {card.id: CardUse(card) for card in production.cards.defer("findings")}
    clips = Clip.objects.filter(card__production=production).order_by()
    for clip_id, card_id, numerator, denominator, length in clips.values_list(
        "id", "card", "rate_numerator", "rate_denominator", "frames"
    ):
        rate, use = Rate(numerator, denominator), found[card_id]
        use.clips += 1
        use.shot += rate.seconds(length)
        # A card that was copied again may be shorter than when the cut was looked for.
        if ranges := frames.intersect(used.get(clip_id, ()), [(0, length)]):
            use.clips_used += 1
            use.used += rate.seconds(frames.count(ranges))
    for card_id, sure in events.order_by().values_list("clip__card", "sure").iterator():
        found[card_id].events += 1
        found[card_id].likely += sure == CutEvent.Sure.LIKELY
    return [use for use in found.values() if use.clips]


def frames_in_cut(selects: Collection[Select], cut: Cut) -> dict[uuid.UUID, int]:
    """Select id -> how many of its frames a cut uses; frames used twice count once."""
    used = used_ranges(cut.events.filter(clip__in={select.clip_id for select in selects}))
    return {
        select.id: frames.count(frames.intersect(used.get(select.clip_id, ()), [(select.in_frame, select.out_frame)]))
        for select in selects
    }


def in_cut(selects: Iterable[uuid.UUID]) -> dict[uuid.UUID, list[str]]:
    """Select id -> the names of the cuts that use a frame of it; selects that no cut uses are left out."""
    names: dict[uuid.UUID, dict[str, None]] = {}
    ids = list(selects)
    for start in range(0, len(ids), _AT_ONCE):
        rows = Select.objects.filter(
            id__in=ids[start : start + _AT_ONCE],
            clip__cut_events__in_frame__lt=F("out_frame"),
            clip__cut_events__out_frame__gt=F("in_frame"),
            clip__cut_events__cut__production=F("clip__card__production"),
        )
        # In one filter() call the conditions are of one and the same event.
        found = rows.order_by("clip__cut_events__cut_id").values_list("id", "clip__cut_events__cut__name").distinct()
        for select_id, name in found:
            names.setdefault(select_id, {})[name] = None
    return {select_id: list(of_it) for select_id, of_it in names.items()}


def cuts_of(select: Select) -> list[str]:
    """The names of the cuts that use a frame of a select; of many, let `tell` look them up first."""
    tell([select])
    return select.its_cuts


def tell(selects: Iterable[Select]) -> None:
    """Look up for many selects at once what `cuts_of` says of each, and keep it with them."""
    untold = [select for select in selects if not hasattr(select, "its_cuts")]
    found = in_cut(select.id for select in untold)
    for select in untold:
        select.its_cuts = found.get(select.id, [])


def only_in_cut(selects: QuerySet[Select], cuts: Collection[Cut] | None = None) -> QuerySet[Select]:
    """Those of `selects` that a cut uses a frame of: any cut, or one of `cuts`."""
    events = events_in()
    if cuts is not None:
        events = events.filter(cut__in=cuts)
    return selects.filter(Exists(events))


def events_in(select: str = "") -> QuerySet[CutEvent]:
    """For `Exists`: the events that use a frame of the outer query's select, which stands at `select` ("x__") in it."""
    return CutEvent.objects.filter(
        clip=OuterRef(f"{select}clip"),
        in_frame__lt=OuterRef(f"{select}out_frame"),
        out_frame__gt=OuterRef(f"{select}in_frame"),
    )
