"""Stints: no frame is held by two people at once, but for second looks; what rests is offered to others."""

from datetime import timedelta

import pytest
from django.utils import timezone

from review.models import Activity, Clip, Stint
from review.record import stints
from review.refusals import NotAllowed, NotFound, Refusal
from review.team import holding, next_to_watch
from tests.conftest import browser_of
from tests.seeing.test_coverage import see
from tests.splits import MINUTE


def rest(stint, **ago):
    Stint.objects.filter(id=stint.id).update(touched_at=timezone.now() - timedelta(**ago))


def test_it_works(cast, a_clip):
    stint = stints.take(cast.logger, a_clip)
    assert (stint.in_frame, stint.out_frame, stint.logger, stint.ended_at) == (0, 50, cast.logger, None)


def test_two_people_take_stretches_side_by_side(cast, a_clip):
    stints.take(cast.logger, a_clip, 0, 25)
    stints.take(cast.editor, a_clip, 25, 50)
    assert Stint.objects.filter(ended_at=None).count() == 2


@pytest.mark.parametrize("stretch", [(0, 50), (10, 11), (24, 26), (0, 11), (10, 25)])
def test_a_frame_that_somebody_holds_is_refused_with_who_and_where(cast, a_clip, stretch):
    stints.take(cast.logger, a_clip, 10, 25)
    with pytest.raises(Refusal, match="logger holds 10:00:00:10 to 10:00:01:00 of A001C001; take another stretch"):
        stints.take(cast.editor, a_clip, *stretch)
    assert Stint.objects.count() == 1


def test_what_was_handed_back_can_be_taken(cast, a_clip):
    stint = stints.hand_back(cast.logger, stints.take(cast.logger, a_clip))
    assert stint.ended_at
    assert stints.hand_back(cast.logger, stint).ended_at == stint.ended_at  # twice is once
    assert stints.take(cast.editor, a_clip).ended_at is None


def test_a_producer_hands_out_and_takes_back(cast, a_clip):
    stint = stints.hand_out(cast.producer, cast.logger, a_clip, 0, 25)
    assert stint.logger == cast.logger
    assert stints.hand_back(cast.producer, stint).ended_at


def test_a_logger_does_not_hand_out_or_take_from_others(cast, a_clip):
    with pytest.raises(NotAllowed, match="To hand out stints in KB04 you must be a producer or an owner"):
        stints.hand_out(cast.logger, cast.editor, a_clip)
    stint = stints.take(cast.editor, a_clip)
    with pytest.raises(NotAllowed):
        stints.hand_back(cast.logger, stint)


def test_footage_is_not_handed_to_who_cannot_take_it(cast, a_clip):
    for person in (cast.media_manager, cast.stranger):
        with pytest.raises(Refusal, match="cannot take footage of KB04"):
            stints.hand_out(cast.producer, person, a_clip)


@pytest.mark.parametrize("stretch", [(-1, 5), (5, 5), (6, 5), (0, 51), (50, 51), (10**30, 10**31)])
def test_a_stretch_that_is_not_in_the_clip_is_refused(cast, a_clip, stretch):
    with pytest.raises(Refusal, match="is not a range of A001C001's 50 frames"):
        stints.take(cast.logger, a_clip, *stretch)


def test_a_stranger_takes_nothing(cast, a_clip):
    with pytest.raises(NotFound, match="no such production, or you are not a member"):
        stints.take(cast.stranger, a_clip)
    stint = stints.take(cast.logger, a_clip)
    with pytest.raises(NotFound):
        stints.hand_back(cast.stranger, stint)


def test_what_happened_is_written_down(cast, a_clip):
    stint = stints.hand_out(cast.producer, cast.logger, a_clip, 0, 25)
    stints.hand_back(cast.producer, stint)
    stints.hand_back(cast.producer, stint)
    stints.take(cast.editor, a_clip)
    told = [(each.person, each.did, each.words) for each in Activity.objects.order_by("id")]
    assert told == [
        (cast.producer, "handed out", "10:00:00:00 to 10:00:01:00 of A001C001 to logger"),
        (cast.producer, "took back", "10:00:00:00 to 10:00:01:00 of A001C001 from logger"),
        (cast.editor, "took", "10:00:00:00 to 10:00:02:00 of A001C001"),
    ]
    stint.refresh_from_db()
    assert stint.ended_why == "taken back by producer"


# Second looks -----------------------------------------------------------------------------------


