"""Stints: no frame is held by two people at once."""

import pytest

from review import stints
from review.models import Stint
from review.refusals import NotAllowed, NotFound, Refusal


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
