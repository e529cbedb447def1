"""What a split can hand out, and to whom: gathered in a few queries, however large the shoot is."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import NamedTuple

from django.db.models import Q, QuerySet, Sum

from review import frames
from review.models import Clip, Person, Production, SecondLook, Stint, WatchedRange
from review.record import stories
from review.record.coverage import footage
from review.team import holding
from review.team.holding import Span, open_spans, span_of
from review.team.splitting import Hands, Piece
from review.team.stretches import quiet_point

WATCHED = WatchedRange.Manner.WATCHED


class _Row(NamedTuple):
    """A clip, as far as a split needs it."""

    id: int
    frames: int
    numerator: int
    denominator: int
    card: str
    day: str
    camera: str
    start: int
    unseen: int
    tags: Mapping[str, int]

    @property
    def rate(self) -> float:
        return self.numerator / self.denominator

    @property
    def group(self) -> tuple[str, str, str]:
        return stories.story(self.tags), self.day, self.camera


@dataclass
class Offer:
    """Pieces for review.team.splitting, the spans of frames that they are, and who is there to have them."""

    pieces: list[Piece] = field(default_factory=list)
    spans: dict[tuple, Span] = field(default_factory=dict)
    hands: list[Hands] = field(default_factory=list)
    order: dict[int, int] = field(default_factory=dict)  # of the clips, by id
    moves: dict[int, Stint] = field(default_factory=dict)  # the stints that are dealt out anew, by id
    rows: dict[int, _Row] = field(default_factory=dict)

    def add(self, row: _Row, span: Span, **about) -> Piece:
        piece = self.make(row, span, **about)
        self.pieces.append(piece)
        return piece

    def make(self, row: _Row, span: Span, **about) -> Piece:
        key = (row.id, span.in_frame, about.get("second", False))
        self.spans[key] = span
        return Piece(key, span.frames / row.rate, row.group, clip=row.id, **about)

    def cut(self, piece: Piece, at: float, low: float, high: float) -> tuple[Piece, Piece] | None:
        """As splitting.Cut: at a quiet point of the clip, and never in a select."""
        span, row = self.spans[piece.key], self.rows[piece.clip]
        wanted, first, last = (span.frame_after(round(max(0.0, each) * row.rate)) for each in (at, low, high))
        frame = quiet_point(Clip.objects.get(id=row.id), wanted, first, last)
        halves = span.halves(frame) if frame is not None else None
        if halves is None:
            return None
        about = {each: getattr(piece, each) for each in ("urgent", "second", "barred", "holder")}
        one, other = (self.make(row, half, **about) for half in halves)
        return one, other


def gather(production: Production, wanted: Mapping, loggers: Sequence[Person], hours: Mapping[str, float]) -> Offer:
    """What is `wanted` (as planning.py tells) of what nobody has seen and nobody holds or has begun, in the order in
    which it is watched: story by story, day by day, camera by camera."""
    offer = Offer()
    everything = _rows(production)
    chosen = {row.id: row for row in everything if _is_wanted(row, wanted)}
    offer.rows = chosen
    ordered = sorted(chosen.values(), key=lambda row: (*row.group, row.start, row.id))
    offer.order = {row.id: at for at, row in enumerate(ordered)}
    if wanted["again"]:
        offer.moves = _to_deal_again(production, chosen, wanted, hours)
    taken = holding.first_looks(production, offer.moves)
    seen = holding.seen_in(footage(production))
    holders: dict[int, list[Stint]] = {}
    for stint in offer.moves.values():
        if not stint.second:
            holders.setdefault(stint.clip_id, []).append(stint)
    for row in ordered:
        if not row.unseen:
            continue
        edges = [(stint.in_frame, stint.out_frame) for stint in holders.get(row.id, ())]
        for span in open_spans(row.frames, seen.get(row.id, ()), taken.get(row.id, ()), edges):
            offer.add(row, span, urgent=_is_urgent(row, wanted), holder=_holder(span, holders.get(row.id, ())))
    if wanted["seconds"]:
        _add_second_looks(offer, production, wanted)
    offer.hands = _hands(production, loggers, hours, offer.moves, {row.id: row for row in everything})
    return offer


def _rows(production: Production) -> list[_Row]:
    told = stories.told(production)
    rows = footage(production).exclude(proxy_state=Clip.ProxyState.FAILED).order_by()
    return [
        _Row(*row[:5], str(row[5] or "?"), row[6], row[7], row[1] - row[8] - row[9], told.get(row[0], {}))
        for row in rows.values_list(
            "id", "frames", "rate_numerator", "rate_denominator", "card__name", "card__shoot_date", "card__camera",
            "start_frame", "watched_frames", "skimmed_frames",
        )
    ]  # fmt: skip


def _is_wanted(row: _Row, wanted: Mapping) -> bool:
    return (
        (not wanted["cards"] or row.card in wanted["cards"])
        and (not wanted["days"] or row.day in wanted["days"])
        and (not wanted["cameras"] or row.camera in wanted["cameras"])
        and (not wanted["tags"] or any(tag in wanted["tags"] for tag in row.tags))
    )


def _is_urgent(row: _Row, wanted: Mapping) -> bool:
    return row.day in wanted["urgent_days"] or any(tag in wanted["urgent_tags"] for tag in row.tags)


def _to_deal_again(
    production: Production, chosen: Iterable[int], wanted: Mapping, hours: Mapping[str, float]
) -> dict[int, Stint]:
    held = Stint.objects.filter(clip__card__production=production, ended_at=None).select_related("logger")
    if not wanted["seconds"]:
        held = held.filter(second=False)
    return {stint.id: stint for stint in movable(held, wanted, hours) if stint.clip_id in chosen}


def movable(stints: QuerySet[Stint], wanted: Mapping, hours: Mapping[str, float]) -> QuerySet[Stint]:
    """Of stints that are held, those that a split may deal out anew: what is not begun and, where that is wanted, what
    those have begun who have no hours in it."""
    may = Q(id__in=holding.unbegun(stints).order_by().values("id"))
    if wanted.get("begun"):
        may |= ~Q(logger__username__in=list(hours))
    return stints.filter(may)


def _holder(span: Span, stints: Iterable[Stint]) -> str:
    found = (each for each in stints if each.in_frame <= span.in_frame and span.out_frame <= each.out_frame)
    return next((each.logger.username for each in found), "")


def _add_second_looks(offer: Offer, production: Production, wanted: Mapping) -> None:
    """Where a second look is wanted and two have not had it yet; not for who saw it first or holds the first look."""
    looks = SecondLook.objects.filter(clip__card__production=production, ended_at=None).order_by()
    asked: dict[int, list[tuple[int, int]]] = {}
    for clip, start, end in looks.values_list("clip", "in_frame", "out_frame"):
        if clip in offer.rows:
            asked.setdefault(clip, []).append((start, end))
    watched = watched_by(looks.values("clip"))
    held = Stint.objects.filter(clip__in=looks.values("clip"), ended_at=None).exclude(id__in=offer.moves)
    live = list(held.values_list("clip", "in_frame", "out_frame", "second", "logger__username"))
    for clip in sorted(asked, key=offer.order.__getitem__):
        people = watched.get(clip, {})
        given = [(start, end) for at, start, end, second, _ in live if at == clip and second]
        done = [*seen_twice(people), *given]
        for asked_range in frames.intersect(asked[clip], [(0, offer.rows[clip].frames)]):
            if todo := frames.subtract([asked_range], done):
                have_seen = {name for name, ranges in people.items() if frames.intersect(ranges, todo)}
                have = {name for at, *stretch, _, name in live if at == clip and frames.intersect([stretch], todo)}
                offer.add(
                    offer.rows[clip],
                    span_of(todo),
                    urgent=_is_urgent(offer.rows[clip], wanted),
                    second=True,
                    barred=frozenset(have_seen | have),
                )


def watched_by(clips) -> dict[int, dict[str, list[tuple[int, int]]]]:
    """The ranges that each person watched, by clip and name."""
    found: dict[int, dict[str, list[tuple[int, int]]]] = {}
    rows = WatchedRange.objects.filter(clip__in=clips, manner=WATCHED).order_by()
    for clip, name, start, end in rows.values_list("clip", "person__username", "in_frame", "out_frame"):
        found.setdefault(clip, {}).setdefault(name, []).append((start, end))
    return found


def seen_twice(people: Mapping[str, Sequence[tuple[int, int]]]) -> list[frames.FrameRange]:
    """The frames that two people or more watched."""
    return frames.union(
        both for one, other in combinations(people.values(), 2) for both in frames.intersect(one, other)
    )


def _hands(
    production: Production,
    loggers: Sequence[Person],
    hours: Mapping[str, float],
    moves: Mapping[int, Stint],
    rows: Mapping,
) -> list[Hands]:
    held = {person.username: 0.0 for person in loggers}
    home: dict[str, dict[tuple, float]] = {name: {} for name in held}
    for each in holding.held(production):
        name, row = each.stint.logger.username, rows.get(each.stint.clip_id)
        if name in held and row and each.stint.id not in moves:
            held[name] += float(each.seconds_left)
            home[name][row.group] = home[name].get(row.group, 0.0) + float(each.seconds)
    watched = WatchedRange.objects.filter(clip__card__production=production, person__in=loggers, manner=WATCHED)
    sums = watched.order_by().values("person__username", "clip").annotate(until=Sum("out_frame"), since=Sum("in_frame"))
    for each in sums:
        name, row = each["person__username"], rows.get(each["clip"])
        if row:
            home[name][row.group] = home[name].get(row.group, 0.0) + (each["until"] - each["since"]) / row.rate
    return [Hands(name, hours[name], held[name], home[name]) for name in held]
