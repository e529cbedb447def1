"""Two pairs of eyes, and how far they agree. The measure is the house's own, and stated in
review/team/agreement.py."""

import uuid
from datetime import timedelta

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Activity, SecondLook, Viewing
from review.record import watching
from review.record.watching import Span
from review.refusals import NotAllowed, NotFound, Refusal
from review.team import agreement, second_looks
from tests.conftest import api_of, browser_of


def see(person, clip, *ranges):
    opened = timezone.now() - timedelta(hours=9)
    viewing = Viewing.objects.create(id=uuid.uuid4(), person=person, clip=clip, opened_at=opened)
    watching.record(person, clip, viewing.id, 1, [Span(start, end, 1.0, False) for start, end in ranges])


def mark(person, clip, start, end):
    return selecting.put(person, uuid.uuid4(), clip, Mark(start, end), 0)


@pytest.fixture
def clip(make_clip):
    return make_clip(frames=1000)


def test_it_works(cast, clip):
    look = second_looks.ask(cast.editor, clip, 100, 300, "  the letter\n scene ")
    assert (look.why, look.seen_frames) == ("the letter scene", 0)
    see(cast.logger, clip, (0, 250))
    see(cast.editor, clip, (200, 400))
    look.refresh_from_db()
    assert look.seen_frames == 50
    happened = Activity.objects.latest("id")
    assert (happened.person, happened.did, happened.clip) == (cast.editor, "asked for", clip)
    assert happened.words == "a second look at 10:00:04:00 to 10:00:12:00 of A001C001"


def test_what_two_have_seen_before_it_was_asked_counts(cast, clip):
    see(cast.logger, clip, (0, 250))
    see(cast.editor, clip, (200, 400))
    assert second_looks.ask(cast.editor, clip).seen_frames == 50


def test_nothing_is_asked_for_twice(cast, clip):
    first = second_looks.ask(cast.editor, clip, 100, 300)
    with pytest.raises(Refusal, match="editor has asked for a second look at 10:00:04:00 to 10:00:12:00 of A001C001"):
        second_looks.ask(cast.producer, clip, 299, 400)
    second_looks.ask(cast.producer, clip, 300, 400)
    second_looks.end(cast.producer, first)
    assert second_looks.ask(cast.producer, clip, 0, 300).id


def test_all_of_a_card_is_what_is_not_asked_for_yet(cast, clip, make_clip):
    make_clip("A001C002", frames=200)
    second_looks.ask(cast.editor, clip, 100, 300)
    assert second_looks.ask_for_card(cast.producer, clip.card, "all of it") == 3
    assert sum(look.frames for look in second_looks.wanted(cast.kb04)) == 1200
    with pytest.raises(Refusal, match="have been asked for already"):
        second_looks.ask_for_card(cast.producer, clip.card)


@pytest.mark.parametrize("stretch", [(-1, 10), (10, 10), (20, 10), (0, 1001)])
def test_a_stretch_that_is_not_in_the_clip_is_refused(cast, clip, stretch):
    with pytest.raises(Refusal, match="is not a range of A001C001's 1000 frames"):
        second_looks.ask(cast.editor, clip, *stretch)


def test_ending_it_twice_is_ending_it_once(cast, clip):
    look = second_looks.ask(cast.editor, clip)
    ended = second_looks.end(cast.editor, look).ended_at
    assert second_looks.end(cast.producer, look).ended_at == ended
    assert Activity.objects.filter(did="ended").count() == 1
    assert not second_looks.wanted(cast.kb04).exists()


def test_who_may_not_ask_is_told_who_may(cast, clip):
    with pytest.raises(
        NotAllowed, match="To ask for second looks in KB04 you must be an editor, a producer or an owner"
    ):
        second_looks.ask(cast.logger, clip)
    with pytest.raises(NotFound):
        second_looks.ask(cast.stranger, clip)
    look = second_looks.ask(cast.editor, clip)
    with pytest.raises(NotAllowed):
        second_looks.end(cast.logger, look)


# Agreement --------------------------------------------------------------------------------------


