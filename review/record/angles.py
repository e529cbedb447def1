"""Other angles: which other cameras and sound were rolling at a moment, by source timecode and the clock of each card
(`card_clocks`)."""

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from django.db.models import Case, ExpressionWrapper, F, FloatField, Q, QuerySet, When
from django.db.models.functions import Ceil

from review.clock import DAY, frame_at, time_of
from review.frames import FrameRange
from review.models import Clip, Production
from review.record.coverage import footage


@dataclass(frozen=True)
class Angle:
    """Another clip, and its frames [in_frame, out_frame) that show the same time."""

    clip: Clip
    in_frame: int
    out_frame: int


def time_on(clip: Clip, frame: int) -> Fraction:
    """When a frame of a clip was, on the production's clock: seconds since midnight of its card's shoot date."""
    return time_of(clip.timebase, clip.start_frame + frame) + clip.card.clock_offset


def frame_on(clip: Clip, time: Fraction) -> int:
    """The frame of a clip at that time; it may lie before the clip's first or after its last."""
    return frame_at(clip.timebase, time - clip.card.clock_offset) - clip.start_frame


def of(clip: Clip, in_frame: int, out_frame: int | None = None) -> list[Angle]:
    """The other clips that were rolling while frames [in_frame, out_frame) of `clip` were shot (one frame if no end is
    given), by camera. Clips whose timecode is unknown are left out, unless somebody set their card's clock."""
    if clip.card.shoot_date is None or not has_time(clip):
        return []
    out_frame = in_frame + 1 if out_frame is None else out_frame
    start, end = time_on(clip, in_frame), time_on(clip, out_frame)
    found = []
    for other in _rolling(clip.card.production, clip.card.shoot_date, start, end).exclude(id=clip.id):
        later = (other.card.shoot_date - clip.card.shoot_date).days * DAY
        first, last = frame_on(other, start - later), frame_on(other, end - later)
        shown = FrameRange(max(0, first), min(other.frames, max(last, first + 1)))
        if shown.length:
            found.append(Angle(other, *shown))
    return found


def shot_near(production: Production, day: date) -> list[Clip]:
    """The clips of a day and of those beside it whose time is known, by camera."""
    return list(_timed(production).filter(card__shoot_date__range=(day - timedelta(1), day + timedelta(1))))


def _timed(production: Production) -> QuerySet[Clip]:
    known = ~Q(timecode_source="") | Q(card__clock_set=True)
    clips = footage(production).filter(known).select_related("card")
    order = ("card__camera", "card__number", "start_frame", "id")
    return clips.defer("probe", "files", "file_frames", "sound_files", "sidecars").order_by(*order)


def _rolling(production: Production, day: date, start: Fraction, end: Fraction) -> QuerySet[Clip]:
    """The clips that may have rolled between `start` and `end` (seconds of that day). The database reckons in floats,
    so it is asked for a second more on either side; which frames they are is worked out exactly afterwards."""
    # Labels count whole frames a second, but for drop-frame's, which keep to the clock.
    rate = F("rate_numerator") * 1.0 / F("rate_denominator")
    a_second = Case(When(drop=True, then=rate), default=Ceil(rate), output_field=FloatField())
    clock = F("card__clock_numerator") * 1.0 / F("card__clock_denominator")
    clips = _timed(production).alias(
        began=ExpressionWrapper(F("start_frame") / a_second + clock, FloatField()),
        lasted=ExpressionWrapper(F("frames") / a_second, FloatField()),
    )
    near = Q()
    for later in (-1, 0, 1):
        first, last = float(start) - later * DAY - 1, float(end) - later * DAY + 1
        near |= Q(card__shoot_date=day + timedelta(later), began__lt=last, began__gt=first - F("lasted"))
    return clips.filter(near)


def has_time(clip: Clip) -> bool:
    """Whether it is known when the clip was shot: by its source timecode, or because somebody set its card's clock."""
    return clip.has_source_timecode or clip.card.clock_set
