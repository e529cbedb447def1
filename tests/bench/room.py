"""A whole room's database: the footage and selects of rows.py, and the desk around them: lists, stints, splits, notes
from set, copies, jobs, cuts that came back, and what everybody worked.

    RUSHLIGHT_HOME=... [RUSHLIGHT_DATABASE=...] .venv-tests/bin/python -m tests.bench.room team|series [selects]

fills the database that the settings name, which must have its tables and no production.
"""

import hashlib
import os
import random
import sys
import time
import uuid
from datetime import date, timedelta

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "logging_app.settings")

import django

django.setup()

from django.db import connection
from django.utils import timezone

from review.models import (
    CardFile,
    Copy,
    Cut,
    CutEvent,
    FieldNote,
    Job,
    ListEntry,
    ListExport,
    ListSection,
    Medium,
    NamedSearch,
    Person,
    Piece,
    SecondLook,
    Select,
    SelectsList,
    Split,
    Stint,
    Viewing,
    WorkedSlot,
    WorthKeeping,
)
from tests.bench.rows import RATE, SIZES, Made, Size, add_selects, fill, put

LISTS, ENTRIES, LONG_LIST = 30, 200, 2000
STINTS_EACH, DAYS_WORKED, SLOTS_A_DAY = 40, 30, 60  # of each logger
WAITING, RUNNING = 300, 3  # jobs


def make(size: Size, selects: int) -> Made:
    """Everything, in an empty database."""
    made = fill(size)
    add_selects(made, selects)
    add_desk(made)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return made


def add_desk(made: Made) -> None:
    editor = Person.objects.get(username="sunniva")
    ours = made.production.id
    mine = [clip for clip in made.clips if made.cards[clip[1]].production_id == ours]
    _lists(made, editor)
    _handed_out(made, mine)
    _worked(made, mine)
    _cards(made, mine)
    _cuts(made, editor, mine)


