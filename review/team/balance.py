"""How even a proposed split is as it stands now, after whatever was moved by hand."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from review import frames
from review.many_ids import among
from review.models import Clip, Person, Piece, Split, Stint
from review.record import stories
from review.team import holding
from review.team.holding import Held
from review.team.offer import seen_twice, watched_by
from review.team.planning import loggers_of
from review.team.splitting import Hands, level
from review.timecode import Rate

MOST_OFF = 5  # per cent above an even share, from which on it is pointed out


@dataclass(frozen=True)
class Weighed:
    """A piece with the seconds of it that are to be watched, the story that it is of, and who holds it now."""

    piece: Piece
    seconds: float
    story: str
    holder: str

    @property
    def is_part(self) -> bool:
        return self.piece.out_frame - self.piece.in_frame < self.piece.clip.frames


@dataclass
class Share:
    """What one logger would have. `off` is how far above (or below) an even share, in per cent; who has no hours is in
    no percentage."""

    person: Person
    hours: float
    held: float = 0.0  # seconds that they hold already, and keep
    begun: float = 0.0  # of what is held by who is away: seconds of stretches that they have begun
    given: float = 0.0  # seconds of this split
    pieces: int = 0
    stories: int = 0
    days: int = 0
    off: float = 0.0

    @property
    def total(self) -> float:
        return self.held + self.given

    @property
    def is_away(self) -> bool:
        """Keeps something, and is there for nothing more."""
        return not self.hours and not self.pieces

    @property
    def is_far(self) -> bool:
        """Whether it is to be pointed out as too long: a share that this split adds nothing to is as long as it is."""
        return self.pieces > 0 and self.off > MOST_OFF


@dataclass
class Balance:
    shares: list[Share]
    even: float  # seconds to each hour, if all were poured
    nobodys: float  # seconds that nobody is given
    nobodys_pieces: int

    @property
    def longest_off(self) -> float:
        """By how many per cent the longest share of those who are given something is above an even one."""
        return max((share.off for share in self.shares if share.pieces), default=0.0)


def weigh(split: Split) -> list[Weighed]:
    """The pieces, in the order of watching."""
    pieces = split.pieces.select_related("clip__card", "logger")
    pieces = list(pieces.defer(*(f"clip__{name}" for name in Clip.HEAVY)).order_by("place", "id"))
    clips = Clip.objects.filter(id__in=split.pieces.order_by().values("clip"))
    unseen = holding.unseen_in(clips)
    watched = watched_by(clips.values("id")) if any(piece.second for piece in pieces) else {}
    told = stories.told(split.production)
    moving: dict[int, list[Stint]] = {}
    stints = Stint.objects.filter(id__in=among(split.wanted.get("moves", ())), ended_at=None)
    for stint in stints.select_related("logger"):
        moving.setdefault(stint.clip_id, []).append(stint)
    return [_weighed(piece, unseen, watched, told, moving.get(piece.clip_id, ())) for piece in pieces]


def _weighed(piece: Piece, unseen: Mapping, watched: Mapping, told: Mapping, moving: Iterable[Stint]) -> Weighed:
    clip, whole = piece.clip_id, [(piece.in_frame, piece.out_frame)]
    if piece.second:
        left = frames.count(frames.subtract(whole, seen_twice(watched.get(clip, {}))))
    else:
        left = frames.count(frames.intersect(whole, unseen.get(clip, ())))
    rate = Rate(piece.clip.rate_numerator, piece.clip.rate_denominator)
    holders = (
        str(stint.logger)
        for stint in moving
        if stint.second == piece.second and stint.in_frame < piece.out_frame and piece.in_frame < stint.out_frame
    )
    return Weighed(piece, float(rate.seconds(left)), stories.story(told.get(clip)), ", ".join(sorted(set(holders))))


def balance(split: Split, weighed: list[Weighed]) -> Balance:
    """Everybody who has hours in the split, or was given a piece of it; where stints are dealt out anew, also who is
    away and keeps some."""
    people = {person.username: person for person in loggers_of(split.production)}
    people |= {each.piece.logger.username: each.piece.logger for each in weighed if each.piece.logger_id}
    moves = set(split.wanted.get("moves", ()))
    kept: dict[str, list[Held]] = {name: [] for name in people}
    for each in holding.held(split.production):
        name = each.stint.logger.username
        if name in kept and each.stint.id not in moves and each.left:
            kept[name].append(each)
    shares, nobodys = {}, []
    for name, person in people.items():
        theirs = [each for each in weighed if each.piece.logger_id == person.id]
        if theirs or name in split.hours or (kept[name] and split.wanted.get("again")):
            shares[name] = Share(
                person=person,
                hours=float(split.hours.get(name, 0)),
                held=_seconds_left(kept[name]),
                given=sum(each.seconds for each in theirs),
                pieces=len(theirs),
                stories=len({each.story for each in theirs}),
                days=len({each.piece.clip.card.shoot_date for each in theirs}),
            )
    away = {name: share for name, share in shares.items() if share.is_away}
    fresh = _unbegun(each for name in away for each in kept[name])
    for name, share in away.items():
        share.begun = _seconds_left(each for each in kept[name] if each.stint.id not in fresh)
    nobodys = [each.seconds for each in weighed if not each.piece.logger_id]
    hands = [Hands(name, each.hours, each.held) for name, each in shares.items() if each.hours]
    even = level(sum(each.given for each in shares.values()), hands)
    for share in shares.values():
        if share.hours and even:
            share.off = 100 * (share.total / share.hours / even - 1)
    return Balance(list(shares.values()), even, sum(nobodys), len(nobodys))


def _seconds_left(some: Iterable[Held]) -> float:
    return float(holding.seconds_of(some, lambda each: each.frames_left))


def _unbegun(some: Iterable[Held]) -> set[int]:
    ids = [each.stint.id for each in some]
    return set(holding.unbegun(Stint.objects.filter(id__in=among(ids))).values_list("id", flat=True)) if ids else set()
