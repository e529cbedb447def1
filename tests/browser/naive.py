"""Ranges the naive way: as sets of frames."""


def ranges_of(held: set[int]) -> list[list[int]]:
    """A set of frames as ranges in order and apart."""
    starts = sorted(frame for frame in held if frame - 1 not in held)
    ends = sorted(frame + 1 for frame in held if frame + 1 not in held)
    return [list(each) for each in zip(starts, ends, strict=True)]
