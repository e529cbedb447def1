"""Footage and selects as many as a long series leaves, filled in bulk. What our own code keeps beside the rows (sums of
what was seen, stretches that nobody watched, what a search looks at) is kept here by the same arithmetic.
"""

import json
import random
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.core.management.color import no_style
from django.db import connection, models, transaction
from django.db.models import Count, OuterRef, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from review import roles
from review.cards.names import parse_card_name
from review.models import (
    Activity,
    Card,
    Clip,
    FieldNote,
    Findable,
    FindableCard,
    FindableWord,
    Membership,
    Person,
    Production,
    SeenBy,
    Select,
    Tag,
    Unwatched,
    WatchedRange,
)
from review.record import clip_tags, findables
from review.record.seen import Seen

RATE = 25
CAMERAS = "ABCD"  # three roll together by day, D alone in the evening and the night
MORNING, EVENING, BETWEEN, BEHIND = 6 * 3600, 17 * 3600, 30, 40  # seconds; the last is from one camera to the next
COMMON = ["she", "talks", "wide", "hands", "deck"]
WORDS = [
    *("gull", "net", "rope", "winch", "gate", "laugh", "harbour", "boat", "wave", "skipper"),
    *("crew", "engine", "storm", "quiet", "song", "knife", "coffee", "radio"),
]
CREW = {"maren": roles.OWNER, "peder": roles.PRODUCER, "sunniva": roles.EDITOR, "tove": roles.MEDIA_MANAGER}
CODES = ("KB04", "LD01", "MR02")  # the first has all days but two of each of the others
_SHAPES = 200  # ways in which a clip was seen; each serves many clips
_AT_ONCE = 20_000  # rows


@dataclass(frozen=True)
class Size:
    """`cards` are those of one camera and day, `seconds` how long each clip is."""

    days: int
    cards: int
    clips: int
    seconds: int
    ranges: int
    loggers: int

    @property
    def all_clips(self) -> int:
        return self.days * len(CAMERAS) * self.cards * self.clips


TEAM = Size(days=25, cards=2, clips=30, seconds=600, ranges=200_000, loggers=25)  # 1,000 hours in 6,000 clips
SERIES = Size(days=60, cards=2, clips=125, seconds=120, ranges=2_000_000, loggers=50)  # 60,000 clips
SMALL = Size(days=7, cards=1, clips=3, seconds=60, ranges=400, loggers=4)  # for a try
SIZES = {"team": TEAM, "series": SERIES, "small": SMALL}


@dataclass
class Made:
    """What is there. `selects` counts those that were added."""

    size: Size
    production: Production
    loggers: list[Person]
    tags: dict[int, list[Tag]] = field(default_factory=dict)  # by production
    cards: list[Card] = field(default_factory=list)
    clips: list[tuple[int, int, str, int, int]] = field(default_factory=list)  # id, card, name, first frame, number
    selects: int = 0


def put(model: type[models.Model], columns: tuple[str, ...], rows: Iterable[tuple]) -> None:
    """Write rows with the database's own means for many; columns that are not given have the model's usual values."""
    fields = {each.column: each for each in model._meta.concrete_fields}
    rest = {name: each for name, each in fields.items() if name not in columns and not each.primary_key}
    usual = tuple(each.get_db_prep_save(_usual(each), connection) for each in rest.values())
    ways = [_way(fields[name]) for name in columns]
    ready = (tuple(way(value) if way else value for way, value in zip(ways, row, strict=True)) + usual for row in rows)
    names = ", ".join(connection.ops.quote_name(name) for name in (*columns, *rest))
    table = connection.ops.quote_name(model._meta.db_table)
    with transaction.atomic(), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
                for row in ready:
                    copy.write_row(row)
        else:
            marks = ", ".join(["%s"] * (len(columns) + len(rest)))
            cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", ready)


def _usual(column: models.Field):
    now = getattr(column, "auto_now", False) or getattr(column, "auto_now_add", False)
    return timezone.now() if now else column.get_default()


