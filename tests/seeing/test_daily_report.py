"""The daily log report says what the other pages say, and leaves nothing out that keeps a card."""

import re
import uuid
from datetime import date
from fractions import Fraction

import pytest

from review.custody import wiping
from review.marking import selecting, taking_notes
from review.marking.selecting import Mark
from review.models import Card
from review.pages.words import percent
from review.record import coverage
from review.refusals import NotFound
from review.seeing import daily_report
from tests.conftest import browser_of
from tests.seeing.test_coverage import see

THE_12TH = date(2026, 11, 12)
NOTES = b"date,timecode,text\n2026-11-12,10:00:01:00,a gull lands\n2026-11-12,12:00:00:00,the ferry that nobody shot\n"


@pytest.fixture
def shot(cast, make_clip):
    """Two cards of the day that count and one that is held; watched, marked, and written about."""
    first = make_clip("A1", frames=1500)
    second = make_clip("B1", card="KB04-261112-B01", frames=750, start="10:20:00:00")
    make_clip("H1", card="KB04-261112-C01", state=Card.State.HELD)
    make_clip("N1", card="KB04-261113-A01")
    see(cast.logger, first, (0, 750))
    see(cast.editor, first, (500, 1000))
    for rating, clip in ((2, first), (3, first), (5, second), (4, first)):
        at = rating * 10
        selecting.put(cast.logger, uuid.uuid4(), clip, Mark(at, at + 10, ("gull",), f"rated {rating}", rating), 0)
    taking_notes.take(cast.owner, cast.kb04, NOTES)
    return first, second


def test_it_works(cast, shot):
    told = daily_report.of(cast.kb04, THE_12TH)
    assert [line.card.name for line in told.cards] == ["KB04-261112-A01", "KB04-261112-B01", "KB04-261112-C01"]
    assert [(line.first, line.last) for line in told.cards] == [
        ("10:00:00", "10:01:00"),
        ("10:20:00", "10:20:30"),
        ("", ""),
    ]
    assert told.people == [("logger", 30, 0), ("editor", 20, 0)]
    assert [select.rating for select in told.best] == [5, 4, 3] and told.rated == 3
    assert [note.text for note in told.lost_notes] == ["the ferry that nobody shot"] and told.note_count == 2
    assert told.still == [("10:01:00", "10:20:00")]
    assert {camera: part.shot for camera, part in told.cameras} == {"Camera A": 60, "Camera B": 30}


def test_the_numbers_are_those_of_coverage_and_of_the_wipe_answers(cast, shot):
    told = daily_report.of(cast.kb04, THE_12TH)
    part = coverage.by_day(coverage.by_card(cast.kb04))[THE_12TH]
    assert (told.total.shot, told.total.watched, told.total.selects) == (part.shot, part.watched, part.selects)
    answers = wiping.answers(cast.kb04.cards.filter(shoot_date=THE_12TH))
    assert [line.card.id for line in told.not_to_be_wiped] == [id for id, answer in answers.items() if not answer.may]


def test_a_card_that_cannot_be_trusted_is_named_and_not_counted(cast, shot):
    told = daily_report.of(cast.kb04, THE_12TH)
    held = told.cards[-1]
    assert held.part is None and not held.wipe.may
    assert told.uncounted == 1


def test_of_many_selects_the_best_are_shown(cast, make_clip):
    clip = make_clip(frames=1000)
    for at in range(daily_report.BEST + 3):
        selecting.put(cast.logger, uuid.uuid4(), clip, Mark(at * 10, at * 10 + 5, (), "", 3 + at % 3), 0)
    told = daily_report.of(cast.kb04, THE_12TH)
    assert len(told.best) == daily_report.BEST and told.rated == daily_report.BEST + 3
    ratings = [select.rating for select in told.best]
    assert ratings == sorted(ratings, reverse=True)


def test_a_day_with_notes_alone_has_a_report(cast):
    taking_notes.take(cast.owner, cast.kb04, NOTES)
    told = daily_report.of(cast.kb04, THE_12TH)
    assert told.cards == [] and len(told.lost_notes) == 2


def test_a_day_of_nothing_is_refused_in_words(cast):
    with pytest.raises(NotFound, match="Nothing of KB04 was shot or written down on 12 November 2026"):
        daily_report.of(cast.kb04, THE_12TH)


def test_the_page_says_it(cast, shot):
    page = browser_of(cast.producer).get("/days/2026-11-12/report/").content.decode()
    for words in ("rated 5", "the ferry that nobody shot", "not counted: it cannot be trusted yet", "it is held"):
        assert words in page
    assert "rated 2" not in page and "a gull lands" not in page


def test_the_page_has_totals_who_skimmed_and_what_is_left_out(cast, shot):
    see(cast.producer, shot[1], (0, 250), speed=4)
    see(cast.editor, shot[1], (100, 150), speed=4)
    told = daily_report.of(cast.kb04, THE_12TH)
    assert told.people == [("logger", 30, 0), ("editor", 20, 2), ("producer", 0, 10)]
    page = browser_of(cast.producer).get("/days/2026-11-12/report/").content.decode()
    whole = page.split("All that counts")[1].split("</tr>")[0]
    assert re.findall(r">([^<]+)</td>", whole) == ["2", "1 min 30 s", "40 s", "10 s", "40 s"]
    assert "3 of the day’s 4; below 3 of 5, or not rated, are left out" in page


@pytest.mark.parametrize(
    ("part", "whole", "told"),
    [(0, 100, 0), (239, 1000, 24), (234, 1000, 23), (999, 1000, 99), (1, 10_000, 1), (1, 1, 100), (0, 0, 0)],
)
def test_per_cents_are_the_nearest_but_never_all_for_less_nor_none_for_some(part, whole, told):
    assert percent(part, whole) == percent(Fraction(part), Fraction(whole)) == told


@pytest.mark.parametrize("day", ["2026-13-40", "soon", "2026-11-30", "%00"])
def test_a_day_that_is_none_is_a_page_in_words(cast, shot, day):
    assert browser_of(cast.producer).get(f"/days/{day}/report/").status_code == 404


def test_a_stranger_gets_no_report(cast, shot):
    told = browser_of(cast.stranger).get("/days/2026-11-12/report/?production=KB04")
    assert told.status_code == 404 and b"A01" not in told.content
