"""Coverage: every number agrees with every other. Counting in frames and exact seconds is the house's own law."""

import re
import uuid
from datetime import date, timedelta
from fractions import Fraction

import pytest
from django.utils import timezone

from review import coverage, selecting, stints, watching
from review.models import Card, Clip, Viewing
from review.timecode import Rate, Timebase
from tests.conftest import api_of, browser_of

DROP = Timebase(Rate(30000, 1001), drop=True)


def see(person, clip, *ranges, speed=1.0):
    """Have `person` see frames of a clip, in a viewing opened long ago."""
    opened = timezone.now() - timedelta(hours=9)
    viewing = Viewing.objects.create(id=uuid.uuid4(), person=person, clip=clip, opened_at=opened)
    spans = [watching.Span(start, end, speed, False) for start, end in ranges]
    watching.record(person, clip, viewing.id, 1, spans)


@pytest.fixture
def room(cast, make_clip):
    """Three trusted cards of two days and two cameras and two rates; one that is held. Returns the clips."""
    clips = {
        "a1": make_clip("A1", card="KB04-261112-A01", frames=25 * 60),
        "a2": make_clip("A2", card="KB04-261112-A01", frames=25 * 30, start="11:00:00:00"),
        "b1": make_clip("B1", card="KB04-261112-B01", frames=1800, timebase=DROP, start="10:00:00;00"),
        "c1": make_clip("C1", card="KB04-261113-A01", frames=25 * 10),
    }
    make_clip("H1", card="KB04-261113-A02", frames=25 * 999, state=Card.State.HELD)
    make_clip("X1", card="NR07-261112-A01", frames=25 * 999, production=cast.nr07)
    Clip.objects.all().update(proxy_state=Clip.ProxyState.READY)
    see(cast.logger, clips["a1"], (0, 500), (750, 1000))
    see(cast.editor, clips["a1"], (400, 600))
    see(cast.editor, clips["a2"], (0, 750), speed=4)
    see(cast.logger, clips["b1"], (0, 1800))
    selecting.put(cast.logger, uuid.uuid4(), clips["a1"], selecting.Mark(0, 10), 0)
    gone = selecting.put(cast.logger, uuid.uuid4(), clips["a1"], selecting.Mark(0, 10), 0)
    selecting.delete(cast.logger, gone)
    return clips


def test_it_works(cast, room):
    cards = {card.name: part for card, part in coverage.by_card(cast.kb04).items()}
    assert list(cards) == ["KB04-261112-A01", "KB04-261112-B01", "KB04-261113-A01"]
    first = cards["KB04-261112-A01"]
    assert (first.shot, first.watched, first.skimmed, first.unwatched) == (90, 34, 30, 26)
    assert (first.clips, first.selects) == (2, 1)
    assert first.people == {"logger": 30, "editor": 8}
    assert cards["KB04-261112-B01"].watched == Fraction(1800 * 1001, 30000)  # exact, whatever the rate
    assert cards["KB04-261113-A01"].unwatched == 10


def test_a_held_card_and_another_production_do_not_count(cast, room):
    whole = coverage.total(coverage.by_card(cast.kb04).values())
    assert whole.clips == 4
    assert whole.shot == 100 + Fraction(1800 * 1001, 30000)


def test_days_and_cameras_add_up_to_the_cards(cast, room):
    cards = coverage.by_card(cast.kb04)
    whole = coverage.total(cards.values())
    days, cameras = coverage.by_day(cards), coverage.by_camera(cards)
    assert list(days) == [date(2026, 11, 12), date(2026, 11, 13)]
    assert list(cameras) == ["A", "B"]
    for groups in (days, cameras):
        assert coverage.total(groups.values()) == whole
    assert whole.unwatched == whole.shot - whole.watched - whole.skimmed


def test_unwatched_stretches_are_what_nobody_saw_longest_first(cast, room):
    stretches = coverage.unwatched(cast.kb04)
    assert [(each.clip.name, each.in_frame, each.out_frame) for each in stretches] == [
        ("A1", 1000, 1500),
        ("C1", 0, 250),
        ("A1", 600, 750),
    ]
    assert sum(each.seconds for each in stretches) == coverage.total(coverage.by_card(cast.kb04).values()).unwatched


def test_the_coverage_of_one_card_is_that_of_all(cast, room):
    card = room["a1"].card
    assert coverage.by_card(cast.kb04, card) == {card: coverage.by_card(cast.kb04)[card]}


