"""What a search looks at, kept true: a row of folded words, time and rating for each select that is not deleted.

Whoever changes what a select says calls `keep` in the same transaction. What changes around it, a card that comes or a
clock that is set, is caught up with by the sweep.
"""

import hashlib
import math
import time
import uuid
from collections.abc import Iterable
from datetime import date

from django.db import connection, transaction
from django.db.models import Count, QuerySet, Sum

from review.clock import DAY
from review.frames import FrameRange
from review.models import Card, Clip, FieldNote, Findable, FindableCard, FindableWord, Production, Select, WatchedRange
from review.record import angles, field_notes
from review.remembered import Remembered
from review.searching import folding, words_index

NOTE_REACH = 60  # seconds: what was noted on set within a minute of a select belongs to it; notes are often so coarse
UNDATED = date(9999, 1, 1)  # cards whose shoot date is not known come last
FORM = 3  # of the rows: another number has the sweep make all of them anew
SWEEP_SECONDS = 20  # of catching up, at most, in one sweep

SEEN_TWICE = words_index.mark("w", 2)  # two people or more have each watched all of it

_EPOCH = date(1970, 1, 1).toordinal()
_AT_ONCE = 500  # rows
_IN_TURN, _PAUSE = 50, 0.15  # rows; seconds between them
_ANGLED = Remembered(most=2000, seconds=600)  # of the clips that are being marked
_KEPT = ("production", "card", "logger", "rating", "shot_at", "milliseconds", "angled", "words")


def keep(selects: Iterable[uuid.UUID | Select]) -> None:
    """Make these selects findable as they are now; those that are deleted cannot be found any more."""
    ids = [each.pk if isinstance(each, Select) else each for each in selects]
    for at in range(0, len(ids), _AT_ONCE):
        _keep(ids[at : at + _AT_ONCE])


def _keep(ids: list[uuid.UUID]) -> None:
    with transaction.atomic():
        known = Select.objects.filter(id__in=ids).select_related("clip__card__production", "logger")
        known = known.prefetch_related("tags").order_by("clip", "in_frame", "id")
        beside: dict[int, _Beside] = {}
        rows, gone = [], []
        for select in known:
            if select.deleted is not None:
                gone.append(select.id)
                continue
            if select.clip_id not in beside:
                beside[select.clip_id] = _Beside(select.clip)
            rows.append(_row(select, beside[select.clip_id]))
        Findable.objects.filter(select__in=gone).delete()
        Findable.objects.bulk_create(rows, update_conflicts=True, unique_fields=["select"], update_fields=_KEPT)
        known_by = {(row.production_id, word) for row in rows for word in words_index.plain_words(row.words)}
        FindableWord.objects.bulk_create(
            [FindableWord(production_id=production, word=word) for production, word in sorted(known_by)],
            ignore_conflicts=True,
            batch_size=_AT_ONCE,
        )


class _Beside:
    """What was around a clip: what other cards' cameras shot of its time, and what was noted on set meanwhile."""

    def __init__(self, clip: Clip):
        self.clip = clip
        self.notes = field_notes.on_clip(clip)
        self.reach = math.ceil(NOTE_REACH * clip.timebase.rate.numerator / clip.timebase.rate.denominator)
        self.angled = _ANGLED.get(clip.id, _cards_near(clip.card), lambda: _angled(clip))
        self.watched = _watched_of(clip)

    def notes_at(self, select: Select) -> list[FieldNote]:
        first, last = select.in_frame - self.reach, select.out_frame + self.reach
        return [note for frame, note in self.notes if first <= frame < last]

    def has_angles(self, select: Select) -> bool:
        return any(start < select.out_frame and end > select.in_frame for start, end in self.angled)


def _cards_near(card: Card) -> tuple:
    """What other angles depend on, cheaply: the cards of the days around, as they are now."""
    facts = ("id", "found_at", "checked_at", "state", "shoot_date", "clock_numerator", "clock_denominator", "clock_set")
    return tuple(_beside(card).order_by("id").values_list(*facts))


def _angled(clip: Clip) -> list[FrameRange]:
    """The frames of a clip while which a camera with another card was rolling."""
    return [_range_here(clip, angle) for angle in angles.of(clip, 0, clip.frames) if _other(clip, angle)]


def _watched_of(clip: Clip) -> list[tuple[int, int, int]]:
    """(person, in_frame, out_frame) of what was watched; one person's ranges that touch are one."""
    ranges = clip.watched_ranges.filter(manner=WatchedRange.Manner.WATCHED)
    return list(ranges.values_list("person", "in_frame", "out_frame"))


def _eyes(watched: list[tuple[int, int, int]], select: Select) -> int:
    """How many people have watched every frame of a select."""
    return len({person for person, start, end in watched if start <= select.in_frame and end >= select.out_frame})


def _other(clip: Clip, angle: "angles.Angle") -> bool:
    return angle.clip.card_id != clip.card_id and angle.clip.kind == Clip.Kind.VIDEO


def _range_here(clip: Clip, angle: "angles.Angle") -> FrameRange:
    """The frames of `clip` while which the other camera was rolling."""
    later = (angle.clip.card.shoot_date - clip.card.shoot_date).days * DAY
    start, end = (angles.time_on(angle.clip, frame) + later for frame in (angle.in_frame, angle.out_frame))
    first = angles.frame_on(clip, start)
    return FrameRange(first, max(first + 1, angles.frame_on(clip, end)))