def test_a_second_look_lies_over_the_first_of_somebody_else(cast, a_clip):
    stints.take(cast.logger, a_clip)
    assert stints.take(cast.editor, a_clip, 10, 20, second=True).second
    with pytest.raises(Refusal, match="editor holds"):
        stints.take(cast.producer, a_clip, 15, 25, second=True)
    stints.hand_out(cast.producer, cast.owner, a_clip, 20, 30, second=True)


def test_nobody_has_both_looks_at_a_frame(cast, a_clip):
    stints.take(cast.logger, a_clip, 0, 25)
    with pytest.raises(Refusal, match="logger holds"):
        stints.take(cast.logger, a_clip, 20, 40, second=True)
    stints.take(cast.logger, a_clip, 30, 50, second=True)
    with pytest.raises(Refusal, match="logger holds"):
        stints.take(cast.logger, a_clip, 25, 35)


def test_who_watched_all_of_it_takes_no_second_look(cast, a_clip):
    see(cast.logger, a_clip, (0, 30))
    with pytest.raises(Refusal, match="logger has watched all of this; a second look is for somebody else"):
        stints.take(cast.logger, a_clip, 0, 30, second=True)
    assert stints.take(cast.logger, a_clip, 0, 31, second=True)


def test_a_second_look_is_next_though_the_first_has_been(cast, reel):
    see(cast.logger, reel["A0"], (0, 10 * MINUTE))
    stints.take(cast.editor, reel["A0"], second=True)
    next_ = next_to_watch.next_unwatched(cast.kb04, cast.editor)
    assert (next_.clip.name, next_.in_frame) == ("A0", 0)
    see(cast.editor, reel["A0"], (0, MINUTE))
    assert next_to_watch.next_unwatched(cast.kb04, cast.editor).in_frame == MINUTE


# Resting ----------------------------------------------------------------------------------------


def test_what_rests_is_offered_and_stays_until_somebody_takes_it(cast, a_clip):
    stint = stints.take(cast.logger, a_clip)
    rest(stint, hours=25)
    (offered,) = holding.resting(holding.held(cast.kb04), cast.editor)
    assert offered.stint == stint and holding.resting(holding.held(cast.kb04), cast.logger) == []
    assert stints.take(cast.editor, a_clip, 10, 50).logger == cast.editor
    stint.refresh_from_db()
    assert stint.ended_at and stint.ended_why == "it rested, and editor took it on"
    done = Activity.objects.get(person=cast.editor)
    assert done.words == "10:00:00:10 to 10:00:02:00 of A001C001, which had rested with logger"


def test_what_was_touched_does_not_rest(cast, a_clip):
    stint = stints.take(cast.logger, a_clip)
    rest(stint, hours=25)
    stints.touched(cast.editor, a_clip)  # somebody else looks at it
    assert holding.held(cast.kb04)[0].idle
    stints.touched(cast.logger, a_clip)
    assert not holding.held(cast.kb04)[0].idle
    with pytest.raises(Refusal, match="logger holds"):
        stints.take(cast.editor, a_clip)


def test_how_long_it_may_rest_is_set(cast, a_clip):
    stint = stints.take(cast.logger, a_clip)
    rest(stint, hours=3)
    stints.set_idle_hours(cast.producer, cast.kb04, 2)
    assert holding.held(cast.kb04)[0].idle
    for hours in (0, -1, 100_000):
        with pytest.raises(Refusal, match="A stint may rest for 1 to 1,440 hours"):
            stints.set_idle_hours(cast.producer, cast.kb04, hours)
    with pytest.raises(NotAllowed):
        stints.set_idle_hours(cast.logger, cast.kb04, 5)


# What is left -----------------------------------------------------------------------------------


def test_what_is_left_is_what_nobody_has_seen(cast, reel):
    stints.take(cast.logger, reel["A0"], 0, 6 * MINUTE)
    see(cast.logger, reel["A0"], (0, MINUTE))
    see(cast.editor, reel["A0"], (2 * MINUTE, 3 * MINUTE))
    (held,) = holding.held(cast.kb04, cast.logger)
    assert (held.seconds, held.seconds_left, held.next_frame) == (360, 240, MINUTE)
    assert holding.unassigned_seconds(cast.kb04, holding.held(cast.kb04)) == 4 * 60 + 4 * 600


