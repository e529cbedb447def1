"""Handles, what is shown twice, and selects made one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.exports.joining import Shared, merged, shared, with_handles
from review.frames import union
from review.timecode import Rate

from .pulls import event


@pytest.mark.parametrize(
    ("in_frame", "out_frame", "milliseconds", "rate", "expected"),
    [
        (100, 200, 0, Rate(25), (100, 200, (0, 0), (0, 0))),
        (100, 200, 1000, Rate(25), (75, 225, (25, 25), (0, 0))),
        (100, 200, 1000, Rate(30000, 1001), (70, 230, (30, 30), (0, 0))),  # 29.97 and more: 30 frames
        (100, 200, 1, Rate(25), (99, 201, (1, 1), (0, 0))),
        (10, 990, 1000, Rate(25), (0, 1000, (10, 10), (15, 15))),
        (0, 1000, 1000, Rate(25), (0, 1000, (0, 0), (25, 25))),
    ],
)
def test_a_handle_goes_as_far_as_the_clip_and_says_what_is_missing(in_frame, out_frame, milliseconds, rate, expected):
    assert tuple(with_handles(in_frame, out_frame, 1000, milliseconds, rate)) == expected


def test_a_range_beyond_a_clip_that_became_shorter_is_left_for_the_export_to_refuse():
    assert with_handles(40, 50, 20, 1000, Rate(25)).out_frame == 50


def test_the_same_frames_and_some_of_them_are_told_apart():
    ranges = [("a", 0, 10), ("b", 0, 10), ("a", 5, 15), ("a", 15, 20), ("b", 0, 10)]
    assert shared(ranges) == {
        0: Shared(2, False),
        2: Shared(0, False),
        1: Shared(4, True),
        4: Shared(1, True),
    }


RANGES = st.lists(
    st.tuples(st.sampled_from("ab"), st.integers(0, 40), st.integers(1, 12)).map(
        lambda it: (it[0], it[1], it[1] + it[2])
    ),
    max_size=25,
)


@given(RANGES)
def test_exactly_those_that_share_frames_are_found(ranges):
    def meet(one, other):
        return one[0] == other[0] and one[1] < other[2] and other[1] < one[2]

    expected = {
        place
        for place, each in enumerate(ranges)
        if any(meet(each, other) for at, other in enumerate(ranges) if at != place)
    }
    found = shared(ranges)
    assert set(found) == expected
    for place, (other, same) in found.items():
        assert place != other and meet(ranges[place], ranges[other])
        assert same == (ranges[place] == ranges[other]) or not same


def test_selects_that_touch_become_one_at_the_place_of_the_first():
    merging = merged(
        [
            event(in_frame=50, out_frame=100, select_id="one", tags=("goats",), note="up", rating=2),
            event(clip="other", select_id="apart"),
            event(in_frame=100, out_frame=150, select_id="two", tags=("goats", "dust"), note="down", rating=4),
            event(in_frame=151, out_frame=160, select_id="gap"),
        ]
    )
    assert [each.select_id for each in merging] == ["one", "apart", "gap"]
    first = merging[0]
    assert (first.in_frame, first.out_frame, first.also) == (50, 150, ("two",))
    assert (first.tags, first.note, first.rating, first.logger) == (("goats", "dust"), "up\ndown", 4, "Ines")


def test_sections_and_cards_are_never_merged():
    apart = [event(section="a"), event(section="b"), event(card="KB04-261112-B01", section="a")]
    assert merged(apart) == apart


def test_one_that_spans_files_names_all_of_them_and_their_range():
    first = event(in_frame=900, out_frame=1_000, file="1.MTS", held=(0, 1_000), handles=(3, 9), clipped=(1, 0))
    second = event(in_frame=1_000, out_frame=1_100, file="2.MTS", held=(1_000, 2_000), handles=(9, 4), clipped=(0, 2))
    (one,) = merged([second, first])
    assert (one.file, one.more_files, one.held) == ("1.MTS", ("2.MTS",), (0, 2_000))
    assert (one.handles, one.clipped) == ((3, 4), (1, 2))


@given(RANGES)
def test_merging_keeps_every_frame_and_shows_none_twice(ranges):
    each = [event(clip=clip, in_frame=start, out_frame=end) for clip, start, end in ranges]
    made = merged(each)
    for clip in "ab":
        before = union((one.in_frame, one.out_frame) for one in each if one.clip == clip)
        after = sorted((one.in_frame, one.out_frame) for one in made if one.clip == clip)
        assert after == [tuple(one) for one in before]
