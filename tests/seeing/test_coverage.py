"""Coverage: every number agrees with every other. Counting in frames and exact seconds is the house's own law."""

import csv
import io
import uuid
from datetime import date, timedelta
from fractions import Fraction

import pytest
from django.utils import timezone

from review.marking import selecting
from review.models import Card, Clip, FieldNote, Viewing
from review.pages.words import duration
from review.record import coverage, stints, watching
from review.refusals import Refusal
from review.seeing import coverage_tables, unwatched
from review.seeing.coverage_asked import Asked
from review.team import next_to_watch, second_looks
from review.timecode import Rate, Timebase
from tests.conftest import api_of, browser_of

DROP = Timebase(Rate(30000, 1001), drop=True)


def see(person, clip, *ranges, speed=1.0):
    """Have `person` see frames of a clip, in a viewing opened long ago."""
    opened = timezone.now() - timedelta(hours=9)
    viewing = Viewing.objects.create(id=uuid.uuid4(), person=person, clip=clip, opened_at=opened)
    spans = [watching.Span(start, end, speed, False) for start, end in ranges]
    watching.record(person, clip, viewing.id, 1, spans)


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


def test_the_coverage_of_one_card_is_that_of_all(cast, room):
    card = room["a1"].card
    assert coverage.by_card(cast.kb04, card) == {card: coverage.by_card(cast.kb04)[card]}


def test_the_next_unwatched_is_in_shooting_order_and_comes_round(cast, room):
    first = next_to_watch.next_unwatched(cast.kb04, cast.logger)
    assert (first.clip.name, first.in_frame, first.out_frame) == ("A1", 600, 750)
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger, room["a1"]).clip.name == "C1"
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger, room["c1"]).clip.name == "A1"


def test_what_somebody_else_has_taken_on_is_left_to_them(cast, room):
    stint = stints.take(cast.editor, room["a1"], 0, 1100)
    left = next_to_watch.next_unwatched(cast.kb04, cast.logger)
    assert (left.clip.name, left.in_frame, left.out_frame) == ("A1", 1100, 1500)
    hers = next_to_watch.next_unwatched(cast.kb04, cast.editor)
    assert (hers.clip.name, hers.in_frame) == ("A1", 600)
    stints.take(cast.editor, room["a1"], 1100, 1500)
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger).clip.name == "C1"
    stints.take(cast.editor, room["c1"])
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger) is None
    stints.hand_back(cast.editor, stint)
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger).in_frame == 600


def test_from_a_frame_of_a_clip_it_goes_on_in_that_clip_with_what_nobody_holds(cast, room):
    stints.take(cast.editor, room["a1"], 600, 1100)
    ahead = next_to_watch.next_unwatched(cast.kb04, cast.logger, room["a1"], 300)
    assert (ahead.clip.name, ahead.in_frame, ahead.out_frame) == ("A1", 1100, 1500)
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger, room["a1"], 1100).clip.name == "C1"
    Clip.objects.filter(name="A1").update(proxy_state=Clip.ProxyState.WAITING)
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger, room["a1"], 300).clip.name == "C1"


def test_what_one_holds_elsewhere_comes_first_as_long_as_something_of_it_is_left(cast, room):
    assert not next_to_watch.holds_more(cast.logger, room["a1"])
    stints.take(cast.logger, room["c1"])
    assert next_to_watch.holds_more(cast.logger, room["a1"])
    assert not next_to_watch.holds_more(cast.logger, room["c1"]) and not next_to_watch.holds_more(
        cast.editor, room["a1"]
    )
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger, room["a1"], 300).clip.name == "C1"
    see(cast.producer, room["c1"], (0, 250), speed=8)
    assert not next_to_watch.holds_more(cast.logger, room["a1"])


def test_what_has_no_proxy_is_not_offered_for_watching(cast, room):
    Clip.objects.filter(name="A1").update(proxy_state=Clip.ProxyState.WAITING)
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger).clip.name == "C1"