def _way(column: models.Field):
    """How a value of ours is written; None: as it is."""
    column = column.target_field if column.is_relation else column
    if isinstance(column, models.UUIDField) and not connection.features.has_native_uuid_field:
        return lambda value: value.hex
    if isinstance(column, models.JSONField):
        return json.dumps
    if isinstance(column, models.DateTimeField):
        return connection.ops.adapt_datetimefield_value
    return str if isinstance(column, models.DateField) else None


def fill(size: Size) -> Made:
    """Everything but selects."""
    productions = [Production.objects.create(code=code, title=f"Production {code}") for code in CODES]
    loggers = [Person.objects.create(username=f"logger{at}") for at in range(size.loggers)]
    crew = {Person.objects.create(username=name): role for name, role in CREW.items()}
    for production in productions:
        for person in loggers:
            Membership.objects.create(production=production, person=person, role=roles.LOGGER)
        for person, role in crew.items():
            Membership.objects.create(production=production, person=person, role=role)
    made = Made(size, productions[0], loggers)
    for production in productions:
        names = [*(f"tag {n}" for n in range(40)), "rare"]
        tags = [Tag(production=production, name=name, folded=name) for name in names]
        made.tags[production.id] = Tag.objects.bulk_create(tags)
    _cards(made, productions)
    _clips(made)
    known = [FindableCard(card_id=card, seen=how) for card, how in findables._signatures(Card.objects.all())]
    # A sweep of a stack that runs meanwhile may have been faster.
    FindableCard.objects.bulk_create(known, update_conflicts=True, unique_fields=["card"], update_fields=["seen"])
    return made


def _cards(made: Made, productions: list[Production]) -> None:
    of_day = [productions[0]] * (made.size.days - 4) + [productions[1]] * 2 + [productions[2]] * 2
    cards = []
    for day, production in enumerate(of_day):
        for camera in CAMERAS:
            for number in range(1, made.size.cards + 1):
                name = f"{production.code}-{date(2026, 10, 1) + timedelta(day):%y%m%d}-{camera}{number:02}"
                shot = parse_card_name(name).shoot_date
                cards.append(
                    Card(
                        production=production, name=name, folder=f"/nowhere/{name}", reel=f"{len(cards):08}",
                        shoot_date=shot, camera=camera, number=number, state="verified", proof="checksums",
                        checked_at=timezone.now(), total_bytes=10**11, file_count=made.size.clips + 3,
                    )
                )  # fmt: skip
    made.cards = Card.objects.bulk_create(cards)


def _began(size: Size, camera: str, number: int) -> int:
    """Seconds of the day at which clip `number` of a camera's day begins."""
    each = size.seconds + BETWEEN
    if camera == CAMERAS[-1]:
        return (EVENING + number * each) % 86_400
    return MORNING + CAMERAS.index(camera) * BEHIND + number * each


