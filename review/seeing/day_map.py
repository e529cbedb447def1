"""The day map: what rolled when, on which camera, and how it was seen.

Times are milliseconds of the production's clock, counted from midnight of the shoot day that a card's name says, as
labels tell it (review/clock.py); a clip may begin before that midnight, by its card's offset, or run past the next one.
Frames stay the address of everything else.
"""

import json
import math
import zlib
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from itertools import pairwise

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from review import frames
from review.clock import time_of
from review.models import Card, Clip, FieldNote, Production, Select, WatchedRange
from review.record import news
from review.record.coverage import footage, timebase
from review.remembered import Remembered
from review.timecode import Timebase

LEVELS = (0, 4, 60)  # seconds to which ranges and selects may be rounded; 0: every frame
STILL = 60_000  # ms without a camera rolling that are worth showing
LONGEST_TEXT = 160  # letters of a field note
MOST_NOTES = 5000
_FACTS = (
    *("id", "name", "card", "card__name", "card__camera", "rate_numerator", "rate_denominator", "drop"),
    *("start_frame", "frames", "watched_frames", "skimmed_frames", "kind"),
    *("card__clock_numerator", "card__clock_denominator"),
)
_ANSWERS = Remembered(most=8)
_HAS_TIME = ~Q(timecode_source="") | Q(card__clock_set=True)


@dataclass
class Rolled:
    """A clip in its day: from `start` to `end` (ms). `watched` and `skimmed` count frames and are exact; `seen` holds
    the ranges of either, `selects` the first frames, as far rounded as was asked."""

    id: int
    name: str
    card: int
    card_name: str
    camera: str
    sound: bool
    start: int
    end: int
    frames: int
    watched: int
    skimmed: int
    select_count: int = 0
    seen: dict[str, list[tuple[int, int]]] = field(default_factory=dict)
    selects: list[int] = field(default_factory=list)

    @property
    def unwatched(self) -> int:
        return self.frames - self.watched - self.skimmed

    @property
    def begins(self) -> str:
        """Its time of day as people say it; '−1 d' and '+1 d' for the days beside."""
        return time_of_day(self.start)


@dataclass(frozen=True)
class Day:
    """A shoot day. `still` are the stretches (ms) between its first and last frame when nothing rolled."""

    date: date
    clips: list[Rolled]
    notes: list[tuple[int, str, str]]  # ms, camera ('': any), text
    still: list[tuple[int, int]]


def days(production: Production) -> list[date]:
    """The shoot days of cards that count, in order."""
    return sorted(set(_cards(production).exclude(shoot_date=None).values_list("shoot_date", flat=True)))


def cameras(production: Production) -> list[str]:
    """The cameras of what counts, as the map's rows: '?' for cards whose name gives none."""
    return sorted({camera or "?" for camera in _cards(production).values_list("camera", flat=True)})


def _cards(production: Production) -> QuerySet[Card]:
    """The cards that count and have clips: a few hundred, of which each says it for a hundred clips."""
    return production.cards.filter(Exists(Clip.objects.filter(card=OuterRef("id"))), state__in=Card.TRUSTED).order_by()


def in_order(production: Production, day: date) -> list[Rolled]:
    """The clips of a day that have a time, in order of it; without what was seen of them in ranges."""
    timed = footage(production).filter(_HAS_TIME, card__shoot_date=day).order_by()
    return sorted((_rolled(row) for row in timed.values_list(*_FACTS)), key=lambda each: (each.start, each.id))


