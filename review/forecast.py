"""When everything will have been seen: arithmetic on paces, without Django.

The unit is a day of the team's work. Logger i works H hours on an average day and sees p hours of fresh footage of
kind k in an hour of it; so the whole team, on kind k alone, sees R(k) = sum of H*p in a day, and footage L(k) that is
left takes L(k) / R(k) days. Days of all kinds add up, whoever does which:

    days = sum over kinds of L(k) / R(k)

While shooting goes on each day brings A = sum of shot(k) / R(k) days of work, to be watched from the next day on.
"""

import math
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

HOURS_A_WEEK = 168.0  # that there are: nobody can work more
LEAST_HOURS, LEAST_DAYS = 8.0, 3  # on record, before a date is told from it
HERE_DAYS = 7  # somebody who has not worked for longer does not count as being on the team
OWN_HOURS = 1.0  # on record with a kind of footage, before somebody's own pace with it is believed
SKIM_FACTOR = 4.0  # of the pace of watching, as long as too little skimming is on record; an assumption
RESHUFFLES, EIGHT_OF_TEN = 200, (0.1, 0.9)
FURTHEST = 3 * 365  # days ahead; what takes longer has no date
MOST_PEOPLE = 1000


@dataclass(frozen=True)
class Done:
    """Hours of work, and the hours of footage that were seen in them and that nobody had seen before."""

    hours: float = 0.0
    fresh: float = 0.0

    def __add__(self, other: "Done") -> "Done":
        return Done(self.hours + other.hours, self.fresh + other.fresh)

    @property
    def pace(self) -> float:
        """Hours of fresh footage in an hour of work."""
        return self.fresh / self.hours if self.hours else 0.0


@dataclass(frozen=True)
class Day:
    """What one person did in one day, by kind of footage and whether it was rather skimmed than watched."""

    name: str
    day: date
    done: Mapping[tuple[str, bool], Done]


@dataclass(frozen=True)
class WhatIf:
    """What is changed to see what comes of it; nothing by default."""

    loggers: int = 0  # more of them; below 0, fewer
    hours: float = 0.0  # more, on each day that somebody works
    skim: frozenset[str] = frozenset()  # kinds of footage that are skimmed from now on


@dataclass(frozen=True)
class Assumed:
    """A team that is not on record: so many people, who each work so long and see so many hours of footage an hour."""

    people: int
    hours_a_week: float
    pace: float

    def __post_init__(self):
        if not 0 < self.hours_a_week <= HOURS_A_WEEK:
            raise ValueError(f"a week has {HOURS_A_WEEK:.0f} hours; nobody works {self.hours_a_week:g}")
        if self.people < 1 or self.pace <= 0:
            raise ValueError("it takes at least one person, and a pace above nothing")


@dataclass(frozen=True)
class Coming:
    """What is still being shot: hours of footage by kind on each day, through the day `until`."""

    a_day: Mapping[str, float] = field(default_factory=dict)
    until: date | None = None

    def days_after(self, today: date) -> int:
        """How many whole days of shooting there are from tomorrow."""
        return max(0, (self.until - today).days) if self.until else 0


@dataclass(frozen=True)
class Hand:
    """One logger's average day: hours of work on it, over all days since they began; and what was done with each kind
    of footage. `a_worked_day` is the hours of a day on which they work at all."""

    name: str
    hours: float
    a_worked_day: float
    done: Mapping[str, Done]
    on_record: Done

    def pace(self, kind: str, team: Mapping[str, float]) -> float:
        """Their own, if there is enough of it; otherwise the team's, as much faster or slower as they are."""
        own = self.done.get(kind, Done())
        if own.hours >= OWN_HOURS:
            return own.pace
        return team[kind] * self.against(team)

    def against(self, team: Mapping[str, float]) -> float:
        """How fast they are on what they did, 1 being like the team."""
        usual = sum(done.hours * team.get(kind, 0.0) for kind, done in self.done.items())
        return self.on_record.fresh / usual if usual and self.on_record.hours >= OWN_HOURS else 1.0


@dataclass(frozen=True)
class Team:
    """What is known of a team. `skim` is how many times faster skimming goes than watching, `skim_known` whether that
    is on record. `gone` have not worked lately and are not reckoned with."""

    hands: Sequence[Hand]
    paces: Mapping[str, float]  # kind of footage -> hours of it in an hour of work
    skim: float = SKIM_FACTOR
    skim_known: bool = False
    gone: Sequence[str] = ()

    @property
    def hours(self) -> float:
        """Of work on an average day."""
        return sum(hand.hours for hand in self.hands)


