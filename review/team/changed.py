"""What changed in what somebody holds since they last said that they know: told as one, in which what came and went
again is nothing.

Stints change by splits, of which Split.seen_by tells who knows, and one by one: taken back, taken on by others while
they rested, freed with a sign-in. Where one ended so, a Stint.touched_at after its end tells that its logger knows.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import F, Q
from django.utils import timezone

from review import frames, roles
from review.crew import access
from review.frames import FrameRange
from review.many_ids import among
from review.models import Clip, Person, Production, Split, Stint
from review.record.stints import HANDED_BACK
from review.team import holding
from review.team.holding import Held

_Ranges = Mapping[tuple[int, bool], list[tuple[int, int]]]  # of each clip, for a first or a second look


@dataclass(frozen=True)
class Part:
    """Frames of a stint. `seconds` are those left to watch of what came; of what went, how long it is."""

    stint: Stint
    frames: FrameRange
    seconds: Fraction


@dataclass(frozen=True)
class Changed:
    """What came to somebody and went from them. `splits` and `stints` are what they know once they have seen it."""

    came: list[Part]
    went: list[Part]
    by: list[Split]  # that did it, the latest first
    keeps_begun: bool  # whether anything that they have begun is theirs still
    splits: list[int]
    stints: list[int]

    @property
    def seconds_came(self) -> Fraction:
        return sum((part.seconds for part in self.came), start=Fraction(0))

    @property
    def seconds_went(self) -> Fraction:
        return sum((part.seconds for part in self.went), start=Fraction(0))


def changed(person: Person, production: Production, held: Sequence[Held]) -> Changed | None:
    """What changed for somebody who now has `held`; None if nothing did."""
    splits = production.splits.filter(state=Split.State.ACCEPTED).exclude(seen_by=person).select_related("settled_by")
    fresh = {split.id: split for split in splits}
    ended = list(_ended(person, production, fresh))
    new = [each for each in held if each.stint.split_id in fresh]
    known = [stint for stint in ended if stint.split_id not in fresh or stint.touched_at > stint.taken_at]
    had, have = _ranges(known), _ranges(each.stint for each in held)
    came = [part for each in new for part in _came(each, had)]
    went = [part for stint in known for part in _went(stint, have)]
    if not came and not went:
        return None
    holding.with_clips(new)
    by = {part.stint.split_id for part in came} | {part.stint.moved_in_id for part in went}
    return Changed(
        came,
        went,
        by=[split for split in fresh.values() if split.id in by],
        keeps_begun=_begun_any(held),
        splits=list(fresh),
        stints=[stint.id for stint in ended],
    )


def know(person: Person, production: Production, splits: Iterable[int], stints: Iterable[int]) -> None:
    """Somebody has seen what these splits, and the end of these stints of theirs, changed for them: they are not told
    again."""
    access.require(person, production, roles.SEE)
    for split in production.splits.filter(id__in=among(splits), state=Split.State.ACCEPTED):
        split.seen_by.add(person)
    theirs = Stint.objects.filter(id__in=among(stints), logger=person, clip__card__production=production)
    theirs.exclude(ended_at=None).update(touched_at=timezone.now())


def _ended(person: Person, production: Production, splits: Iterable[int]):
    """The stints that ended without their logger, who does not know it yet."""
    alone = Q(moved_in=None, touched_at__lte=F("ended_at")) & ~Q(ended_why=HANDED_BACK)
    theirs = Stint.objects.filter(
        alone | Q(moved_in__in=list(splits)), logger=person, clip__card__production=production
    )
    return theirs.exclude(ended_at=None).select_related("clip__card").defer(*(f"clip__{each}" for each in Clip.HEAVY))


def _begun_any(held: Sequence[Held]) -> bool:
    rows = Stint.objects.filter(id__in=among(each.stint.id for each in held))
    return holding.unbegun(rows).count() < len(held)


def _ranges(stints: Iterable[Stint]) -> _Ranges:
    found: dict[tuple[int, bool], list[tuple[int, int]]] = {}
    for each in stints:
        found.setdefault((each.clip_id, each.second), []).append((each.in_frame, each.out_frame))
    return found


def _without(stint: Stint, ranges: _Ranges) -> list[FrameRange]:
    return frames.subtract([(stint.in_frame, stint.out_frame)], ranges.get((stint.clip_id, stint.second), ()))


def _came(each: Held, had: _Ranges) -> list[Part]:
    return [
        Part(each.stint, part, each.rate.seconds(frames.count(frames.intersect([part], each.left))))
        for part in _without(each.stint, had)
    ]


def _went(stint: Stint, have: _Ranges) -> list[Part]:
    rate = stint.clip.timebase.rate
    return [Part(stint, part, rate.seconds(part.length)) for part in _without(stint, have)]