def test_the_next_unwatched_is_in_shooting_order_and_comes_round(cast, room):
    first = coverage.next_unwatched(cast.kb04, cast.logger)
    assert (first.clip.name, first.in_frame, first.out_frame) == ("A1", 600, 750)
    assert coverage.next_unwatched(cast.kb04, cast.logger, room["a1"]).clip.name == "C1"
    assert coverage.next_unwatched(cast.kb04, cast.logger, room["c1"]).clip.name == "A1"


def test_what_somebody_else_has_taken_on_is_left_to_them(cast, room):
    stint = stints.take(cast.editor, room["a1"], 0, 1100)
    left = coverage.next_unwatched(cast.kb04, cast.logger)
    assert (left.clip.name, left.in_frame, left.out_frame) == ("A1", 1100, 1500)
    hers = coverage.next_unwatched(cast.kb04, cast.editor)
    assert (hers.clip.name, hers.in_frame) == ("A1", 600)
    stints.take(cast.editor, room["a1"], 1100, 1500)
    assert coverage.next_unwatched(cast.kb04, cast.logger).clip.name == "C1"
    stints.take(cast.editor, room["c1"])
    assert coverage.next_unwatched(cast.kb04, cast.logger) is None
    stints.hand_back(cast.editor, stint)
    assert coverage.next_unwatched(cast.kb04, cast.logger).in_frame == 600


def test_what_has_no_proxy_is_not_offered_for_watching(cast, room):
    Clip.objects.filter(name="A1").update(proxy_state=Clip.ProxyState.WAITING)
    assert coverage.next_unwatched(cast.kb04, cast.logger).clip.name == "C1"


def test_when_all_has_been_seen_there_is_no_next(cast, room):
    see(cast.producer, room["a1"], (0, 1500), speed=8)
    see(cast.producer, room["c1"], (0, 250), speed=8)
    assert coverage.next_unwatched(cast.kb04, cast.logger) is None
    assert coverage.unwatched(cast.kb04) == []
    assert coverage.total(coverage.by_card(cast.kb04).values()).unwatched == 0


def test_nothing_shot_is_nothing_seen(cast):
    assert coverage.total(coverage.by_card(cast.kb04).values()) == coverage.Coverage()
    assert coverage.Coverage().share(Fraction(0)) == 0.0
    assert coverage.next_unwatched(cast.kb04, cast.logger) is None


def test_the_pages_and_the_api_say_the_same(cast, room):
    told = api_of(cast.producer).get("/api/v1/coverage/", {"production": "KB04"}).json()
    cards = coverage.by_card(cast.kb04)
    whole = coverage.total(cards.values())
    for kind in ("shot", "watched", "skimmed", "unwatched"):
        assert told["total"][kind] == float(getattr(whole, kind))
        for rows in ("cards", "days", "cameras"):
            assert sum(row[kind] for row in told[rows]) == pytest.approx(told["total"][kind])
    assert [row["name"] for row in told["days"]] == ["2026-11-12", "2026-11-13"]
    assert sum(row["seconds"] for row in told["nobody_has_watched"]) == pytest.approx(float(whole.unwatched))
    browser = browser_of(cast.producer)
    page = browser.get("/coverage/").content.decode()
    words = re.search(r"<p>([\d.]+) minutes shot: ([\d.]+) watched, ([\d.]+) skimmed, <b>([\d.]+) unwatched", page)
    exact = (whole.shot, whole.watched, whole.skimmed, whole.unwatched)
    assert words.groups() == tuple(f"{float(seconds) / 60:,.1f}" for seconds in exact)
    assert "KB04-261113-A02" in page  # the held card is named as not counted
    cards_page = browser.get("/cards/").content.decode()
    assert "1 card held" in cards_page and "<b>36 s unwatched</b>" in cards_page


def test_the_card_page_agrees_too(cast, room):
    page = browser_of(cast.logger).get(f"/cards/{room['a1'].card_id}/").content.decode()
    assert "1 min 30 s, 26 s unwatched" in page


def test_a_strangers_coverage_holds_nothing_of_it(cast, room):
    answer = api_of(cast.stranger).get("/api/v1/coverage/", {"production": "KB04"})
    assert answer.status_code == 400
    assert "There is no production 'KB04' that you are a member of" in answer.json()["detail"]
