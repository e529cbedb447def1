"""Arithmetic on ranges of frames.

A range is half-open, [in_frame, out_frame), in whole frames of one clip:

    frames   0   1   2   3   4   5
    [1, 4)       ^^^^^^^^^           three frames: 1, 2 and 3

A *set of frames* is a list of ranges in order, apart from each other (touching ones are joined).
Every function takes ranges in any order, overlapping or not, and returns such a set.
"""

from collections.abc import Iterable
from typing import NamedTuple


class FrameRange(NamedTuple):
    in_frame: int
    out_frame: int

    @property
    def length(self) -> int:
        return max(0, self.out_frame - self.in_frame)


def union(ranges: Iterable[tuple[int, int]]) -> list[FrameRange]:
    """All frames that are in any of `ranges`."""
    joined: list[FrameRange] = []
    for start, end in sorted(ranges):
        if start >= end:
            continue
        if joined and start <= joined[-1].out_frame:
            joined[-1] = FrameRange(joined[-1].in_frame, max(end, joined[-1].out_frame))
        else:
            joined.append(FrameRange(start, end))
    return joined


def subtract(ranges: Iterable[tuple[int, int]], taken: Iterable[tuple[int, int]]) -> list[FrameRange]:
    """The frames of `ranges` that are in none of `taken`."""
    left: list[FrameRange] = []
    holes = union(taken)
    for start, end in union(ranges):
        for hole in holes:
            if hole.out_frame <= start:
                continue
            if hole.in_frame >= end:
                break
            if hole.in_frame > start:
                left.append(FrameRange(start, hole.in_frame))
            start = hole.out_frame
        if start < end:
            left.append(FrameRange(start, end))
    return left


def intersect(ranges: Iterable[tuple[int, int]], others: Iterable[tuple[int, int]]) -> list[FrameRange]:
    """The frames that are in both."""
    ranges = union(ranges)
    return subtract(ranges, subtract(ranges, others))


def gaps(ranges: Iterable[tuple[int, int]], length: int) -> list[FrameRange]:
    """The frames of a clip of `length` frames that are in none of `ranges`."""
    return subtract([(0, length)], ranges)


def count(ranges: Iterable[tuple[int, int]]) -> int:
    """How many different frames `ranges` hold."""
    return sum(each.length for each in union(ranges))