def with_notes(rolled: list[Rolled], notes: Iterable[FieldNote]) -> list[Rolled | FieldNote]:
    """What rolled on a day and what was written down on it, in order of time; a note after the clip that begins with
    it."""

    def when(each: Rolled | FieldNote) -> tuple[int, bool]:
        return (each.at // 1000, True) if isinstance(each, FieldNote) else (each.start, False)

    return sorted([*rolled, *notes], key=when)


def without_time(production: Production, day: date | None):
    """The clips of a day (of none: of cards whose name says no date) that cannot be on the map: nobody knows when
    they were shot."""
    clips = footage(production).filter(card__shoot_date=day).select_related("card").defer("probe", "files", "sidecars")
    return clips if day is None else clips.exclude(_HAS_TIME)


def of(production: Production, day: date, level: int = 0, within: tuple[int, int] | None = None) -> Day:
    """What rolled on a day, in order of time; only what lies `within` two times (ms), if given.

    `level` is one of LEVELS: the ends of ranges are rounded to that many seconds, so each lies at most half of them
    from where it is.
    """
    timed = footage(production).filter(_HAS_TIME, card__shoot_date=day).order_by()
    clips = in_order(production, day)
    still = still_times(clips)
    if within is not None:
        clips = [clip for clip in clips if clip.start < within[1] and clip.end > within[0]]
        timed = timed.filter(id__in=[clip.id for clip in clips]) if len(clips) < 500 else timed
    by_id = {clip.id: clip for clip in clips}
    steps = {clip.id: _step(clip, level) for clip in clips}
    _add_seen(timed, by_id, steps)
    _add_selects(timed, by_id, steps)
    return Day(day, clips, _notes(production, day), still)


def _rolled(row: tuple) -> Rolled:
    (clip_id, name, card, card_name, camera, numerator, denominator, drop, start, count, watched, skimmed, kind) = row[
        :13
    ]
    base = timebase(numerator, denominator, drop)
    begin, end = (_milliseconds(base, frame, *row[13:]) for frame in (start, start + count))
    sound = kind == Clip.Kind.SOUND
    return Rolled(clip_id, name, card, card_name, camera or "?", sound, begin, end, count, watched, skimmed)


def _milliseconds(base: Timebase, frame: int, over: int, under: int) -> int:
    """When the label of `frame`, counted from midnight, is on, by a clock that is over / under seconds ahead; halves go
    up. Labels that are never dropped follow the clock."""
    if base.drop:
        return math.floor((time_of(base, frame) + Fraction(over, under)) * 1000 + Fraction(1, 2))
    nominal = base.rate.nominal
    return (2000 * (frame * under + over * nominal) + nominal * under) // (2 * nominal * under)


def time_of_day(time: int) -> str:
    """10:04:31 for milliseconds of a day; with '+1 d' or '−1 d' on the days after and before."""
    days_on, within = divmod(time // 1000, 86_400)
    words = f"{within // 3600:02}:{within // 60 % 60:02}:{within % 60:02}"
    return words if not days_on else f"{words} {'+' if days_on > 0 else '−'}{abs(days_on)} d"


def _step(clip: Rolled, level: int) -> int:
    """How many frames of a clip the level's seconds are; 0: none."""
    return round(level * 1000 * clip.frames / (clip.end - clip.start)) if clip.end > clip.start else 0


def still_times(clips: list[Rolled]) -> list[tuple[int, int]]:
    """The stretches of time (ms), STILL or longer, between clips when none of them rolled."""
    rolling = frames.union((clip.start, clip.end) for clip in clips)
    return [(a.out_frame, b.in_frame) for a, b in pairwise(rolling) if b.in_frame - a.out_frame >= STILL]


def _add_seen(timed, clips: dict[int, Rolled], steps: dict[int, int]) -> None:
    """The ranges that were seen. Those of clips that were wholly watched, or not at all, need not be read."""
    for clip in clips.values():
        clip.seen = {"watched": [(0, clip.frames)] if clip.watched == clip.frames else [], "skimmed": []}
    partly = timed.filter(Q(watched_frames__gt=0) | Q(skimmed_frames__gt=0), watched_frames__lt=F("frames"))
    rows = WatchedRange.objects.filter(clip__in=partly.values("id")).order_by()
    ranges: dict[int, dict[str, list]] = defaultdict(lambda: {"watched": [], "skimmed": []})
    for clip_id, manner, start, end in rows.values_list("clip", "manner", "in_frame", "out_frame").iterator():
        ranges[clip_id][manner].append((start, end))
    for clip_id, manners in ranges.items():
        if clip := clips.get(clip_id):
            whole = [(0, clip.frames)]  # a recording that was copied again may be shorter than what was seen of it
            watched = frames.intersect(manners["watched"], whole)
            skimmed = frames.subtract(frames.intersect(manners["skimmed"], whole), watched)
            for manner, each in (("watched", watched), ("skimmed", skimmed)):
                clip.seen[manner] = rounded(each, steps[clip_id], clip.frames)


def rounded(ranges: list[tuple[int, int]], step: int, length: int) -> list[tuple[int, int]]:
    """Ranges of a clip of `length` frames with their ends rounded to multiples of `step` frames; a clip's end stays."""
    if step < 2:
        return [tuple(each) for each in ranges]

    def near(frame: int) -> int:
        return length if frame == length else min(length, (frame + step // 2) // step * step)

    return [tuple(each) for each in frames.union((near(start), near(end)) for start, end in ranges)]


def _add_selects(timed, clips: dict[int, Rolled], steps: dict[int, int]) -> None:
    rows = Select.objects.filter(clip__in=timed.values("id"), deleted=None).order_by("in_frame")
    for clip_id, in_frame in rows.values_list("clip", "in_frame").iterator():
        if clip := clips.get(clip_id):
            clip.select_count += 1
            at = in_frame - in_frame % max(1, steps[clip_id])
            if not clip.selects or clip.selects[-1] != at:
                clip.selects.append(at)


def _notes(production: Production, day: date) -> list[tuple[int, str, str]]:
    rows = FieldNote.objects.filter(production=production, day=day).order_by("at", "id")[:MOST_NOTES]
    return [(at // 1000, camera, text[:LONGEST_TEXT]) for at, camera, text in rows.values_list("at", "camera", "text")]


def compact(day: Day) -> dict:
    """A day as short lists, as the page draws it: cameras and cards by their place in the lists of their names."""
    cameras = sorted({clip.camera for clip in day.clips})
    cards = sorted({(clip.card, clip.card_name) for clip in day.clips})
    camera_at = {camera: at for at, camera in enumerate(cameras)}
    card_at = {card: at for at, (card, _) in enumerate(cards)}
    return {
        "day": day.date.isoformat(),
        "cameras": cameras,
        "cards": [name for _, name in cards],
        "clips": [
            [
                *(clip.id, clip.name, card_at[clip.card], camera_at[clip.camera], clip.start, clip.end),
                *(clip.frames, clip.watched, clip.skimmed, clip.select_count),
                *([end for each in clip.seen[manner] for end in each] for manner in ("watched", "skimmed")),
                clip.selects,
            ]
            for clip in day.clips
        ],
        "notes": day.notes,
        "still": day.still,
    }


def answer(production: Production, day: date, level: int, within: tuple[int, int] | None) -> bytes:
    """`compact` as JSON, worked out once for all who look at a day."""

    def work_out() -> bytes:
        return json.dumps(compact(of(production, day, level, within)), separators=(",", ":")).encode()

    key = (production.id, production.created, day, level, within)
    return _ANSWERS.get(key, news.version(production), work_out)


def version(production: Production) -> str:
    """Changes whenever a day's answer may have changed."""
    return f"{zlib.crc32(repr((production.id, news.happened(production), news.watching(production))).encode()):08x}"


def shown_day(production: Production, wanted: str) -> date | None:
    """The shoot day that was asked for, else the last there is; None if there is none."""
    found = days(production)
    return next((day for day in found if day.isoformat() == wanted), found[-1] if found else None)
