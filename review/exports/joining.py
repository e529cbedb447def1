"""Selects of one list beside each other: their handles, what they show twice, and several made one."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil
from typing import NamedTuple

from review.exports.pull import Event
from review.timecode import Rate


class Handled(NamedTuple):
    """A range with its handles: [in_frame, out_frame), and how many frames of handle are in it, and are not, on each
    side, as the clip begins or ends there."""

    in_frame: int
    out_frame: int
    handles: tuple[int, int]
    clipped: tuple[int, int]


def with_handles(in_frame: int, out_frame: int, frames: int, milliseconds: int, rate: Rate) -> Handled:
    """[in_frame, out_frame) of a clip of `frames`, longer on both sides by the whole number of frames that last
    `milliseconds` or a little more, as far as the clip goes."""
    wanted = ceil(Fraction(milliseconds, 1000) * rate.fraction)
    before, after = min(wanted, in_frame), min(wanted, max(0, frames - out_frame))
    return Handled(in_frame - before, out_frame + after, (before, after), (wanted - before, wanted - after))


class Shared(NamedTuple):
    """That a range shows what another shows: all the same frames, or some of them."""

    other: int  # its place
    same: bool


def shared(ranges: Sequence[tuple[Hashable, int, int]]) -> dict[int, Shared]:
    """For each (clip, in_frame, out_frame) that shares frames with another of them: one that it shares them with, by
    their places in `ranges`. In the time that sorting takes, however many overlap."""
    found: dict[int, Shared] = {}
    first: dict[tuple, int] = {}
    for place, each in enumerate(ranges):
        twin = first.setdefault(each, place)
        if twin != place:
            found[place] = Shared(twin, True)
            found.setdefault(twin, Shared(place, True))
    by_clip: dict[Hashable, list[int]] = {}
    for place in first.values():
        by_clip.setdefault(ranges[place][0], []).append(place)
    for places in by_clip.values():
        places.sort(key=lambda place: ranges[place][1:])
        longest = places[0]  # of those so far, the one that ends last: who shares with any of them shares with it
        for place in places[1:]:
            if ranges[place][1] < ranges[longest][2]:
                found.setdefault(place, Shared(longest, False))
                found.setdefault(longest, Shared(place, False))
            if ranges[place][2] > ranges[longest][2]:
                longest = place
    return found


def merged(events: Iterable[Event]) -> list[Event]:
    """`events` with those of one clip and one section that touch or overlap made one, at the place of the first.

    The tags are those of all, the notes follow each other, the rating is the best.
    """
    events = list(events)
    groups: dict[tuple, list[int]] = {}
    for place, event in enumerate(events):
        groups.setdefault((event.card, event.clip, event.section), []).append(place)
    made: dict[int, Event] = {}
    for places in groups.values():
        runs: list[list[int]] = []
        end = -1
        for place in sorted(places, key=lambda place: (events[place].in_frame, events[place].out_frame)):
            if events[place].in_frame <= end:
                runs[-1].append(place)
            else:
                runs.append([place])
            end = max(end, events[place].out_frame)
        for run in runs:
            made[min(run)] = _one([events[place] for place in sorted(run)])
    return [made[place] for place in sorted(made)]


def _one(events: list[Event]) -> Event:
    first, *others = events
    if not others:
        return first
    start = min(events, key=lambda event: event.in_frame)
    end = max(events, key=lambda event: event.out_frame)
    last = max(events, key=lambda event: event.held[1] if event.held else event.clip_frames)
    in_time = sorted(events, key=lambda event: event.in_frame)
    files = list(dict.fromkeys(path for event in in_time for path in (event.file, *event.more_files)))
    held = None
    if start.held and last.held:
        held = (start.held[0], last.held[1])
    return replace(
        first,
        in_frame=start.in_frame,
        out_frame=end.out_frame,
        file=files[0],
        more_files=tuple(files[1:]),
        held=held,
        handles=(start.handles[0], end.handles[1]),
        clipped=(start.clipped[0], end.clipped[1]),
        tags=tuple(dict.fromkeys(tag for event in events for tag in event.tags)),
        note="\n".join(dict.fromkeys(event.note for event in events if event.note)),
        rating=max(event.rating for event in events),
        logger=", ".join(dict.fromkeys(event.logger for event in events)),
        also=tuple(name for event in others for name in (event.select_id, *event.also)),
    )