def test_agreement_is_of_the_frames_that_both_watched(cast, clip):
    see(cast.logger, clip, (0, 500))
    see(cast.editor, clip, (100, 1000))
    mark(cast.logger, clip, 50, 200)  # of which 100 to 200 counts
    mark(cast.logger, clip, 300, 320)
    mark(cast.editor, clip, 150, 250)
    mark(cast.editor, clip, 700, 800)  # the logger did not watch that
    gone = mark(cast.editor, clip, 300, 320)
    selecting.delete(cast.editor, gone)
    (told,) = agreement.on(clip)
    assert told.names == ("editor", "logger")
    assert (told.both_watched, told.both_marked, told.either_marked) == (400, 50, 170)
    assert told.share == pytest.approx(50 / 170)
    assert (told.finds, told.same) == ((1, 2), 1)
    assert [(each.marked_by, each.in_frame, each.out_frame) for each in told.differences] == [
        ("logger", 100, 150),
        ("editor", 200, 250),
        ("logger", 300, 320),
    ]


def test_agreement_on_a_stretch_is_of_that_stretch(cast, clip):
    for person in (cast.logger, cast.editor):
        see(person, clip, (0, 1000))
        mark(person, clip, 100, 200)
    mark(cast.logger, clip, 800, 900)
    assert agreement.on(clip, 0, 500)[0].share == 1
    assert agreement.on(clip)[0].share == 0.5
    assert agreement.on(clip, 300, 500)[0].share is None  # neither marked anything there


def test_a_difference_says_where_it_lies_by_what_both_marked():
    whole = [(0, 100)]
    told = agreement.compare(
        ("ilse", "odd"), (whole, [(5, 100)]), ([(0, 30), (40, 60)], [(10, 20), (40, 45), (50, 70), (80, 90)])
    )
    assert [(d.marked_by, d.in_frame, d.out_frame, d.before, d.after) for d in told.differences] == [
        ("ilse", 5, 10, True, False),  # begins earlier
        ("ilse", 20, 30, False, True),  # goes on longer
        ("ilse", 45, 50, True, True),  # what is between
        ("odd", 60, 70, False, True),
        ("odd", 80, 90, False, False),  # alone
    ]
    assert told.watched == [(5, 100)] and told.marked[0] == [(5, 30), (40, 60)]


def test_a_look_that_two_have_had_waits_for_nobody(cast, clip):
    look = second_looks.ask(cast.editor, clip, 100, 300)
    see(cast.logger, clip, (0, 300))
    assert list(second_looks.waiting(clip)) == [look]
    see(cast.editor, clip, (0, 300))
    assert list(second_looks.waiting(clip)) == []


def test_of_three_people_every_two_are_compared(cast, clip):
    for person in (cast.logger, cast.editor, cast.producer):
        see(person, clip, (0, 1000))
    assert [told.names for told in agreement.on(clip)] == [
        ("editor", "logger"),
        ("editor", "producer"),
        ("logger", "producer"),
    ]


def test_people_who_watched_different_frames_are_not_compared(cast, clip):
    see(cast.logger, clip, (0, 500))
    see(cast.editor, clip, (500, 1000))
    assert agreement.on(clip) == []
    assert list(agreement.watched_by_several(cast.kb04)) == [clip]


MARKS = st.lists(
    st.tuples(st.integers(0, 90), st.integers(1, 30)).map(lambda at: (at[0], min(100, at[0] + at[1]))), max_size=6
)


def most_pairs(ours, theirs):
    """By trying everything."""
    if not ours:
        return 0
    (start, end), *rest = ours
    best = most_pairs(rest, theirs)
    for at, (other, stop) in enumerate(theirs):
        if start < stop and other < end:
            best = max(best, 1 + most_pairs(rest, theirs[:at] + theirs[at + 1 :]))
    return best


@settings(max_examples=150, deadline=None)
@given(MARKS, MARKS, MARKS, MARKS)
def test_it_is_that_of_plain_sets_of_frames(watched, also, ours, theirs):
    told = agreement.compare(("ilse", "odd"), (watched, also), (ours, theirs))
    mirrored = agreement.compare(("odd", "ilse"), (also, watched), (theirs, ours))
    plain = [{frame for each in ranges for frame in range(*each)} for ranges in (watched, also, ours, theirs)]
    both = plain[0] & plain[1]
    one, other = plain[2] & both, plain[3] & both
    assert (told.both_watched, told.both_marked, told.either_marked) == (len(both), len(one & other), len(one | other))
    for name, only in (("ilse", one - other), ("odd", other - one)):
        differences = [range(each.in_frame, each.out_frame) for each in told.differences if each.marked_by == name]
        assert {frame for each in differences for frame in each} == only
    assert told.share is None or 0 <= told.share <= 1
    assert (mirrored.share, mirrored.same, mirrored.finds) == (told.share, told.same, told.finds[::-1])