@dataclass(frozen=True)
class Forecast:
    """Days of the team's work by kind, and the dates. Without a `likely` date there is none within three years, or
    nobody who works."""

    team: Team
    people: int  # that are reckoned with
    a_day: Mapping[str, float]  # hours of footage that the team sees in a day of nothing but this kind
    work: Mapping[str, float]  # days of the team's work that are left, by kind
    coming: float  # days of work that each day of shooting brings
    piled: float  # days of work that are left on the last evening of shooting; without any to come, now
    early: date | None
    likely: date | None
    late: date | None

    @property
    def days(self) -> float:
        return sum(self.work.values())


def too_little(days: Iterable[Day]) -> bool:
    """Whether what is on record is too little to tell a date from."""
    days = list(days)
    hours = sum(done.hours for day in days for done in day.done.values())
    return hours < LEAST_HOURS or len({day.day for day in days}) < LEAST_DAYS


def team_of(days: Iterable[Day], today: date, kinds: Iterable[str]) -> Team:
    """The people who worked in the last days before `today`, with their paces for `kinds` of footage."""
    return _team(_by_person(days), today, kinds)


def _by_person(days: Iterable[Day]) -> dict[str, list[Day]]:
    people: dict[str, list[Day]] = {}
    for day in sorted(days, key=lambda each: (each.name, each.day)):
        people.setdefault(day.name, []).append(day)
    return people


def _team(people: Mapping[str, list[Day]], today: date, kinds: Iterable[str]) -> Team:
    here = {name: days for name, days in people.items() if max(day.day for day in days) >= today - timedelta(HERE_DAYS)}
    averages = [(days, (today - min(day.day for day in days)).days) for _, days in sorted(here.items())]
    hands = [_hand(days, since) for days, since in averages]
    return _built(hands, kinds, sorted(set(people) - set(here)), _skim_factor(here))


def _hand(days: Sequence[Day], since: int, weights: Mapping[int, int] | None = None) -> Hand:
    """The average of `days`, out of the `since` days that there were; each taken as often as its weight says."""
    sums: dict[str, list[float]] = {}  # hours and fresh: plain numbers, as days are drawn many thousand times
    worked = 0
    for at, day in enumerate(days):
        times = 1 if weights is None else weights.get(at, 0)
        if not times:
            continue
        worked += times
        for (kind, _), part in day.done.items():
            both = sums.setdefault(kind, [0.0, 0.0])
            both[0] += part.hours * times
            both[1] += part.fresh * times
    done = {kind: Done(*both) for kind, both in sums.items()}
    whole = sum(done.values(), Done())
    return Hand(days[0].name, whole.hours / since, whole.hours / worked if worked else 0.0, done, whole)


def _built(hands: list[Hand], kinds: Iterable[str], gone: Sequence[str], skim: tuple[float, bool]) -> Team:
    by_kind: dict[str, Done] = {}
    for hand in hands:
        for kind, done in hand.done.items():
            by_kind[kind] = by_kind.get(kind, Done()) + done
    whole = sum(by_kind.values(), Done())
    paces = {
        kind: by_kind[kind].pace if kind in by_kind and by_kind[kind].hours >= OWN_HOURS else whole.pace
        for kind in {*kinds, *by_kind}
    }
    return Team(hands, paces, *skim, gone)


def _skim_factor(people: Mapping[str, list[Day]]) -> tuple[float, bool]:
    watched = skimmed = Done()
    for day in (day for days in people.values() for day in days):
        for (_, skim), part in day.done.items():
            if skim:
                skimmed += part
            else:
                watched += part
    if skimmed.hours < OWN_HOURS or watched.hours < OWN_HOURS or not watched.pace:
        return SKIM_FACTOR, False
    return max(1.0, skimmed.pace / watched.pace), True


def look_ahead(
    days: Iterable[Day],
    left: Mapping[str, float],
    coming: Coming,
    today: date,
    what_if: WhatIf = WhatIf(),
    drawn: Sequence[Team] | None = None,
) -> Forecast:
    """The date by the averages of the days on record, and the range in which it falls in eight of ten reshuffles of
    them, which are `drawn` by `reshuffles` if not given. `left` is hours of footage by kind. The same record gives the
    same answer."""
    kinds = [*left, *coming.a_day]
    days = list(days)
    team = _team(_by_person(days), today, kinds)
    told = _told(team, left, coming, today, what_if)
    drawn = reshuffles(days, today, kinds) if drawn is None else drawn
    ends = sorted(_told(each, left, coming, today, what_if).likely or date.max for each in drawn)
    early, late = (ends[round(part * (len(ends) - 1))] if ends else date.max for part in EIGHT_OF_TEN)
    if told.likely:  # the average lies in its own range
        early, late = min(early, told.likely), max(late, told.likely)
    known = {date.max: None}
    return replace(told, early=known.get(early, early), late=known.get(late, late))


