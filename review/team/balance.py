"""How even a split is as it stands now, after whatever was moved by hand."""

from collections.abc import Mapping
from dataclasses import dataclass

from review import frames
from review.models import Clip, Person, Piece, Split
from review.record import stories
from review.team import holding
from review.team.offer import seen_twice, watched_by
from review.team.planning import loggers_of
from review.team.splitting import Hands, level
from review.timecode import Rate


@dataclass(frozen=True)
class Weighed:
    """A piece with the seconds of it that are to be watched, and the story that it is of."""

    piece: Piece
    seconds: float
    story: str

    @property
    def is_part(self) -> bool:
        return self.piece.out_frame - self.piece.in_frame < self.piece.clip.frames


@dataclass
class Share:
    """What one logger would have. `off` is how far above (or below) an even share, in per cent."""

    person: Person
    hours: float
    held: float = 0.0  # seconds that they hold already
    given: float = 0.0  # seconds of this split
    pieces: int = 0
    stories: int = 0
    days: int = 0
    off: float = 0.0

    @property
    def total(self) -> float:
        return self.held + self.given


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
    return [_weighed(piece, unseen, watched, told) for piece in pieces]


def _weighed(piece: Piece, unseen: Mapping, watched: Mapping, told: Mapping) -> Weighed:
    clip, whole = piece.clip_id, [(piece.in_frame, piece.out_frame)]
    if piece.second:
        left = frames.count(frames.subtract(whole, seen_twice(watched.get(clip, {}))))
    else:
        left = frames.count(frames.intersect(whole, unseen.get(clip, ())))
    rate = Rate(piece.clip.rate_numerator, piece.clip.rate_denominator)
    return Weighed(piece, float(rate.seconds(left)), stories.story(told.get(clip)))


def balance(split: Split, weighed: list[Weighed]) -> Balance:
    """Everybody who has hours in the split, or was given a piece of it."""
    people = {person.username: person for person in loggers_of(split.production)}
    people |= {each.piece.logger.username: each.piece.logger for each in weighed if each.piece.logger_id}
    moves = set(split.wanted.get("moves", ()))
    held = dict.fromkeys(people, 0.0)
    for each in holding.held(split.production):
        name = each.stint.logger.username
        if name in held and each.stint.id not in moves and each.stint.split_id != split.id:
            held[name] += float(each.seconds_left)
    shares, nobodys = {}, []
    for name, person in people.items():
        theirs = [each for each in weighed if each.piece.logger_id == person.id]
        if theirs or name in split.hours:
            shares[name] = Share(
                person=person,
                hours=float(split.hours.get(name, 0)),
                held=held[name],
                given=sum(each.seconds for each in theirs),
                pieces=len(theirs),
                stories=len({each.story for each in theirs}),
                days=len({each.piece.clip.card.shoot_date for each in theirs}),
            )
    nobodys = [each.seconds for each in weighed if not each.piece.logger_id]
    hands = [Hands(name, each.hours, each.held) for name, each in shares.items() if each.hours]
    even = level(sum(each.given for each in shares.values()), hands)
    for share in shares.values():
        if share.hours and even:
            share.off = 100 * (share.total / share.hours / even - 1)
    return Balance(list(shares.values()), even, sum(nobodys), len(nobodys))
