"""Where a clip may be cut between two loggers: at a quiet point, and never inside a select."""

from collections.abc import Iterable, Mapping

from review import frames
from review.frames import FrameRange

MARGIN = 12  # frames kept from what is said, where the silence is long enough


def quiet_frame(
    wanted: int, low: int, high: int, lanes: Mapping | None, selects: Iterable[tuple[int, int]] = ()
) -> int | None:
    """The best frame in [low, high] to begin the second part of a clip at, near `wanted`; None if selects take all.

    `lanes` are those of review.media.lanes, None if there are none: then any frame will do. With lanes it is, as near
    as there is one, a frame where nobody talks and no sound is; else one where nobody talks; else where the picture
    changes; else any. A select [in, out) may end or begin there, and is never cut in two.
    """
    # Frame f cuts a select in two when in < f < out.
    inside = [(start + 1, end) for start, end in selects]
    free = frames.subtract([(low, high + 1)], inside)
    if not free:
        return None
    for some in _kinds(lanes, low, high + 1):
        if found := frames.intersect(some, free):
            return _nearest(found, wanted)
    return _nearest(free, wanted)


def _kinds(lanes: Mapping | None, low: int, end: int):
    """Ranges of frames, the best first."""
    if not lanes:
        return
    speech = _within(lanes.get("speech"), low, end)
    silence = _within(lanes.get("silence"), low, end)
    yield [_inner(each) for each in frames.subtract(silence, speech)]
    if lanes.get("speech") is not None:
        yield [_inner(each) for each in frames.subtract([(low, end)], speech)]
    yield _within(lanes.get("black"), low, end)
    yield [(cut, cut + 1) for cut in lanes.get("cuts") or () if low <= cut < end]


def _within(ranges: Iterable | None, low: int, end: int) -> list[FrameRange]:
    found = (FrameRange(max(low, start), min(end, stop)) for start, stop in ranges or () if start < end and stop > low)
    return [each for each in found if each.length]


def _inner(each: FrameRange) -> FrameRange:
    margin = min(MARGIN, (each.length - 1) // 2)
    return FrameRange(each.in_frame + margin, each.out_frame - margin)


def _nearest(ranges: Iterable[FrameRange], wanted: int) -> int:
    points = [min(max(wanted, start), end - 1) for start, end in ranges]
    return min(points, key=lambda point: abs(point - wanted))