def reshuffles(days: Iterable[Day], today: date, kinds: Iterable[str]) -> list[Team]:
    """What the team would be had other days happened: each person's days are drawn anew, with their days off, as many
    as there were. None for a team that is not here. They depend on the record alone, not on what is left."""
    people = _by_person(days)
    here = {hand.name: people[hand.name] for hand in _team(people, today, kinds).hands}
    skim = _skim_factor(here)
    chances = (random.Random(number) for number in range(RESHUFFLES if here else 0))
    return [_reshuffled(here, today, kinds, chance, skim) for chance in chances]


def _reshuffled(
    people: Mapping[str, list[Day]],
    today: date,
    kinds: Iterable[str],
    chance: random.Random,
    skim: tuple[float, bool],
) -> Team:
    hands = []
    for _, days in sorted(people.items()):
        since = (today - min(day.day for day in days)).days
        weights: dict[int, int] = {}
        for drawn in chance.choices(range(since), k=since):  # a number past the worked days is a day off
            weights[drawn] = weights.get(drawn, 0) + 1
        hands.append(_hand(days, since, weights))
    return _built(hands, kinds, (), skim)


def assume(assumed: Assumed, left: Mapping[str, float], coming: Coming, today: date) -> Forecast:
    """The date for a team that is not on record; a range is not known for it."""
    hours = assumed.hours_a_week / 7
    hands = [Hand("", hours, hours, {}, Done()) for _ in range(assumed.people)]
    team = Team(hands, dict.fromkeys([*left, *coming.a_day], assumed.pace))
    return _told(team, left, coming, today, WhatIf())


def _told(team: Team, left: Mapping[str, float], coming: Coming, today: date, what_if: WhatIf) -> Forecast:
    a_day = {kind: _seen_a_day(team, kind, what_if) for kind in {**left, **coming.a_day}}
    work = {kind: _days(hours, a_day[kind]) for kind, hours in left.items() if hours}
    more = sum(_days(hours, a_day[kind]) for kind, hours in coming.a_day.items())
    shooting = coming.days_after(today)
    piled = _piled(sum(work.values()), more, shooting)
    end = _end(piled, shooting, today)
    people = max(0, len(team.hands) + what_if.loggers)
    return Forecast(team, people, a_day, work, more if shooting else 0.0, piled, end, end, end)


def _days(hours: float, a_day: float) -> float:
    if not hours:
        return 0.0
    return hours / a_day if a_day > 0 else math.inf


def _seen_a_day(team: Team, kind: str, what_if: WhatIf) -> float:
    """Hours of this kind that the whole team sees in a day of nothing else."""
    if not team.hands:
        return 0.0
    seen = 0.0
    for hand in team.hands:
        longer = min(24.0, hand.a_worked_day + what_if.hours) / hand.a_worked_day if hand.a_worked_day else 0.0
        seen += hand.hours * max(0.0, longer) * hand.pace(kind, team.paces)
    people = max(0, len(team.hands) + what_if.loggers)
    return seen * people / len(team.hands) * (team.skim if kind in what_if.skim else 1.0)


def _piled(left: float, more: float, shooting: int) -> float:
    """Days of work that are left after the next `shooting` evenings: `left` now, `more` by each of them."""
    for _ in range(min(shooting, FURTHEST)):
        left = max(0.0, left - 1) + more
    return left


def _end(piled: float, shooting: int, today: date) -> date | None:
    """The day by whose evening everything has been seen: `piled` days of work after `shooting` days. Tomorrow is the
    first day of work, and a day that is begun counts."""
    days = shooting + math.ceil(piled - 1e-9) if piled < FURTHEST else FURTHEST + 1
    return today + timedelta(days) if days <= FURTHEST else None


def people_for(forecast: Forecast, left: Mapping[str, float], coming: Coming, today: date, by: date) -> int | None:
    """How many people like those of the forecast it takes to have seen everything by the evening of `by`; None when no
    number would do: what is shot on one day is watched on the next."""
    count = forecast.people
    alone = {kind: hours / count for kind, hours in forecast.a_day.items()} if count else {}
    for people in range(1, MOST_PEOPLE + 1 if alone else 1):
        work = sum(_days(hours, people * alone[kind]) for kind, hours in left.items())
        more = sum(_days(hours, people * alone[kind]) for kind, hours in coming.a_day.items())
        shooting = coming.days_after(today)
        end = _end(_piled(work, more, shooting), shooting, today)
        if end and end <= by:
            return people
    return None


def people_for_weeks(hours: float, weeks: float, hours_a_week: float, pace: float = 1.0) -> int:
    """How many people see `hours` of footage in so many weeks, of which each works `hours_a_week`."""
    return math.ceil(hours / (weeks * Assumed(1, hours_a_week, pace).hours_a_week * pace) - 1e-9)