def test_when_all_has_been_seen_there_is_no_next(cast, room):
    see(cast.producer, room["a1"], (0, 1500), speed=8)
    see(cast.producer, room["c1"], (0, 250), speed=8)
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger) is None
    assert list(unwatched.Stretches(cast.kb04)) == []
    assert coverage.total(coverage.by_card(cast.kb04).values()).unwatched == 0


def test_nothing_shot_is_nothing_seen(cast):
    assert coverage.total(coverage.by_card(cast.kb04).values()) == coverage.Coverage()
    assert coverage.Coverage().share(Fraction(0)) == 0.0
    assert next_to_watch.next_unwatched(cast.kb04, cast.logger) is None


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
    exact = (whole.shot, whole.watched, whole.skimmed, whole.unwatched)
    shown = "{} shot: {} watched, {} skimmed, <b>{} unwatched".format(*(duration(seconds) for seconds in exact))
    assert shown in page
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


# Rows, filters and CSV -------------------------------------------------------------------------


def rows(production, **asked):
    table = coverage_tables.table(production, Asked.read(asked))
    return table, {row.name: row.coverage for row in table.rows}


def lines(file):
    return list(csv.DictReader(io.StringIO(file.content.decode("utf-8-sig"))))


@pytest.mark.parametrize("by", ["card", "camera", "day"])
def test_the_rows_add_up_to_the_whole(cast, room, by):
    table, _ = rows(cast.kb04, by=by)
    assert table.adds_up
    assert table.total == coverage.total(row.coverage for row in table.rows)
    assert table.total == coverage.total(coverage.by_card(cast.kb04).values())
    assert table.total.bases == coverage.whole(cast.kb04).bases


def test_a_logger_has_what_they_saw_out_of_everything(cast, room):
    table, found = rows(cast.kb04, by="logger")
    assert set(found) == {"logger", "editor"}
    mine, hers = found["logger"], found["editor"]
    assert (mine.watched, mine.skimmed) == (30 + Fraction(1800 * 1001, 30000), 0)
    assert (hers.watched, hers.skimmed) == (8, 30)
    assert mine.shot == hers.shot == table.total.shot
    assert not table.adds_up


def test_a_logger_who_saw_nothing_is_there_too(cast, make_clip):
    make_clip()
    assert rows(cast.kb04, by="logger")[1]["logger"].watched == 0


def test_who_skimmed_is_named(cast, room):
    _, found = rows(cast.kb04)
    assert found["KB04-261112-A01"].skimmers == {"editor": 30}
    see(cast.editor, room["a2"], (0, 250))  # who then watches it is not said to have skimmed it
    assert rows(cast.kb04)[1]["KB04-261112-A01"].skimmers == {"editor": 20}


def test_a_story_is_whole_clips_of_notes_and_of_selects(cast, room):
    note = {"production": cast.kb04, "day": date(2026, 11, 12), "timecode": "11:00:05:00", "text": "it lands"}
    FieldNote.objects.create(at=(11 * 3600 + 5) * 1_000_000, tag="Gull", digest="1", taken_by=cast.owner, **note)
    selecting.put(cast.logger, uuid.uuid4(), room["b1"], selecting.Mark(0, 10, ("gull", "net")), 0)
    table, found = rows(cast.kb04, by="story")
    b1 = Fraction(1800 * 1001, 30000)
    assert {name: part.shot for name, part in found.items()} == {"gull": 30 + b1, "net": b1, "no story": 70}
    assert table.shared == 1  # the drop-frame clip
    assert found["gull"].people == {"logger": b1}
    assert found["gull"].skimmers == {"editor": 30}
    assert rows(cast.kb04, story="GULL")[0].total.bases == found["gull"].bases
    assert rows(cast.kb04, story="none")[0].total.bases == found["no story"].bases
    assert rows(cast.kb04, story="nothing")[0].rows == []