def _row(select: Select, beside: _Beside) -> Findable:
    clip, card, logger = select.clip, select.clip.card, select.logger
    notes = beside.notes_at(select)
    tag_ids = [tag.id for tag in select.tags.all()]
    texts = (
        *(tag.name for tag in select.tags.all()),
        *(card.name, clip.name, logger.username, logger.get_full_name()),
        *(text for note in notes for text in (note.tag, note.text)),
        select.note,
    )
    return Findable(
        select=select,
        production=card.production,
        card=card,
        logger=logger,
        rating=select.rating,
        shot_at=moment(clip, select.in_frame),
        milliseconds=round(1000 * clip.timebase.rate.seconds(select.frames)),
        angled=beside.has_angles(select),
        words=words(texts, tag_ids, select.rating, card, logger.id, _eyes(beside.watched, select)),
    )


def words(texts: Iterable[str], tag_ids: Iterable[int], rating: int, card: Card, logger_id: int, eyes: int = 0) -> str:
    """The words of a row: those of its texts, and the marks that filters look for. `eyes` is how many people have
    watched all of it."""
    mark = words_index.mark
    marks = [
        *(mark("t", tag) for tag in tag_ids),
        *(mark("r", better) for better in range(1, rating + 1)),
        *((mark("k", card.camera.casefold()),) if card.camera else ()),
        *(mark("c", card.id), mark("l", logger_id)),
        *((SEEN_TWICE,) if eyes >= 2 else ()),
    ]
    return f"{folding.row(texts)} {' '.join(marks)}"


def day_begins(day: date) -> int:
    """Microseconds since 1970 at midnight of a shoot day, on the production's clock."""
    return (day.toordinal() - _EPOCH) * DAY * 1_000_000


def moment(clip: Clip, frame: int) -> int:
    """When a frame was shot, in microseconds since 1970, on the production's clock."""
    return day_begins(clip.card.shoot_date or UNDATED) + math.floor(angles.time_on(clip, frame) * 1_000_000)


def watched(clip: Clip) -> None:
    """Somebody watched more of a clip: what two people have watched whole by now is found as such."""
    beside = _watched_of(clip)
    if len({person for person, _, _ in beside}) < 2:
        return
    rows = Findable.objects.filter(select__clip=clip).exclude(words__contains=SEEN_TWICE).select_related("select")
    keep([row.select for row in rows if _eyes(beside, row.select) >= 2])


# What changes around selects --------------------------------------------------------------------


def look_again(production: Production, days: Iterable[date]) -> None:
    """Field notes of these shoot days came or went: let the next sweep look at their selects again."""
    ordinals = {day.toordinal() + beside for day in days for beside in (-1, 0, 1)}
    near = [date.fromordinal(each) for each in sorted(ordinals)]
    FindableCard.objects.filter(card__production=production, card__shoot_date__in=near).delete()


def catch_up(seconds: float = SWEEP_SECONDS) -> int:
    """Make findable what cards that came, were checked again, renamed or set to another clock have changed; what does
    not fit in the time waits for the next sweep. Returns how many cards were looked at."""
    until, done = time.monotonic() + seconds, 0
    for card, now in _changed_cards():
        if time.monotonic() > until:
            break
        if FindableCard.objects.filter(card=card, seen=now).exists():
            continue  # with another card of its day
        beside = _beside(card)
        _keep_in_turn(Select.objects.filter(clip__card__in=beside, deleted=None).order_by("clip", "in_frame"))
        seen = [FindableCard(card_id=each, seen=how) for each, how in _signatures(beside)]
        FindableCard.objects.bulk_create(seen, update_conflicts=True, unique_fields=["card"], update_fields=["seen"])
        done += 1
    return done


def _keep_in_turn(selects: QuerySet[Select]) -> None:
    """A few at a time, with a pause in which those who mark come to their turn: SQLite has one writer, who may have
    much to catch up after an upgrade, and whoever waits for it tries again every tenth of a second."""
    ids = list(selects.values_list("id", flat=True))
    for at in range(0, len(ids), _IN_TURN):
        if at and connection.vendor == "sqlite":
            time.sleep(_PAUSE)
        _keep(ids[at : at + _IN_TURN])


def _beside(card: Card):
    """The cards whose selects another card's coming may change: those of its day and the days beside it."""
    if card.shoot_date is None:
        return Card.objects.filter(id=card.id)
    day = card.shoot_date.toordinal()
    days = [date.fromordinal(day + beside) for beside in (-1, 0, 1)]
    return card.production.cards.filter(shoot_date__in=days)


def _changed_cards() -> list[tuple[Card, str]]:
    before = dict(FindableCard.objects.values_list("card", "seen"))
    now = {card: how for card, how in _signatures(Card.objects.all()) if before.get(card) != how}
    cards = Card.objects.select_related("production").filter(id__in=list(now)[:_AT_ONCE]).order_by("id")
    return [(card, now[card.id]) for card in cards]


def _signatures(cards) -> list[tuple[int, str]]:
    facts = cards.order_by("id").values_list(
        *("id", "name", "shoot_date", "state", "clock_numerator", "clock_denominator", "clock_set"),
        *(Count("clips"), Sum("clips__frames"), Sum("clips__start_frame")),
    )
    return [(card, hashlib.blake2b(repr([FORM, *rest]).encode(), digest_size=16).hexdigest()) for card, *rest in facts]
