"""Finding selects among very many: by words and by every filter beside them, a page at a time by key.

A database that guesses wrong goes through all rows for a question that one index answers. So it is not left to guess:
the words and the commonest filters are looked up together in the words' index (`_gathered`), and only where they fit
very many selects are the rows gone through in order, which then finds a page soon.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from functools import reduce
from operator import or_
from typing import NamedTuple

from django.db.models import (
    BigIntegerField,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    Value,
)
from django.db.models.functions import Mod

from review.clock import DAY
from review.desk import usage
from review.many_ids import among
from review.models import Card, Clip, Findable, ListEntry, Person, Production, Select, Tag, WorthKeeping
from review.record.findables import SEEN_TWICE, UNDATED, day_begins
from review.searching import asking, exported, words_index
from review.searching.asking import Question
from review.searching.wanted import Wanted
from review.searching.words_index import Asked

RARE = 3_000  # rows that are sorted rather than gone through; more are found soon enough in order
MOST_TIMES = 300  # stretches of time, looked up at once
MOST_CARDS = 60  # that are looked up by their marks

_IN_A_DAY = DAY * 1_000_000


@dataclass(frozen=True)
class Found:
    """The selects that fit, in no order; `review.searching.pages` gives them one and counts them. Where very many have
    all words and marks that are asked for, `some` are those that fit among RARE + 1 of them; and `apart` are the
    productions, each of which has its rows in order."""

    rows: QuerySet[Findable]
    some: QuerySet[Findable] | None = None
    apart: tuple[int, ...] = ()


def find(productions: Iterable[Production], wanted: Wanted, question: Question | None = None) -> Found:
    """The findable selects of these productions that fit. `question` is what the wanted text asks, if it was read
    already."""
    mine = [each for each in productions if wanted.production in ("", each.code)]
    question = asking.read(wanted.text) if question is None else question
    only_signs = wanted.text and not question.words  # no word can be found by them
    cards, people, in_words = _cards(mine, wanted), _people(wanted), _in_words(mine, wanted)
    if not mine or only_signs or cards == [] or people == [] or () in in_words:
        return Found(Findable.objects.none())
    ids = [each.id for each in mine]
    first = _gathered(mine, wanted, Asked(question, (*in_words, *_marks(wanted, cards, people))))

    def narrowed(rows: QuerySet[Findable], by_index: bool) -> QuerySet[Findable]:
        rows = _of(rows, "production", ids, by_index)
        if cards is not None:
            rows = _of(rows, "card", cards, by_index and len(cards) == 1)
        if people is not None:
            rows = _of(rows, "logger", people, by_index=False)
        return _narrowed(rows, mine, first.left)

    by_index = first.rare is None
    rows = Findable.objects.all() if by_index else Findable.objects.filter(id__in=among(first.rare))
    if (asked := Asked(question, in_words)) and not first.looked_up:
        rows = rows.filter(words_index.has(asked))
    some = narrowed(Findable.objects.filter(id__in=among(first.some)), False) if first.some else None
    return Found(narrowed(rows, by_index), some, tuple(ids) if by_index else ())


def _of(found: QuerySet[Findable], field: str, ids: list[int], by_index: bool) -> QuerySet[Findable]:
    if by_index:
        return found.filter(**{f"{field}__in": ids} if len(ids) != 1 else {field: ids[0]})
    return _plain(found, f"{field}_id", "in", ids)


def _plain(found: QuerySet[Findable], column: str, lookup: str, value) -> QuerySet[Findable]:
    """Filtered by a column whose index is not to be started with."""
    return found.alias(**{f"plain_{column}": words_index.unindexed(column)}).filter(
        **{f"plain_{column}__{lookup}": value}
    )


def _cards(mine: list[Production], wanted: Wanted) -> list[int] | None:
    """The cards that it can be on; None if any."""
    cards = Card.objects.filter(production__in=mine)
    if not (wanted.card or wanted.camera or wanted.date or wanted.day):
        return None
    if wanted.card:
        cards = cards.filter(name=wanted.card)
    if wanted.camera:
        cards = cards.filter(camera=wanted.camera)
    if wanted.date:
        cards = cards.filter(shoot_date=wanted.date)
    if wanted.day:
        cards = cards.filter(_shot_on(mine, wanted.day))
    return list(cards.order_by().values_list("id", flat=True))


def has_clips() -> Exists:
    return Exists(Clip.objects.filter(card=OuterRef("pk")))


def shoot_days(production: Production) -> list[date]:
    """The days on which something was shot, in order: the first is day 1."""
    cards = production.cards.exclude(shoot_date=None).filter(has_clips())
    return list(cards.order_by("shoot_date").values_list("shoot_date", flat=True).distinct())


def _shot_on(mine: list[Production], day: int) -> Q:
    found = Q(pk=None)
    for production in mine:
        days = shoot_days(production)
        if day <= len(days):
            found |= Q(production=production, shoot_date=days[day - 1])
    return found


# What is looked up first ------------------------------------------------------------------------


def _people(wanted: Wanted) -> list[int] | None:
    if not wanted.logger:
        return None
    return list(Person.objects.filter(username=wanted.logger).values_list("id", flat=True))


def _in_words(mine: list[Production], wanted: Wanted) -> tuple[tuple[str, ...], ...]:
    """What stands among a row's words alone: for each tag that must be there its marks in these productions, those of
    which one must, and the mark of what was seen twice; () for a tag that there is not."""
    names = [(name,) for name in wanted.tag] + ([wanted.tag_any] if wanted.tag_any else [])
    tags = [tuple(words_index.mark("t", tag) for tag in _tag_ids(mine, group)) for group in names]
    return (*tags, (SEEN_TWICE,)) if wanted.seen else tuple(tags)


def _tag_ids(mine: list[Production], names: Iterable[str]) -> list[int]:
    tags = Tag.objects.filter(production__in=mine, folded__in=list(names))
    return list(tags.order_by("id").values_list("id", flat=True))


def _marks(wanted: Wanted, cards: list[int] | None, people: list[int] | None) -> list[tuple[str, ...]]:
    groups = []
    if cards is not None and len(cards) <= MOST_CARDS:
        groups.append(tuple(words_index.mark("c", card) for card in cards))
    elif wanted.camera:
        groups.append((words_index.mark("k", wanted.camera.casefold()),))
    if people is not None:
        groups.append(tuple(words_index.mark("l", person) for person in people))
    if wanted.rating:
        groups.append((words_index.mark("r", wanted.rating),))
    return groups


class _Gathered(NamedTuple):
    """`rare` are the ids that fit something asked for that fits no more than RARE, None if nothing is so rare; `left`
    is what is wanted of them still, `looked_up` whether they have all words and marks; `some` are the ids of RARE + 1
    that have them, else none."""

    rare: list[int] | None
    left: Wanted
    looked_up: bool = False
    some: tuple[int, ...] = ()


def _gathered(mine: list[Production], wanted: Wanted, asked: Asked) -> _Gathered:
    some = words_index.ids_with(asked, RARE + 1) if asked else []
    if asked and len(some) <= RARE:
        return _Gathered(some, wanted, looked_up=True)
    ways: list[tuple[str, bool, Callable[[], QuerySet[Findable]]]] = [
        ("clip", wanted.clip is not None, lambda: Findable.objects.filter(select__clip=wanted.clip)),
        ("keep", bool(wanted.keep), lambda: Findable.objects.filter(select__worth_keeping__isnull=False)),
        ("cut", wanted.cut == "yes", lambda: _in_cuts(mine)),
        ("", bool(wanted.since and wanted.until), lambda: _in_times(mine, wanted.since, wanted.until)),
    ]
    for name, asked_for, gather in ways:
        if asked_for and len(ids := _ids(gather())) <= RARE:
            return _Gathered(ids, replace(wanted, **{name: None if name == "clip" else ""}) if name else wanted)
    return _Gathered(None, wanted, some=tuple(some))


def _ids(found: QuerySet[Findable]) -> list[int]:
    return list(found.order_by().values_list("id", flat=True)[: RARE + 1])


def _in_cuts(mine: list[Production]) -> QuerySet[Findable]:
    """Beginning with the events of the cuts, which are few beside the selects."""
    event = "select__clip__cut_events"
    used = Findable.objects.filter(
        **{f"{event}__cut__production__in": mine},
        **{f"{event}__in_frame__lt": F("select__out_frame"), f"{event}__out_frame__gt": F("select__in_frame")},
    )
    return used.distinct()


def _in_times(mine: list[Production], since: time, until: time) -> QuerySet[Findable]:
    """What may have been shot between two times of day: a stretch of the index of times for each day, if there are not
    too many for one question."""
    lasts = (_microseconds(until) - _microseconds(since)) % _IN_A_DAY or _IN_A_DAY
    parts = []
    for production in mine:
        days = shoot_days(production)
        late = [day + timedelta(days=1) for day in days]  # a label's day may run over midnight
        for day in {*days, *late, UNDATED}:
            first = day_begins(day) + _microseconds(since)
            # Each part names the production, or SQLite would go through all of its rows.
            parts.append(Q(production=production, shot_at__gte=first, shot_at__lt=first + lasts))
    return Findable.objects.filter(reduce(or_, parts) if len(parts) <= MOST_TIMES else Q())


# Every filter ----------------------------------------------------------------------------------


def _narrowed(found: QuerySet[Findable], mine: list[Production], wanted: Wanted) -> QuerySet[Findable]:
    if wanted.clip is not None:
        found = found.filter(select__clip=wanted.clip)
    if wanted.date:
        begins = day_begins(wanted.date)  # a label's day may run over midnight, and a clock may be a day's part off
        found = found.filter(shot_at__gte=begins - _IN_A_DAY, shot_at__lt=begins + 3 * _IN_A_DAY)
    if wanted.since or wanted.until:
        found = _at_time(found, wanted.since or time(0), wanted.until)
    if wanted.tag_none:
        found = _without_tags(found, mine, wanted.tag_none)
    if wanted.rating and wanted.sort == "rating":
        found = found.filter(rating__gte=wanted.rating)
    elif wanted.rating:
        found = _plain(found, "rating", "gte", wanted.rating)
    if wanted.longer is not None:
        found = found.filter(milliseconds__gte=wanted.longer)
    if wanted.shorter is not None:
        found = found.filter(milliseconds__lte=wanted.shorter)
    if wanted.angles:
        found = found.filter(angled=True)
    if wanted.keep:
        found = found.filter(Exists(WorthKeeping.objects.filter(select=OuterRef("select"))))
    if wanted.cut:
        in_a_cut = Exists(usage.events_in("select__"))
        found = found.filter(in_a_cut if wanted.cut == "yes" else ~in_a_cut)
    if wanted.pulled == "unlisted":
        found = found.filter(~Exists(ListEntry.objects.filter(select=OuterRef("select"))))
    elif wanted.pulled == "no":
        found = found.exclude(select__in=exported.selects(mine))
    return found


def _at_time(found: QuerySet[Findable], since: time, until: time | None) -> QuerySet[Findable]:
    """At a time of day, of clips whose time is known."""
    known = ~Q(select__clip__timecode_source="") | Q(select__clip__card__clock_set=True)
    found = found.filter(known).alias(of_day=Mod(F("shot_at"), Value(_IN_A_DAY), output_field=BigIntegerField()))
    first = _microseconds(since)
    if until is None:
        return found.filter(of_day__gte=first)
    last = _microseconds(until)
    if first < last:
        return found.filter(of_day__gte=first, of_day__lt=last)
    return found.filter(Q(of_day__gte=first) | Q(of_day__lt=last))


def _microseconds(at: time) -> int:
    return int(timedelta(hours=at.hour, minutes=at.minute, seconds=at.second) / timedelta(microseconds=1))


def _without_tags(found: QuerySet[Findable], mine: list[Production], names: Iterable[str]) -> QuerySet[Findable]:
    tagged = Select.tags.through.objects.filter(select=OuterRef("select"), tag__in=_tag_ids(mine, names))
    return found.filter(~Exists(tagged))
