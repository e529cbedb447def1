"""Field notes: read from a CSV, tied to what was rolling. How such files look is common practice, no source."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review import field_notes_csv
from review.marking import taking_notes
from review.models import Card
from review.record import field_notes
from review.refusals import NotAllowed, Refusal
from review.timecode import Rate, Timebase

PAL = Timebase(Rate(25))
CSV = b"""date,timecode,camera,text,tag
2026-11-12,10:00:01:00,A,"gull lands, at last",gull
2026-11-12,10:00:01:12,,everybody laughs,
2026-11-12,15:00:00:00,,nobody was there,
2026-11-31,10:00:00:00,,no such day,
2026-11-12,10:00:00:30,,no such frame,
2026-11-12,10:00,AB,no such camera,
2026-11-12,10:00,,,
"""


@pytest.fixture
def day(make_clip):
    """A and B rolling from ten o'clock for ten seconds."""
    return (
        make_clip(card="KB04-261112-A01", frames=250),
        make_clip(card="KB04-261112-B01", timebase=Timebase(Rate(50)), frames=500),
    )


def test_it_works(cast, day):
    a, b = day
    seen = taking_notes.preview(cast.producer, cast.kb04, CSV)
    assert [(line.text, [(clip.card.camera, frame) for clip, frame in clips]) for line, clips in seen.matched] == [
        ("gull lands, at last", [("A", 25)]),
        ("everybody laughs", [("A", 37), ("B", 74)]),
    ]
    assert [line.text for line in seen.unmatched] == ["nobody was there"]
    assert [(line.number, line.problem) for line in seen.bad] == [
        (5, "'2026-11-31' is no date; write it as 2026-11-12"),
        (6, "'10:00:00:30' is no time of day; write it as 10:04:31:12 or 10:04"),
        (7, "'AB' is no camera letter"),
        (8, "it says nothing"),
    ]
    assert not cast.kb04.field_notes.exists(), "a preview takes nothing"
    assert taking_notes.take(cast.producer, cast.kb04, CSV) == 3
    assert [(frame, note.text) for frame, note in field_notes.on_clip(a)] == [
        (25, "gull lands, at last"),
        (37, "everybody laughs"),
    ]
    assert [(frame, note.text) for frame, note in field_notes.on_clip(b)] == [(74, "everybody laughs")]


def test_a_line_that_comes_twice_is_one_note(cast, day):
    taking_notes.take(cast.owner, cast.kb04, CSV)
    assert taking_notes.take(cast.owner, cast.kb04, CSV) == 0
    assert taking_notes.preview(cast.owner, cast.kb04, CSV).known == 3


def test_a_note_without_footage_is_kept_and_finds_it_later(cast, day, make_clip):
    taking_notes.take(cast.owner, cast.kb04, CSV)
    notes = cast.kb04.field_notes.all()
    assert [note.text for note in field_notes.without_footage(cast.kb04, notes)] == ["nobody was there"]
    late = make_clip(card="KB04-261112-C01", start="14:59:59:00", frames=100)
    assert field_notes.without_footage(cast.kb04, notes) == []
    assert [(frame, note.text) for frame, note in field_notes.on_clip(late)] == [(25, "nobody was there")]


@pytest.mark.parametrize("frame", range(30))
def test_a_note_is_on_the_very_frame_that_it_names(cast, make_clip, frame):
    drop = Timebase(Rate(30000, 1001), drop=True)
    clip = make_clip(production=cast.nr07, card="NR07-261112-A01", timebase=drop, start="10:00:00;00", frames=60)
    taking_notes.take(cast.stranger, cast.nr07, f"date,tc,text\n2026-11-12,10:00:01;{frame:02},x\n".encode())
    assert [found for found, _ in field_notes.on_clip(clip)] == [30 + frame]


def test_over_midnight(cast, make_clip):
    clip = make_clip(card="KB04-261112-A01", start="23:59:58:00", frames=250)
    rows = b"date;time;notes\n2026-11-12;23:59:59;before\n2026-11-13;00:00:02;after\n2026-11-12;00:00:02;a day early\n"
    taking_notes.take(cast.owner, cast.kb04, rows)
    assert [(frame, note.text) for frame, note in field_notes.on_clip(clip)] == [(25, "before"), (100, "after")]
    rest = field_notes.without_footage(cast.kb04, cast.kb04.field_notes.all())
    assert [note.text for note in rest] == ["a day early"]


def test_a_card_whose_clock_was_set_is_tied_by_that_clock(cast, day):
    a, _ = day
    Card.objects.filter(id=a.card_id).update(clock_numerator=3600, clock_set=True)
    taking_notes.take(cast.owner, cast.kb04, b"date,tc,text\n2026-11-12,11:00:01:00,later than it thought\n")
    a.refresh_from_db()
    assert [(frame, note.text) for frame, note in field_notes.on_clip(a)] == [(25, "later than it thought")]


@pytest.mark.parametrize("name", ["2026-11-12", "2026/11/12", "12.11.2026", "20261112"])
def test_dates_as_people_write_them(name):
    (line,) = field_notes_csv.read_csv(f"Date\tTC\tNote\n{name}\t9.05\tx\n".encode(), PAL)
    assert (line.day, line.timecode, line.problem) == (date(2026, 11, 12), "09:05:00:00", "")


def test_times_of_day_that_drop_frame_skips():
    drop = Timebase(Rate(30000, 1001), drop=True)
    (line,) = field_notes_csv.read_csv(b"date,time,text\n2026-11-12,10:01,x\n", drop)
    assert (line.at, line.problem) == (36060, "")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "Missing: date, timecode, text"),
        (b"date,text\n", "Missing: timecode"),
        (b"date,timecode,text\n2026-11-12,10:00,\xe9\n", "not UTF-8"),
        (b'date,timecode,text\n2026-11-12,10:00,"x\n', "not a CSV"),
        (b"x" * (field_notes_csv.MOST_BYTES + 1), "is the most"),
        (b"date,timecode,text\n" + b"2026-11-12,10:00,x\n" * 20_001, "20,001 lines"),
    ],
)
def test_a_file_that_cannot_be_read_says_what_to_do(data, words):
    with pytest.raises(Refusal, match=words):
        field_notes_csv.read_csv(data, PAL)


@given(st.binary(max_size=300) | st.text(max_size=200).map(lambda text: f"date,tc,text\n{text}".encode()))
def test_any_bytes_give_lines_or_a_clear_error(data):
    try:
        for line in field_notes_csv.read_csv(data, PAL):
            assert line.problem or (line.day and line.text)
    except Refusal as problem:
        assert str(problem)


def test_notes_are_found_by_their_words(cast, day):
    taking_notes.take(cast.owner, cast.kb04, CSV)
    assert [note.text for note in field_notes.find(cast.kb04, "LANDS gull")] == ["gull lands, at last"]
    assert field_notes.find(cast.kb04).count() == 3


def test_who_may_take_notes(cast):
    for person in (cast.logger, cast.editor):
        with pytest.raises(NotAllowed):
            taking_notes.take(person, cast.kb04, CSV)