@pytest.mark.parametrize(
    ("asked", "clips"),
    [
        ({"day": "2026-11-12"}, "A1 A2 B1"),
        ({"day": "none"}, ""),
        ({"camera": "b"}, "B1"),
        ({"card": "KB04-261113-A01"}, "C1"),
        ({"state": "untouched"}, "C1"),
        ({"state": "unwatched"}, "A1 C1"),
        ({"state": "skimmed"}, "A2"),
        ({"state": "seen"}, "A2 B1"),
        ({"state": "watched"}, "B1"),
        ({"state": "unwatched", "camera": "A", "day": "2026-11-13"}, "C1"),
    ],
)
def test_every_number_is_of_the_footage_that_was_asked_for(cast, room, asked, clips):
    table, _ = rows(cast.kb04, **asked)
    there = [clip for clip in Clip.objects.filter(name__in=clips.split())]
    assert table.total.clips == len(there)
    assert table.total.shot == sum(clip.timebase.rate.seconds(clip.frames) for clip in there)
    left = unwatched.Stretches(cast.kb04, Asked.read({**asked, "stretches": "both"}))
    assert sum(each.seconds for each in left) == table.total.unwatched + table.total.skimmed
    assert {each.clip.name for each in left} <= set(clips.split())


def test_one_persons_coverage_is_as_if_nobody_else_had_seen_anything(cast, room):
    table, found = rows(cast.kb04, person="editor")
    first = found["KB04-261112-A01"]
    assert (first.watched, first.skimmed, first.unwatched, first.selects) == (8, 30, 52, 0)
    assert table.total.watched == 8 and table.total.shot == coverage.whole(cast.kb04).shot
    assert [row.name for row in rows(cast.kb04, person="editor", by="logger")[0].rows] == ["editor"]


@pytest.mark.parametrize(
    ("state", "clips"),
    [("untouched", "B1 C1"), ("unwatched", "A1 B1 C1"), ("skimmed", "A2"), ("seen", "A2"), ("watched", "")],
)
@pytest.mark.parametrize("by", ["card", "story", "logger"])
def test_with_a_person_the_state_of_a_clip_is_as_they_saw_it(cast, room, by, state, clips):
    table, _ = rows(cast.kb04, by=by, person="editor", state=state)
    assert table.total.clips == len(clips.split())
    there = unwatched.Stretches(cast.kb04, Asked.read({"person": "editor", "state": state, "stretches": "both"}))
    assert {each.clip.name for each in there} <= set(clips.split())


def test_with_a_person_the_page_says_whose_each_number_is(cast, room):
    second_looks.ask(cast.editor, room["a1"], 0, 100)
    page = browser_of(cast.producer).get("/coverage/", {"person": "editor"}).content.decode()
    headings = ("Watched by editor", "Skimmed by editor", "Unwatched by editor", "Second looks by anybody")
    assert all(f"{each}</a></th>" in page for each in headings)
    assert "Who watched" not in page and '<span class="faint">nobody</span>' not in page
    assert "Clips, as editor saw them" in page and "nor by anybody else" in page
    page = browser_of(cast.producer).get("/coverage/").content.decode()
    assert "Watched</a></th>" in page and '<span class="faint">nobody</span>' in page  # of C1, which is true


@pytest.mark.parametrize(
    ("sort", "order"),
    [("name", "A B"), ("-name", "B A"), ("shot", "B A"), ("-shot", "A B"), ("-seen", "B A"), ("-selects", "A B")],
)
def test_rows_are_sorted(cast, room, sort, order):
    assert [row.name for row in rows(cast.kb04, by="camera", sort=sort)[0].rows] == order.split()


