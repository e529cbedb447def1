"""Frame-range algebra against sets of whole numbers."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from review.frames import FrameRange, count, gaps, intersect, subtract, union

any_ranges = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), max_size=12)  # empty and backward ones too


def frames_of(ranges) -> set[int]:
    return {frame for start, end in ranges for frame in range(start, end)}


def is_tidy(ranges) -> bool:
    """In order, none empty, none touching the next."""
    return all(start < end for start, end in ranges) and all(
        this.out_frame < following.in_frame for this, following in pairwise(ranges)
    )


def test_a_range_ends_before_its_out():
    assert FrameRange(1, 4).length == 3
    assert FrameRange(4, 4).length == FrameRange(5, 4).length == 0


def test_touching_ranges_are_joined():
    assert union([(4, 6), (1, 4), (8, 9)]) == [(1, 6), (8, 9)]


def test_taking_the_middle_leaves_both_ends():
    assert subtract([(0, 10)], [(3, 5)]) == [(0, 3), (5, 10)]


def test_gaps_are_what_nobody_saw():
    assert gaps([(0, 3), (5, 8)], 10) == [(3, 5), (8, 10)]
    assert gaps([], 10) == [(0, 10)]
    assert gaps([(0, 20)], 10) == []


@given(any_ranges)
def test_union_is_that_of_sets(ranges):
    joined = union(ranges)
    assert frames_of(joined) == frames_of(ranges)
    assert is_tidy(joined)


@given(any_ranges, any_ranges)
def test_subtract_is_that_of_sets(ranges, taken):
    left = subtract(ranges, taken)
    assert frames_of(left) == frames_of(ranges) - frames_of(taken)
    assert is_tidy(left)


@given(any_ranges, any_ranges)
def test_intersect_is_that_of_sets(ranges, others):
    both = intersect(ranges, others)
    assert frames_of(both) == frames_of(ranges) & frames_of(others)
    assert is_tidy(both)


@given(any_ranges, st.integers(0, 60))
def test_gaps_are_the_clip_less_its_ranges(ranges, length):
    unseen = gaps(ranges, length)
    assert frames_of(unseen) == set(range(length)) - frames_of(ranges)
    assert is_tidy(unseen)


@given(any_ranges)
def test_count_is_the_size_of_the_set(ranges):
    assert count(ranges) == len(frames_of(ranges))
