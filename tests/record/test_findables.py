"""What a search looks at is kept true: as selects change, and as cards, clocks, notes and people around them do."""

import uuid
from datetime import date
from fractions import Fraction

import pytest
from django.core.management import call_command
from django.db import connection

from review.desk import finding
from review.marking import card_clocks, carrying, selecting, taking_notes
from review.marking.selecting import Mark
from review.models import Card, Findable, FindableCard, FindableWord, Person, Select
from review.record import findables, watching
from review.searching.wanted import Wanted
from review.timecode import Rate, Timebase

DAY = 86_400_000_000


def put(cast, clip, start=0, end=25, **says):
    return selecting.put(cast.logger, uuid.uuid4(), clip, Mark(start, end, **says), 0)


def numbers(cast, text) -> list[int]:
    """The in points of what is found."""
    return sorted(row.select.in_frame for row in finding.find([cast.kb04], Wanted(text=text)).rows)


def test_it_works(cast, make_clip):
    select = put(cast, make_clip("A001C003"), 25, 50, note="She laughs", tags=("gull lands",), rating=4)
    row = Findable.objects.get()
    assert (row.select, row.production, row.card.name, row.logger) == (
        select,
        cast.kb04,
        "KB04-261112-A01",
        cast.logger,
    )
    assert (row.rating, row.milliseconds, row.angled) == (4, 1000, False)
    marks = f"§t{select.tags.get().id} §r1 §r2 §r3 §r4 §ka §c{row.card_id} §l{cast.logger.id}"
    assert row.words == f"gull lands kb04 261112 a01 a001c003 c003 logger she laughs {marks}"
    assert not FindableWord.objects.filter(word__contains="§").exists()
    day = (date(2026, 11, 12) - date(1970, 1, 1)).days * DAY
    assert row.shot_at == day + 10 * 3_600_000_000 + 1_000_000
    assert FindableWord.objects.filter(production=cast.kb04, word="laughs").exists()


def test_what_changes_is_found_as_it_is_now(cast, make_clip):
    clip = make_clip()
    select = put(cast, clip, note="gull")
    again = selecting.put(cast.editor, select.id, clip, Mark(5, 25, (), "whale"), 1)
    assert (numbers(cast, "gull"), numbers(cast, "whale")) == ([], [5])
    selecting.delete(cast.editor, again)
    assert numbers(cast, "whale") == [] and not Findable.objects.exists()
    selecting.put(cast.editor, select.id, clip, Mark(6, 25, (), "whale"), 3)
    assert numbers(cast, "whale") == [6]


def test_what_is_carried_to_another_angle_is_found(cast, make_clip):
    one, two = make_clip("A1"), make_clip("B1", card="KB04-261112-B01")
    carrying.carry(cast.logger, put(cast, one, note="the clap"))
    assert {row.select.clip_id for row in finding.find([cast.kb04], Wanted(text="clap")).rows} == {one.id, two.id}


def test_a_drop_frame_select_lies_where_its_label_says(cast, make_clip):
    base = Timebase(Rate(30000, 1001), drop=True)
    put(cast, make_clip(timebase=base, start="10:00:59;28", frames=10), 2, 10)
    assert Findable.objects.get().shot_at % DAY == 36_060_000_000 + 66_666  # 10:01:00;02
    assert Findable.objects.get().milliseconds == 267  # eight frames of 1001/30000 s


def test_a_card_without_a_date_comes_last(cast, make_clip):
    dated, undated = make_clip("A1"), make_clip("X1", card="KB04-261112-B01")
    Card.objects.filter(id=undated.card_id).update(shoot_date=None)
    first, last = put(cast, dated), None
    undated.refresh_from_db()
    last = put(cast, type(undated).objects.get(id=undated.id))
    assert list(Findable.objects.order_by("shot_at").values_list("select", flat=True)) == [first.id, last.id]


def test_notes_from_the_set_are_found_with_what_was_shot_then(cast, make_clip):
    clip = make_clip(frames=25 * 600)
    for start in (0, 25 * 300):
        put(cast, clip, start, start + 250)
    rows = b"date,timecode,text,tag\n2026-11-12,10:00:05:00,Asta drops the flare,arrival\n"
    taking_notes.take(cast.owner, cast.kb04, rows)
    findables.catch_up()
    assert numbers(cast, "flare") == numbers(cast, "arrival") == [0]
    taking_notes.delete(cast.owner, cast.kb04.field_notes.get())
    findables.catch_up()
    assert numbers(cast, "flare") == []


@pytest.mark.parametrize(("written", "found"), [("10:03:59:00", []), ("10:04:00:00", [7500]), ("10:06:09:24", [7500])])
def test_a_note_belongs_to_a_select_within_a_minute_of_it(cast, make_clip, written, found):
    taking_notes.take(cast.owner, cast.kb04, f"date,timecode,text\n2026-11-12,{written},flare\n".encode())
    put(cast, make_clip(frames=25 * 600), 7500, 7750)  # 10:05:00 to 10:05:10
    assert numbers(cast, "flare") == found