@pytest.mark.parametrize(
    "asked", [{"by": "moon"}, {"sort": "-moon"}, {"state": "x"}, {"stretches": "x"}, {"day": "12"}]
)
def test_what_cannot_be_asked_is_refused(cast, room, asked):
    with pytest.raises(Refusal, match=r"cannot be asked for as|is not a day"):
        Asked.read(asked)
    name = next(iter(asked))
    assert browser_of(cast.producer).get("/coverage/", asked).status_code == 400
    answer = api_of(cast.producer).get("/api/v1/coverage/", {"production": "KB04", **asked})
    assert answer.status_code == 400 and name in answer.json()


def test_the_csv_is_exact_to_the_frame(cast, room):
    table = lines(coverage_tables.as_csv(cast.kb04, rows(cast.kb04, by="day")[0]))
    assert [(line["day"], line["rate (frames a second)"], line["counting"]) for line in table] == [
        ("2026-11-12", "25", "NDF"),
        ("2026-11-12", "29.97", "DF"),
        ("2026-11-13", "25", "NDF"),
    ]
    first, second, _ = table
    assert (first["shot (frames)"], first["shot (h:min:s:frames)"]) == ("2250", "00:01:30:00")
    assert (first["watched (frames)"], first["skimmed (frames)"], first["unwatched (frames)"]) == ("850", "750", "650")
    assert first["watched by (frames)"] == "editor 200; logger 750"
    assert first["skimmed by, and not watched (frames)"] == "editor 750"
    assert (second["shot (frames)"], second["shot (h:min:s:frames)"]) == ("1800", "00:01:00;02")
    assert (first["clips"], second["clips"]) == ("3", "")
    for count in ("shot", "watched", "skimmed", "unwatched"):
        total = sum(int(line[f"{count} (frames)"]) for line in table)
        whole = coverage.whole(cast.kb04)
        assert total == sum(getattr(part, count) for part in whole.bases.values())


def test_a_length_may_be_longer_than_a_day():
    """By SMPTE ST 12-1: at 25 a day has 2,160,000 frames, in drop-frame at 29.97 there are 2,589,408."""
    assert coverage_tables.length(Timebase(Rate(25)), 2_160_000 * 4 + 26) == "96:00:01:01"
    assert coverage_tables.length(DROP, 2_589_408 + 1800) == "24:01:00;02"


def test_a_csv_holds_no_formula(cast, room):
    Card.objects.filter(name="KB04-261112-A01").update(name="=1+1")
    cast.logger.username = "@logger"
    cast.logger.save()
    told = lines(coverage_tables.as_csv(cast.kb04, rows(cast.kb04)[0]))
    first = next(line for line in told if "1+1" in line["card"])
    assert first["card"] == "'=1+1"
    assert lines(coverage_tables.as_csv(cast.kb04, rows(cast.kb04, by="logger")[0]))[0]["logger"] == "'@logger"


def test_the_files_and_the_api_say_the_same_as_the_page(cast, room):
    asked = {"production": "KB04", "by": "camera", "state": "unwatched", "sort": "-unwatched"}
    told = api_of(cast.producer).get("/api/v1/coverage/", asked).json()
    (row,) = told["rows"]
    assert row["exact"][0]["frames"]["unwatched"] == 900
    (line,) = lines(browser_of(cast.producer).get("/coverage/rows.csv", asked))
    assert line["unwatched (frames)"] == "900" and line["unwatched (h:min:s:frames)"] == "00:00:36:00"
    assert row["exact"][0]["lengths"]["unwatched"] == "00:00:36:00"
    page = browser_of(cast.producer).get("/coverage/", asked).content.decode()
    assert "<b>36 s unwatched" in page


def test_second_looks_are_counted_apart(cast, room):
    second_looks.ask(cast.editor, room["a1"], 0, 1000)
    whole = coverage.total(coverage.by_card(cast.kb04).values())
    assert (whole.asked, whole.twice) == (40, 4)  # frames 400 to 500 were watched by both
    assert (whole.shot, whole.watched) == (coverage.whole(cast.kb04).shot, coverage.whole(cast.kb04).watched)
    assert "second looks: 4.0 s of 40 s" in browser_of(cast.producer).get("/coverage/").content.decode()