def _clips(made: Made) -> None:
    size, frames = made.size, made.size.seconds * RATE
    shapes = list(_shapes(size))
    for at, card in enumerate(made.cards):
        for one in range(size.clips):
            number = (card.number - 1) * size.clips + one
            start = RATE * _began(size, card.camera, number)
            made.clips.append((len(made.clips) + 1, at, f"{card.camera}{card.number:03}C{one:03}", start, number))
    shape_of = [shapes[at * 7919 % len(shapes)] for at in range(len(made.clips))]
    columns = (
        *("id", "card_id", "name", "kind", "files", "file_frames", "rate_numerator", "rate_denominator", "drop"),
        *("frames", "channels", "timecode_source", "start_frame", "proxy_state", "proxied_frames"),
        *("watched_frames", "skimmed_frames", "unseen_count"),
    )
    put(
        Clip, columns,
        (
            (
                clip, made.cards[card].id, name, "video", [f"CLIPS/{name}.MOV"], [frames], RATE, 1, False,
                frames, 2, "timecode track", start, "ready", frames, *shape.totals,
            )
            for (clip, card, name, start, _), shape in zip(made.clips, shape_of, strict=True)
        ),
    )  # fmt: skip
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), [Clip]):
            cursor.execute(sql)

    def people(clip: int) -> list[int]:
        return [made.loggers[(clip + step) % len(made.loggers)].id for step in (0, 1, 2)]

    both = list(zip((each[0] for each in made.clips), shape_of, strict=True))
    put(
        WatchedRange, ("clip_id", "person_id", "manner", "in_frame", "out_frame"),
        ((c, people(c)[who], "skimmed" if fast else "watched", a, b) for c, s in both for who, fast, a, b in s.rows),
    )  # fmt: skip
    put(
        SeenBy, ("clip_id", "person_id", "watched_frames", "skimmed_frames"),
        ((c, people(c)[who], *sums) for c, s in both for who, sums in s.sums.items()),
    )  # fmt: skip
    columns = ("clip_id", "in_frame", "out_frame", "skimmed", "seconds")
    put(Unwatched, columns, ((c, *u) for c, s in both for u in s.unwatched))


@dataclass(frozen=True)
class _Shape:
    """How a clip was seen by up to three people, and what watching.py would have kept of it."""

    rows: list[tuple[int, bool, int, int]]
    totals: tuple[int, int, int]
    sums: dict[int, tuple[int, int]]
    unwatched: list[tuple[int, int, bool, float]]