def test_a_card_that_comes_later_gives_the_others_their_angle(cast, make_clip):
    one = make_clip("A1", frames=100)
    for start in (0, 60):
        put(cast, one, start, start + 20)
    findables.catch_up()
    make_clip("B1", card="KB04-261112-B01", start="10:00:00:10", frames=50)
    findables.catch_up()
    rows = finding.find([cast.kb04], Wanted(angles="yes")).rows
    assert [row.select.in_frame for row in rows] == [0]  # [10, 60) was shot by B
    assert findables.catch_up() == 0  # nothing is looked at twice


def test_what_a_recorder_alone_heard_is_no_other_angle(cast, make_clip):
    make_clip("S1", card="KB04-261112-S01", kind="sound")
    put(cast, make_clip("A1"))
    assert Findable.objects.get().angled is False


def test_a_clock_that_is_set_moves_what_was_shot(cast, make_clip):
    clip = make_clip("A1")
    put(cast, clip)
    before = Findable.objects.get().shot_at
    card_clocks.set_offset(cast.logger, clip.card, Fraction(-3600))
    findables.catch_up()
    assert Findable.objects.get().shot_at == before - 3_600_000_000
    assert len(finding.find([cast.kb04], Wanted(date=date(2026, 11, 12))).rows) == 1


def test_a_person_who_is_renamed_is_found_by_the_new_name_once_it_is_kept(cast, make_clip):
    put(cast, make_clip())
    Person.objects.filter(id=cast.logger.id).update(first_name="Åse", last_name="Lind")
    findables.keep(Select.objects.filter(logger=cast.logger))
    assert numbers(cast, "ase lind") == [0]


def test_selects_from_before_the_search_are_taken_in_by_the_sweep(cast, make_clip):
    put(cast, make_clip("A1"), note="old")
    Findable.objects.all().delete()
    FindableCard.objects.all().delete()
    assert numbers(cast, "old") == []
    assert findables.catch_up() == 1
    assert numbers(cast, "old") == [0]


def test_a_sweep_ends_in_time_and_the_next_goes_on(cast, make_clip):
    for day in (12, 16, 20):
        put(cast, make_clip("A1", card=f"KB04-2611{day}-A01"), note="old")
    Findable.objects.all().delete()
    FindableCard.objects.all().delete()
    assert findables.catch_up(seconds=-1) == 0 and numbers(cast, "old") == []
    assert findables.catch_up() == 3 and numbers(cast, "old") == [0, 0, 0]


def test_keeping_twice_changes_nothing(cast, make_clip):
    put(cast, make_clip(), note="gull")
    before = list(Findable.objects.values())
    findables.keep(Select.objects.all())
    assert list(Findable.objects.values()) == before and numbers(cast, "gull") == [0]


def test_many_selects_are_kept_in_few_questions(cast, make_clip, django_assert_max_num_queries):
    clip = make_clip(frames=500)
    for at in range(60):
        put(cast, clip, at, at + 5, tags=("gull",))
    with django_assert_max_num_queries(14):
        findables.keep(Select.objects.all())


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL keeps no second table")
def test_the_words_index_is_whole_after_everything(cast, make_clip):
    clip = make_clip()
    selects = [put(cast, clip, at, at + 5, note=f"gull {at}") for at in range(5)]
    selecting.delete(cast.logger, selects[0])
    selecting.put(cast.logger, selects[1].id, clip, Mark(1, 9, (), "whale"), 1)
    with connection.cursor() as cursor:
        # Raises where the index and the rows are not the same: sqlite.org/fts5.html, "The 'integrity-check' Command".
        cursor.execute("INSERT INTO review_findable_words(review_findable_words, rank) VALUES ('integrity-check', 1)")


@pytest.mark.django_db(transaction=True)
def test_the_migration_can_be_taken_back_and_made_again(cast, make_clip):
    put(cast, make_clip(), note="gull")
    call_command("migrate", "review", "0010", verbosity=0)
    call_command("migrate", "review", verbosity=0)
    assert numbers(cast, "gull") == []
    findables.catch_up()
    assert numbers(cast, "gull") == [0]


def test_what_a_second_person_watches_whole_is_found_as_seen_twice(cast, make_clip):
    clip = make_clip()
    put(cast, clip, 10, 20)
    put(cast, clip, 30, 50)
    for person in (cast.logger, cast.editor):
        watching.record(person, clip, uuid.uuid4(), 1, [watching.Span(5, 25, 1.0, False)])
    assert [row.select.in_frame for row in finding.find([cast.kb04], Wanted(seen="twice")).rows] == [10]
    watching.record(cast.producer, clip, uuid.uuid4(), 1, [watching.Span(25, 50, 1.0, True)])  # muted: it is skimmed
    assert len(finding.find([cast.kb04], Wanted(seen="twice")).rows) == 1


def test_watching_costs_little_where_nobody_else_watched(cast, make_clip, django_assert_num_queries):
    clip = make_clip()
    put(cast, clip, 10, 20)
    watching.record(cast.logger, clip, uuid.uuid4(), 1, [watching.Span(5, 25, 1.0, False)])
    with django_assert_num_queries(1):
        findables.watched(clip)
