"""Field notes: what was written down on set, tied to whatever was rolling then. They are tied whenever that is asked
for, because cards come later than notes."""

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from fractions import Fraction
from functools import reduce
from operator import or_

from django.db.models import Q, QuerySet

from review import frames
from review.clock import DAY
from review.models import Clip, FieldNote, Production
from review.record import angles, stories

_EPOCH, _DAY = date(1970, 1, 1), DAY * 1_000_000  # microseconds


def find(production: Production, text: str = "") -> QuerySet[FieldNote]:
    """The production's notes, with every word of `text` in them."""
    found = production.field_notes.all()
    for word in text.replace("\0", "").split()[:20]:
        found = found.filter(Q(text__icontains=word) | Q(tag__icontains=word) | Q(timecode__startswith=word))
    return found


def on_clip(clip: Clip) -> list[tuple[int, FieldNote]]:
    """The notes that were written while a clip was rolling, with the frame, in order."""
    if clip.card.shoot_date is None:
        return []
    start, end = angles.time_on(clip, 0), angles.time_on(clip, clip.frames)
    if not angles.has_time(clip):
        return []
    found = []
    for days in sorted({int(start // DAY), int(end // DAY)}):
        day = date.fromordinal(clip.card.shoot_date.toordinal() + days)
        shift = days * DAY
        since, until = max(0, int((start - shift) * 1_000_000)), max(0, int((end - shift) * 1_000_000))
        notes = clip.card.production.field_notes.filter(day=day, at__gte=since, at__lt=until)
        for note in notes.filter(Q(camera="") | Q(camera=clip.card.camera)):
            frame = angles.frame_on(clip, Fraction(note.at, 1_000_000) + shift)
            found.append((min(max(frame, 0), clip.frames - 1), note))
    return sorted(found, key=lambda each: (each[0], each[1].id))


def between(production: Production, times: Iterable[tuple[int, int]]) -> QuerySet[FieldNote]:
    """The notes that were written within any of these times, [from, to) in microseconds since 1970 on the production's
    clock, in order; there is at least one of them."""
    within = []
    for start, end in times:
        for days in range(start // _DAY, end // _DAY + 1):
            since, until = max(0, start - days * _DAY), end - days * _DAY
            within.append(Q(production=production, day=_EPOCH + timedelta(days), at__gte=since, at__lt=until))
    return FieldNote.objects.filter(reduce(or_, within))


class Rolling:
    """What was rolling at many times of a production's days; each day's clips are looked up once."""

    def __init__(self, production: Production):
        self._production = production
        self._days: dict[date, list[tuple[Clip, int, int, Fraction, Fraction]]] = {}

    def at(self, day: date, time: Fraction, camera: str = "") -> list[tuple[Clip, int]]:
        """The clips that were rolling, with the frame; of one camera if given."""
        found = []
        second = math.floor(time)  # most clips are told apart by whole seconds, much faster than by fractions
        for clip, first, last, start, end in self._of(day):
            if first <= second <= last and start <= time < end and camera in ("", clip.card.camera):
                later = (clip.card.shoot_date - day).days * DAY
                found.append((clip, min(max(angles.frame_on(clip, time - later), 0), clip.frames - 1)))
        return found

    def of(self, note: FieldNote) -> list[tuple[Clip, int]]:
        """The clips that were rolling when a note was written, with the frame."""
        return self.at(note.day, Fraction(note.at, 1_000_000), note.camera)

    def _of(self, day: date) -> list[tuple[Clip, int, int, Fraction, Fraction]]:
        if day not in self._days:
            found = self._days[day] = []
            for clip in angles.shot_near(self._production, day):
                later = (clip.card.shoot_date - day).days * DAY
                start, end = (angles.time_on(clip, frame) + later for frame in (0, clip.frames))
                found.append((clip, math.floor(start), math.floor(end), start, end))
        return self._days[day]


def rolling(production: Production, notes: Sequence[FieldNote]) -> dict[int, list[tuple[Clip, int]]]:
    """By note, the clips that were rolling when it was written, with the frame: as `Rolling` tells, but of a day's
    clips only those are read that were."""
    near = stories.rolled(production, {note.day for note in notes}) if notes else {}
    found: dict[int, list[tuple[int, int]]] = {note.id: [] for note in notes}
    for note in notes:
        for days in (-1, 0, 1):
            at = note.at - days * DAY * 1_000_000
            for clip, camera, start, end in near.get(note.day + timedelta(days), ()):
                if start <= at < end and note.camera in ("", camera):
                    found[note.id].append((clip, at))
    clips = Clip.objects.filter(id__in={clip for each in found.values() for clip, _ in each}).select_related("card")
    known = clips.defer(*Clip.HEAVY).in_bulk()

    def shown(clip: Clip, at: int) -> tuple[Clip, int]:
        return clip, min(max(angles.frame_on(clip, Fraction(at, 1_000_000)), 0), clip.frames - 1)

    told = {note: [shown(known[clip], at) for clip, at in each] for note, each in found.items()}
    return {note: sorted(each, key=lambda one: (one[0].card.camera, one[0].id)) for note, each in told.items()}


def without_footage(production: Production, notes: Iterable[FieldNote]) -> list[FieldNote]:
    """Those of the notes that nothing was rolling for, as far as cards have come."""
    rolling = Rolling(production)
    return [note for note in notes if not rolling.of(note)]


def counted(production: Production, day: date) -> tuple[int, int]:
    """How many notes were written on a day, and for how many of them nothing was rolling, as far as cards have come: as
    `without_footage` tells, without looking each up."""
    written = list(FieldNote.objects.filter(production=production, day=day).values_list("at", "camera"))
    spans: dict[str, list[tuple[int, int]]] = {"": []}
    near = stories.rolled(production, [day]) if written else {}
    for other, clips in near.items():
        shift = (other - day).days * DAY * 1_000_000
        for _, camera, start, end in clips:
            for of in {"", camera}:
                spans.setdefault(of, []).append((start + shift, end + shift))
    rolling = {camera: frames.union(each) for camera, each in spans.items()}
    return len(written), sum(not _covers(rolling.get(camera, []), at) for at, camera in written)


def _covers(ranges: list[frames.FrameRange], at: int) -> bool:
    place = bisect_right(ranges, at, key=lambda each: each.in_frame)
    return place > 0 and at < ranges[place - 1].out_frame
