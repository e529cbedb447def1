"""When it will be done: what is left and still being shot, and the paces on record, handed to the arithmetic."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from django.db import transaction
from django.db.models import F, Max, Min, Sum
from django.utils import timezone

from review import forecast, roles
from review.crew import access
from review.crew.activity import About, happened
from review.forecast import Assumed, Coming, Day, Forecast, WhatIf
from review.models import Person, Production, SecondLook
from review.record import pace
from review.record.coverage import counts, footage
from review.refusals import Refusal
from review.remembered import Remembered

_DRAWN = Remembered(most=8, seconds=3600)
MOST_MINUTES = 100 * 24 * 60  # shot in a day, on all cameras together


@dataclass(frozen=True)
class Question:
    """What somebody asks of the future. With `people` set, the team is assumed and not taken from the record."""

    what_if: WhatIf = field(default_factory=WhatIf)
    without: frozenset[str] = frozenset()  # people on record who are not reckoned with from now on, by sign-in name
    again: bool = False  # what was only skimmed is to be watched, too
    by: date | None = None  # how many people would it take to be done by then?
    people: int | None = None
    week: float = 40.0  # hours that each of the assumed people works
    speed: float = 1.0  # hours of footage that they see in an hour of work

    @property
    def assumed(self) -> bool:
        return self.people is not None

    @classmethod
    def read(cls, query: Mapping[str, str]) -> "Question":
        """From a query. Raises Refusal for what cannot be."""
        given = {name: (query.get(name) or "").replace("\0", "").strip() for name in _FIELDS}
        skim, without = (
            frozenset(part.strip() for part in given[name].split(",") if part.strip()) for name in ("skim", "without")
        )
        return cls(
            WhatIf(
                int(_number(given["loggers"], "loggers", -200, 1000, whole=True) or 0),
                _number(given["hours"], "hours", -24, 24) or 0.0,
                frozenset(kind if kind == pace.SOUND else kind.upper() for kind in skim),
            ),
            without,
            given["again"] == "yes",
            _day(given["by"], "by"),
            None
            if given["people"] == ""
            else int(_number(given["people"], "people", 1, forecast.MOST_PEOPLE, whole=True)),
            _number(given["week"], "week", 0.1, forecast.HOURS_A_WEEK, why=" (a week has no more)") or cls.week,
            _number(given["speed"], "speed", 0.01, 16) or cls.speed,
        )


_FIELDS = ("loggers", "hours", "skim", "without", "again", "by", "people", "week", "speed")


def _number(text: str, name: str, least: float, most: float, whole: bool = False, why: str = "") -> float | None:
    if not text:
        return None
    try:
        number = int(text) if whole else float(text.replace(",", "."))
    except ValueError:
        number = None
    if number is None or not least <= number <= most:
        range_ = f"{'a whole number' if whole else 'a number'} from {least:g} to {most:g}"
        raise Refusal(f"{name} is {range_}{why}, not {text[:20]!a}.", name)
    return number


def _day(text: str, field: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise Refusal(f"{text[:20]!a} is not a date; write it as 2026-11-12.", field) from None


@dataclass(frozen=True)
class Answer:
    """`told` is None when too little is on record. Footage in hours, by kind. `stopped` have worked, but cannot sign in
    any more or are no longer in the production. `needed` people are done by the day that was asked for; None if no
    number would be, or none was asked for."""

    question: Question
    today: date
    days: list[Day]
    stopped: list[str]
    left: dict[str, float]  # seen by nobody, or to be watched again
    second: dict[str, float]  # of second looks, still to be watched by another person
    coming: Coming
    told: Forecast | None
    usual: Forecast | None  # without the what-ifs; None if there are none
    needed: int | None

    @property
    def all_left(self) -> dict[str, float]:
        return added(self.left, self.second)

    @property
    def hours_on_record(self) -> float:
        return sum(done.hours for day in self.days for done in day.done.values())


def added(*parts: Mapping[str, float]) -> dict[str, float]:
    whole: dict[str, float] = {}
    for part in parts:
        for kind, hours in part.items():
            whole[kind] = whole.get(kind, 0.0) + hours
    return dict(sorted(whole.items()))


def answer(production: Production, question: Question) -> Answer:
    today = timezone.localdate()
    on_record = pace.record(production, today)
    days = on_record.days
    stopped = _stopped(production, days)
    _must_be_on_record(question.without, days)
    left, second, coming = _left(production, question.again), _second(production), _coming(production)
    whole = added(left, second)
    told = usual = None
    if question.assumed:
        told = forecast.assume(Assumed(question.people, question.week, question.speed), whole, coming, today)
    elif not forecast.too_little(days):

        def ahead(left: Mapping[str, float], away: frozenset[str], what_if: WhatIf) -> Forecast:
            here = [day for day in days if day.name not in away]
            drawn = _drawn(production, on_record.version, here, away, [*left, *coming.a_day], today)
            return forecast.look_ahead(here, left, coming, today, what_if, drawn)

        told = ahead(whole, question.without.union(stopped), question.what_if)
        if question.what_if != WhatIf() or question.without or question.again:
            usual = ahead(added(_left(production, False), second), frozenset(stopped), WhatIf())
    needed = forecast.people_for(told, whole, coming, today, question.by) if told and question.by else None
    return Answer(question, today, days, stopped, left, second, coming, told, usual, needed)


def _stopped(production: Production, days: list[Day]) -> list[str]:
    """Of those on record, who cannot come back to the work: their sign-in was stopped, or they have no role left."""
    members = Person.objects.filter(memberships__production=production, is_active=True)
    return sorted({day.name for day in days} - set(members.values_list("username", flat=True)))


def _must_be_on_record(names: frozenset[str], days: list[Day]) -> None:
    if unknown := sorted(names - {day.name for day in days}):
        raise Refusal(
            f"{unknown[0][:40]!a} is nobody whose work is on record, so nothing changes without them.", "without"
        )


def _drawn(
    production: Production, version: tuple, here: list[Day], away: frozenset[str], kinds: list[str], today: date
) -> list[forecast.Team]:
    """The reshuffles of a record without those who are `away`: they are the same until it is another, however much of
    the footage is left."""
    kinds = sorted(set(kinds))
    key = (production.id, *kinds, away)
    return _DRAWN.get(key, version, lambda: forecast.reshuffles(here, today, kinds))


def _hours(frames: int, numerator: int, denominator: int) -> float:
    return float(Fraction(frames * denominator, numerator) / 3600)


_KIND = ("card__camera", "kind", "rate_numerator", "rate_denominator")


def _left(production: Production, again: bool) -> dict[str, float]:
    unseen = F("frames") - F("watched_frames") - (0 if again else F("skimmed_frames"))
    return _by_kind(footage(production).order_by().values_list(*_KIND).annotate(count=Sum(unseen)))


def _second(production: Production) -> dict[str, float]:
    looks = SecondLook.objects.filter(counts(production, "clip__"), ended_at=None).order_by()
    missing = F("out_frame") - F("in_frame") - F("seen_frames")
    return _by_kind(looks.values_list(*(f"clip__{each}" for each in _KIND)).annotate(count=Sum(missing)))


def _by_kind(rows) -> dict[str, float]:
    found: dict[str, float] = {}
    for camera, kind, numerator, denominator, count in rows:
        name = pace.kind_of(camera, kind == "sound")
        found[name] = found.get(name, 0.0) + _hours(count, numerator, denominator)
    return {name: hours for name, hours in sorted(found.items()) if hours}


def _coming(production: Production) -> Coming:
    """What a day brings: as much as so far on average, days off counted in, or the minutes that somebody set; of each
    kind as much as so far."""
    dated = footage(production).exclude(card__shoot_date=None).order_by()
    shot = _by_kind(dated.values_list(*_KIND).annotate(Sum("frames")))
    first, last = dated.aggregate(first=Min("card__shoot_date"), last=Max("card__shoot_date")).values()
    so_far = sum(shot.values())
    if production.shot_a_day is not None:
        a_day = production.shot_a_day / 60
        shot = shot or {pace.NO_CAMERA: 1.0}
        so_far = so_far or 1.0
    else:
        a_day = so_far / ((last - first).days + 1) if so_far else 0.0
    kinds = {kind: hours / so_far * a_day for kind, hours in shot.items()} if so_far else {}
    return Coming({kind: hours for kind, hours in kinds.items() if hours}, production.shoot_until)


def set_shooting(person: Person, production: Production, until: str, minutes: str) -> None:
    """Say until which day is shot, and how many minutes a day on average; empty: not known, and as so far."""
    access.require(person, production, roles.HAND_OUT)
    day = _day(until.replace("\0", "").strip(), "shoot_until")
    count = _number(minutes.replace("\0", "").strip(), "shot_a_day", 0, MOST_MINUTES, whole=True)
    with transaction.atomic():
        production.shoot_until, production.shot_a_day = day, None if count is None else int(count)
        production.save(update_fields=["shoot_until", "shot_a_day"])
        said = f"that shooting goes on until {day}" if day else "that the last day of shooting is not known"
        said += f", with {count} minutes a day" if count is not None else ", with as much a day as so far"
        happened(production, person, "set", said, About.PRODUCTION, production.code)
