"""Lanes: where in a clip there is speech, silence, a black picture, stillness, or a cut.

They guide the eye and the keys that skip, and are never evidence that anybody watched. `lanes.json` holds, in frames,

    {"version": 1, "frames": 1500,
     "speech": [[12, 340], ...], "silence": [...],             null for a clip without sound
     "black": [...], "still": [...], "cuts": [700, ...]}       null for a clip without pictures of its own

Ranges are half-open and in order; a cut is the first frame of the new picture. A lane holds MOST_RANGES at most: where
there are more, those that the smallest gaps separate are joined, and of the cuts the strongest are kept. So the lanes
of twelve hours take 250 kB at most.
"""

import json
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise, starmap
from math import ceil
from pathlib import Path

import numpy as np

from review import frames as ranges_of
from review.frames import FrameRange
from review.media import peaks
from review.media.lane_pictures import Eye, small_pictures
from review.media.lane_speech import MOMENTS, Ear
from review.timecode import Rate, Timebase

FILE = "lanes.json"
VERSION = 1
MOST_RANGES = 3000

# In seconds.
PAUSE = 0.5  # within speech
WORD = 0.2  # the shortest speech
SILENT = 1.0
BLACK, BLINK = 0.5, 0.2  # the shortest black, and what may interrupt it
STILL = 2.0

SILENCE = -50  # dBFS: no sample of any channel is louder


class Ears:
    """Listens to all channels of a clip while its peaks are made: `make_peaks(..., hear=ears.hear)`."""

    def __init__(self, channels: int):
        self._ears = [Ear() for _ in range(channels)]

    def hear(self, samples: np.ndarray) -> None:
        """The next samples, int16, as count x channels."""
        for ear, channel in zip(self._ears, samples.T, strict=True):
            ear.hear(channel)

    def speech(self) -> np.ndarray:
        """For each hundredth of a second, whether somebody talks on any channel."""
        return np.logical_or.reduce([ear.speech() for ear in self._ears])


def make_lanes(
    proxy: Path,
    timebase: Timebase,
    frames: int,
    folder: Path,
    *,
    ears: Ears | None,
    pictures: bool,
    progress: Callable[[], None] = lambda: None,
) -> dict:
    """Write `lanes.json` into `folder`, where `peaks.bin` is if the clip has sound, and return what it holds.

    `ears` are those that heard the proxy, None for a clip without sound; `pictures` whether the clip has pictures of
    its own. `progress` is called now and then. Raises MediaFailed when ffmpeg fails.
    """
    rate = timebase.rate
    speech = silence = black = still = cuts = None
    if ears:
        speech = speech_ranges(ears.speech(), rate, frames)
        silence = _silence(folder / peaks.FILE, rate, frames)
    if pictures:
        eye = Eye(rate)
        for some in small_pictures(proxy):
            eye.see(some)
            progress()
        eye.end()
        black, still, cuts = picture_ranges(eye, rate, frames)
    lanes = {
        "version": VERSION,
        "frames": frames,
        "speech": bounded(speech),
        "silence": bounded(silence),
        "black": bounded(black),
        "still": bounded(still),
        "cuts": cuts,
    }
    (folder / FILE).write_text(json.dumps(lanes, separators=(",", ":")))
    return lanes


def speech_ranges(moments: np.ndarray, rate: Rate, frames: int) -> list[FrameRange]:
    """Frames in which somebody talks, from what each hundredth of a second holds: words, joined over short pauses."""
    words = [word for word in runs(moments) if word.length >= WORD * MOMENTS]
    talks = joined(words, round(PAUSE * MOMENTS))
    times = rate.denominator * MOMENTS
    found = [(start * rate.numerator // times, -(-end * rate.numerator // times)) for start, end in talks]
    return ranges_of.intersect(found, [(0, frames)])


def picture_ranges(eye: Eye, rate: Rate, frames: int) -> tuple[list[FrameRange], list[FrameRange], list[int]]:
    """Black and still ranges and the cuts' frames, from what was seen of the clip's pictures."""
    black = joined(runs(eye.black[:frames]), _frames(BLINK, rate))
    black = bounded(_longer(black, _frames(BLACK, rate)))
    end = min(eye.seen, frames)
    edges = [0, *(frame for frame in eye.stirred if frame < end), end]
    least = _frames(STILL, rate)
    still = bounded(ranges_of.union(_longer(starmap(FrameRange, pairwise(edges)), least)))
    still = _longer(ranges_of.subtract(still, black), least)  # what is black need not be said to be still too
    strongest = sorted((cut for cut in eye.cuts if cut[0] < frames), key=lambda cut: -cut[1])[:MOST_RANGES]
    return black, still, sorted(frame for frame, _ in strongest)


def _silence(file: Path, rate: Rate, frames: int) -> list[FrameRange]:
    loudest = np.fromfile(file, dtype=np.uint8).reshape(frames, -1).max(axis=1)
    quiet = peaks.scale(peaks.FULL_SCALE * 10 ** (SILENCE / 20))
    return _longer(runs(loudest <= quiet), _frames(SILENT, rate))


def runs(flags: np.ndarray) -> list[FrameRange]:
    """The ranges in which the flags are true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(np.int8), [0]])))
    return [FrameRange(int(start), int(end)) for start, end in edges.reshape(-1, 2)]


def joined(ranges: Sequence[FrameRange], less: int) -> list[FrameRange]:
    """The ranges in order, those joined that fewer than `less` frames separate."""
    small = [gap for gap in _between(ranges) if gap.length < less]
    return ranges_of.union([*ranges, *small])


def bounded(ranges: Sequence[FrameRange] | None, most: int = MOST_RANGES) -> list[FrameRange] | None:
    """No more than `most` ranges: across the smallest gaps they are joined."""
    if ranges is None or len(ranges) <= most:
        return ranges
    smallest = sorted(_between(ranges), key=lambda gap: gap.length)[: len(ranges) - most]
    return ranges_of.union([*ranges, *smallest])


def _between(ranges: Sequence[FrameRange]) -> Iterable[FrameRange]:
    return (FrameRange(one.out_frame, other.in_frame) for one, other in pairwise(ranges))


def _longer(ranges: Iterable[FrameRange], least: int) -> list[FrameRange]:
    return [each for each in ranges if each.length >= least]


def _frames(seconds: float, rate: Rate) -> int:
    return ceil(seconds * rate.numerator / rate.denominator)