@settings(max_examples=150, deadline=None)
@given(MARKS, MARKS)
def test_as_many_finds_are_paired_as_can_be(ours, theirs):
    whole = [(0, 100)]
    assert agreement.compare(("a", "b"), (whole, whole), (ours, theirs)).same == most_pairs(ours, theirs)


def test_thousands_of_marks_over_each_other_take_no_time(cast):
    marks = [(at, 10_000) for at in range(5000)]
    told = agreement.compare(("a", "b"), ([(0, 10_000)],) * 2, (marks, marks))
    assert told.same == 5000 and told.share == 1


# Pages and API ----------------------------------------------------------------------------------


def test_the_page_and_the_api_say_the_same(cast, clip):
    made = api_of(cast.editor).post("/api/v1/second-looks/", {"clip": clip.id, "in_frame": 100, "out_frame": 400})
    assert made.status_code == 201
    for person in (cast.logger, cast.editor):
        see(person, clip, (0, 400))
        mark(person, clip, 150, 200)
    mark(cast.logger, clip, 220, 270)
    script = api_of(cast.producer)
    (look,) = script.get("/api/v1/second-looks/", {"production": "KB04", "wanted": "yes"}).json()["results"]
    assert look["seen_frames"] == 300 and look["asked_by"] == "editor"
    (told,) = script.get(f"/api/v1/second-looks/{look['id']}/agreement/").json()
    assert (told["share"], told["finds"], told["same"]) == (0.5, [1, 2], 1)
    page = browser_of(cast.producer).get("/second-looks/").content.decode()
    assert "editor and logger, over 12 s: <b>50 %</b>" in page and "12 s seen by two people or more" in page
    where = browser_of(cast.producer).get(f"/agreement/{clip.id}/?in=100&out=400").content.decode()
    assert "agree on 50 %" in where and "10:00:08:20" in where
    assert script.delete(f"/api/v1/second-looks/{look['id']}/").json()["ended_at"]
    assert script.get("/api/v1/second-looks/", {"wanted": "yes"}).json()["results"] == []


def test_of_a_few_seconds_no_percentage_is_told(cast, clip):
    for person, start, marked in ((cast.logger, 0, 410), (cast.editor, 400, 500)):
        see(person, clip, (start, start + 525))
        mark(person, clip, marked, marked + 10)
    browser = browser_of(cast.producer)
    page = browser.get("/second-looks/").content.decode()
    assert "editor and logger, over 5.0 s: too short to tell, 0 finds in common (they have 1 and 1)" in page
    assert "both watched less than 10 s" in browser.get(f"/agreement/{clip.id}/").content.decode()


def test_a_stretch_of_the_coverage_page_is_asked_for(cast, clip):
    browser = browser_of(cast.producer)
    page = browser.get("/coverage/").content.decode()
    assert f'value="{clip.id}-0-1000"' in page
    assert f'value="{clip.id}-0-1000"' not in browser_of(cast.logger).get("/coverage/").content.decode()
    told = browser.post("/second-looks/?production=KB04", {"stretch": f"{clip.id}-0-1000"}, follow=True)
    assert told.redirect_chain == [("/second-looks/", 302)]
    assert "Two pairs of eyes are asked for on 10:00:00:00 to 10:00:40:00" in told.content.decode()
    assert SecondLook.objects.get().asked_by == cast.producer


@pytest.mark.parametrize(
    "asked", [{}, {"stretch": "x"}, {"stretch": "1-2"}, {"stretch": "1--2-3"}, {"stretch": "9999-0-1"}]
)
def test_what_is_no_stretch_is_refused(cast, clip, asked):
    assert browser_of(cast.producer).post("/second-looks/?production=KB04", asked).status_code in (400, 404)
    assert not SecondLook.objects.exists()


@pytest.mark.parametrize("query", ["in=5&out=5", "in=x", "in=2000", "out=0"])
def test_agreement_on_no_stretch_is_refused(cast, clip, query):
    assert browser_of(cast.producer).get(f"/agreement/{clip.id}/?{query}").status_code == 400