def _shapes(size: Size) -> Iterator[_Shape]:
    lots = random.Random(4)
    frames, many = size.seconds * RATE, max(1, round(size.ranges / size.all_clips / 0.85))
    for at in range(_SHAPES):
        share = at / _SHAPES
        if share < 0.15:  # nobody opened it
            rows = []
        elif share < 0.55:  # one person watched all of it, two skimmed
            rows = [(0, False, 0, frames), *_pieces(lots, frames, 1, True, many // 2)]
            rows += _pieces(lots, frames, 2, True, many - 1 - many // 2)
        else:
            rows = _pieces(lots, frames, 0, False, many // 3) + _pieces(lots, frames, 1, False, many // 3)
            rows += _pieces(lots, frames, 2, True, many - 2 * (many // 3))
        seen = Seen(frames, rows)
        sums = {
            who: tuple(sum(each.length for each in ranges) for ranges in (seen.watched(who), seen.skimmed(who)))
            for who in seen.people
        }
        stretches = seen.unwatched()
        skimmed = sum(each.length for each, fast in stretches.items() if fast)
        unseen = sum(each.length for each, fast in stretches.items() if not fast)
        kept = [(*each, fast, each.length / RATE) for each, fast in stretches.items()] if rows else []
        left = sum(not fast for _, _, fast, _ in kept)
        yield _Shape(rows, (frames - skimmed - unseen, skimmed, left), sums, kept)


def _pieces(lots: random.Random, frames: int, who: int, fast: bool, many: int) -> list[tuple[int, bool, int, int]]:
    """`many` ranges that do not touch."""
    ends = sorted(lots.sample(range(frames), 2 * many))
    return [(who, fast, a, b) for a, b in zip(ends[::2], ends[1::2], strict=True)]


def add_selects(made: Made, until: int) -> None:
    """Add selects until there are so many: with tags, what a search looks at, and what is on record of each."""
    lots, begun = random.Random(made.selects + 1), made.selects
    words: set[tuple[int, str]] = set()
    for start in range(begun, until, _AT_ONCE):
        rows = [_select(made, lots, at) for at in range(start, min(until, start + _AT_ONCE))]
        columns = ("id", "clip_id", "in_frame", "out_frame", "note", "rating", "logger_id")
        put(Select, columns, (each["select"] for each in rows))
        put(Select.tags.through, ("select_id", "tag_id"), (pair for each in rows for pair in each["tags"]))
        columns = (
            *("select_id", "production_id", "card_id", "logger_id", "rating"),
            *("milliseconds", "shot_at", "angled", "words"),
        )
        put(Findable, columns, (each["findable"] for each in rows))
        columns = ("production_id", "person_id", "about", "subject", "did", "card_id", "clip_id", "words")
        put(Activity, columns, (each["activity"] for each in rows))
        words |= {(each["findable"][1], word) for each in rows for word in each["findable"][-1].split()}
    known = [FindableWord(production_id=production, word=word) for production, word in sorted(words)]
    FindableWord.objects.bulk_create(known, ignore_conflicts=True, batch_size=500)
    made.selects = until
    there = Select.objects.filter(clip=OuterRef("id"), deleted=None).order_by().values("clip")
    Clip.objects.update(select_count=Coalesce(Subquery(there.annotate(many=Count("id")).values("many")), 0))
    clip_tags.keep(Clip.objects.values_list("id", flat=True))
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def add_stories(made: Made) -> None:
    """Sixty notes from set a day of the production, each with one of twelve tags, while cameras roll."""
    lots = random.Random(11)
    notes = [
        (day, MORNING + lots.randrange(12 * 3600), f"tag {lots.randrange(12)}", f"story {day}-{note}")
        for day in sorted({card.shoot_date for card in made.cards if card.production_id == made.production.id})
        for note in range(60)
    ]
    put(
        FieldNote, ("production_id", "day", "timecode", "at", "text", "tag", "digest", "taken_by_id"),
        (
            (made.production.id, day, "12:00:00:00", at * 1_000_000, text, tag, text, made.loggers[0].id)
            for day, at, tag, text in notes
        ),
    )  # fmt: skip


def _select(made: Made, lots: random.Random, at: int) -> dict[str, tuple]:
    clip, card_at, clip_name, start, number = lots.choice(made.clips)
    card, person, size = made.cards[card_at], lots.choice(made.loggers), made.size
    in_frame, rating = lots.randrange(size.seconds * RATE - 400), lots.choice([0, 0, 0, 3, 4, 5])
    note = [
        lots.choice(COMMON),
        lots.choice(COMMON),
        *lots.sample(WORDS, 3),
        *(["albatross"] if at % 5000 == 7 else []),
    ]
    tags = made.tags[card.production_id]
    mine = {tags[lots.randrange(40)], tags[lots.randrange(8)], *([tags[40]] if at % 3000 == 5 else [])}
    select, out_frame = uuid.UUID(int=lots.getrandbits(128)), in_frame + 300
    shot_at = findables.day_begins(card.shoot_date) + (start + in_frame) * 1_000_000 // RATE
    texts = [*(tag.name for tag in mine), card.name, clip_name, person.username, *note]
    found = findables.words(texts, [tag.id for tag in mine], rating, card, person.id, 2 if at % 4000 == 9 else 0)
    angled = _angled(size, card.camera, number, in_frame / RATE, out_frame / RATE)
    words = f"{card.name} {clip_name}: {', '.join(tag.name for tag in mine)}"
    return {
        "select": (select, clip, in_frame, out_frame, " ".join(note), rating, person.id),
        "tags": [(select, tag.id) for tag in mine],
        "findable": (select, card.production_id, card.id, person.id, rating, 12_000, shot_at, angled, found),
        "activity": (card.production_id, person.id, "select", str(select), "marked", card.id, clip, words),
    }


def _angled(size: Size, camera: str, number: int, start: float, end: float) -> bool:
    """Whether another camera rolled between two seconds of a clip."""
    if camera == CAMERAS[-1]:
        return False
    begin, each = _began(size, camera, number), size.cards * size.clips
    return any(
        _began(size, other, near) < begin + end and _began(size, other, near) + size.seconds > begin + start
        for other in CAMERAS[:-1]
        if other != camera
        for near in (number - 1, number, number + 1)
        if 0 <= near < each
    )