def _lists(made: Made, editor: Person) -> None:
    some = Select.objects.filter(clip__card__production=made.production).order_by("id")
    ids = list(some.values_list("id", flat=True)[: LONG_LIST + ENTRIES * LISTS])
    for at in range(LISTS):
        chosen = ids[:LONG_LIST] if at == 0 else ids[ENTRIES * at : ENTRIES * (at + 1)]
        made_one = SelectsList.objects.create(production=made.production, name=f"list {at:02}", made_by=editor)
        sections = [ListSection.objects.create(list=made_one, title=f"part {n}", position=n) for n in range(4)]
        put(
            ListEntry, ("list_id", "select_id", "section_id", "position"),
            ((made_one.id, each, sections[place % 4].id, place // 4) for place, each in enumerate(chosen)),
        )  # fmt: skip
        content = b"TITLE: A LIST\n" * 500
        ListExport.objects.create(
            list=made_one, number=1, made_by=editor, kind="edl", events=[[str(each), 0, 300] for each in chosen],
            name="list.edl", content_type="text/plain", content=content, sha256=hashlib.sha256(content).hexdigest(),
        )  # fmt: skip
    put(WorthKeeping, ("select_id", "flagged_by_id"), ((each, editor.id) for each in ids[::4]))
    for at in range(10):
        NamedSearch.objects.create(production=made.production, name=f"search {at}", query="text=gull", made_by=editor)


def _handed_out(made: Made, mine: list[tuple]) -> None:
    frames, now = made.size.seconds * RATE, timezone.now()
    producer, lots = Person.objects.get(username="peder"), random.Random(2)
    clips = [clip[0] for clip in mine]
    lots.shuffle(clips)
    held = clips[: STINTS_EACH * len(made.loggers)]
    split = Split.objects.create(production=made.production, made_by=producer, state="accepted")
    columns = ("clip_id", "in_frame", "out_frame", "logger_id", "place", "ended_at", "split_id", "taken_at")
    put(
        Stint, columns,
        (
            (clip, 0, frames, made.loggers[at % len(made.loggers)].id, at, now if at % 2 else None, split.id, now)
            for at, clip in enumerate(held)
        ),
    )  # fmt: skip
    proposed = Split.objects.create(production=made.production, made_by=producer)
    put(
        Piece, ("split_id", "clip_id", "in_frame", "out_frame", "logger_id", "place"),
        (
            (proposed.id, clip, 0, frames, made.loggers[at % len(made.loggers)].id, at)
            for at, clip in enumerate(clips[-300:])
        ),
    )  # fmt: skip
    put(
        SecondLook, ("clip_id", "in_frame", "out_frame", "asked_by_id"),
        ((clip, 0, frames, producer.id) for clip in clips[:200]),
    )  # fmt: skip
    put(
        Viewing, ("id", "person_id", "clip_id", "opened_at", "heard_at", "frame"),
        (
            (uuid.UUID(int=lots.getrandbits(128)), made.loggers[at % len(made.loggers)].id, clip,
             now - timedelta(minutes=at), now - timedelta(minutes=at), at % frames)
            for at, clip in enumerate(clips)
        ),
    )  # fmt: skip


def _worked(made: Made, mine: list[tuple]) -> None:
    today = timezone.now().replace(hour=8, minute=0, second=0, microsecond=0)
    put(
        WorkedSlot, ("production_id", "person_id", "began", "camera", "shown", "fresh_watched", "fresh_skimmed"),
        (
            (made.production.id, person.id, today - timedelta(day, minutes=-5 * slot), "ABCD"[slot % 4],
             280_000_000, 200_000_000, 20_000_000)
            for person in made.loggers
            for day in range(1, DAYS_WORKED + 1)
            for slot in range(SLOTS_A_DAY)
        ),
    )  # fmt: skip
    put(
        FieldNote, ("production_id", "day", "timecode", "at", "text", "digest", "taken_by_id"),
        (
            # Before anything rolls, so that no select has to be found by them.
            (made.production.id, date(2026, 10, 1) + timedelta(day), f"05:{n // 2:02}:00:00",
             (5 * 3600 + 30 * n) * 1_000_000, f"note {n}", f"{day}-{n}", made.loggers[0].id)
            for day in range(made.size.days - 4)
            for n in range(100)
        ),
    )  # fmt: skip


def _cards(made: Made, mine: list[tuple]) -> None:
    now = timezone.now()
    media = [
        Medium.objects.create(
            production=made.production, volume=f"volume {n}", label=f"drive {n}", kind="hdd", elsewhere=n % 3 == 2
        )
        for n in range(6)
    ]
    cards = [card for card in made.cards if card.production_id == made.production.id]
    put(
        Copy, ("card_id", "medium_id", "folder", "state", "proven_at", "checked_at"),
        (
            (card.id, media[(at + n) % 6].id, f"/nowhere/{n}/{card.name}", "same", now, now)
            for at, card in enumerate(cards)
            for n in range(3)
        ),
    )  # fmt: skip
    put(
        CardFile, ("card_id", "path", "size", "modified", "hashes", "proven"),
        ((made.cards[card].id, f"CLIPS/{name}.MOV", 10**9, 1.7e9, {"xxh128": "0" * 32}, True)
         for _, card, name, _, _ in mine),
    )  # fmt: skip
    waits = len(mine) - WAITING - RUNNING
    put(
        Job, ("kind", "card_id", "clip_id", "state", "why", "finished_at", "total"),
        (
            ("proxy", made.cards[clip[1]].id, clip[0],
             "done" if at < waits else "waiting" if at < waits + WAITING else "running", "the card was checked",
             now - timedelta(seconds=at) if at < waits else None, 3000)
            for at, clip in enumerate(mine)
        ),
    )  # fmt: skip


def _cuts(made: Made, editor: Person, mine: list[tuple]) -> None:
    for at in range(3):
        content = f"TITLE: CUT {at}\n".encode()
        cut = Cut.objects.create(
            production=made.production, name=f"cut {at}", file_name=f"cut{at}.edl", content=content, given_by=editor,
            sha256=hashlib.sha256(content).hexdigest(), rate_numerator=RATE, rate_denominator=1,
        )  # fmt: skip
        columns = (
            *("cut_id", "place", "number", "reel", "channels", "edit", "source_in", "source_out"),
            *("record_in", "record_out", "line", "sure", "card_id", "clip_id", "in_frame", "out_frame"),
        )
        labels = ("08:00:00:00", "08:00:04:00")
        put(
            CutEvent, columns,
            (
                (cut.id, n, f"{n:03}", "00000001", "V", "C", *labels, *labels, n + 1, "sure",
                 made.cards[clip[1]].id, clip[0], 0, 100)
                for n, clip in enumerate(mine[at :: max(1, len(mine) // 500)])
            ),
        )  # fmt: skip


def main() -> None:
    size, begun = SIZES[sys.argv[1]], time.perf_counter()
    made = make(size, int(sys.argv[2]) if len(sys.argv) > 2 else 500_000)
    print(
        f"{size.all_clips:,} clips, {made.selects:,} selects, about {size.ranges:,} ranges "
        f"in {time.perf_counter() - begun:.0f} s on {connection.vendor}"
    )


if __name__ == "__main__":
    main()