def test_what_is_unassigned_is_exact_where_all_of_a_stint_was_seen(cast, reel):
    stints.take(cast.logger, reel["A0"])
    see(cast.logger, reel["A0"], (0, 10 * MINUTE))
    assert holding.unassigned_seconds(cast.kb04, holding.held(cast.kb04)) == 4 * 600


def test_own_stints_come_first_in_their_order_and_then_what_nobody_holds(cast, reel):
    stints.take(cast.editor, reel["A0"])
    stints.take(cast.logger, reel["A2"], MINUTE, 2 * MINUTE)
    stints.take(cast.logger, reel["A1"])

    def next_(after=None):
        found = next_to_watch.next_unwatched(cast.kb04, cast.logger, after)
        return found and (found.clip.name, found.in_frame)

    assert next_() == ("A2", MINUTE)
    assert next_(reel["A2"]) == ("A1", 0)
    assert next_(reel["A1"]) == ("A2", MINUTE)  # round
    see(cast.logger, reel["A2"], (MINUTE, 2 * MINUTE))
    see(cast.logger, reel["A1"], (0, 10 * MINUTE))
    assert next_() == ("B", 0)
    assert next_(reel["B"]) == ("A2", 0)  # what is beside the stint is nobody's
    Clip.objects.exclude(name="A0").update(watched_frames=10 * MINUTE)
    assert next_() is None  # the rest is the editor's


def test_when_others_hold_the_rest_the_next_key_says_so(cast, reel):
    for clip in reel.values():
        stints.take(cast.editor, clip)
    page = browser_of(cast.logger).get("/clips/next/?production=KB04", follow=True)
    assert page.redirect_chain[-1][0] == "/stints/?production=KB04"
    assert "What nobody has seen of KB04 is held by others" in page.content.decode()


# Pages ------------------------------------------------------------------------------------------


def test_what_rests_is_taken_over_from_the_page(cast, reel):
    stint = stints.take(cast.editor, reel["A0"], 0, 4 * MINUTE)
    see(cast.editor, reel["A0"], (0, MINUTE))
    browser = browser_of(cast.logger)
    refused = browser.post(f"/stints/{stint.id}/take-over/")
    assert refused.status_code == 400 and b"editor holds" in refused.content
    rest(stint, hours=30)
    page = browser.post(f"/stints/{stint.id}/take-over/", follow=True).content.decode()
    assert "10:00:00:00 to 10:04:00:00 of A0 is yours now" in page
    mine = Stint.objects.get(logger=cast.logger, ended_at=None)
    assert (mine.in_frame, mine.out_frame) == (MINUTE, 4 * MINUTE)


def test_the_page_of_many_stints_takes_few_queries(cast, make_clip, django_assert_max_num_queries):
    for at in range(30):
        stints.take(cast.logger, make_clip(f"C{at}", frames=100))
    for person in (cast.logger, cast.producer):
        browser = browser_of(person)
        with django_assert_max_num_queries(35):
            assert browser.get("/stints/?production=KB04").status_code == 200


def test_the_idle_hours_are_set_on_the_rules_page(cast):
    page = browser_of(cast.producer).post("/rules/?production=KB04", {"idle_hours": "48"}, follow=True)
    assert "A stint that rests for 48 hours is offered to others" in page.content.decode()
    cast.kb04.refresh_from_db()
    assert cast.kb04.idle_hours == 48
    assert browser_of(cast.logger).post("/rules/?production=KB04", {"idle_hours": "1"}).status_code == 403
    assert browser_of(cast.producer).post("/rules/?production=KB04", {"idle_hours": "soon"}).status_code == 400


def test_somebody_who_holds_much_leafs_through_it(cast, make_clip):
    card = make_clip("FIRST").card
    first = card.clips.get()
    rows = [Clip.objects.get(id=first.id) for _ in range(120)]
    for at, row in enumerate(rows):
        row.id, row.name = None, f"M{at:03}"
    Clip.objects.bulk_create(rows)
    made = [Stint(clip=clip, in_frame=0, out_frame=50, logger=cast.logger) for clip in card.clips.order_by("id")]
    Stint.objects.bulk_create(made)
    browser = browser_of(cast.logger)
    page = browser.get("/stints/?production=KB04").content.decode()
    assert "121 stretches" in page and "1–50 of 121" in page and "M049" not in page
    rest_ = browser.get("/stints/?production=KB04&mine=3").content.decode()
    assert "101–121 of 121" in rest_ and "M119" in rest_
