"""Other angles: which other cameras and sound were rolling at a moment, by source timecode.

Cameras whose clocks did not agree have an offset on their card, set once by a person from a clap that both saw.
"""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from django.db import transaction
from django.db.models import Case, ExpressionWrapper, F, FloatField, Q, QuerySet, When
from django.db.models.functions import Ceil

from review import access, activity, proxying, roles, selecting
from review.clock import DAY, frame_at, time_of
from review.coverage import footage
from review.frames import FrameRange
from review.media import sync
from review.models import Card, Clip, Person, Production, Select
from review.refusals import Refusal

SYNC_REACH = 60  # seconds that a clock may be wrong by, to be found by sound
MOST_OFFSET = 14 * 3600  # seconds: a camera left on another continent's time

_CARRIED = uuid.UUID("5a0b7d62-57b5-4f0a-8a4e-3f1d5a8c2be1")  # so that carrying twice is carrying once


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


def carry(person: Person, select: Select, to: Iterable[int] | None = None) -> list[Select]:
    """Carry a select to the other angles of its moment (or to those whose clip ids are given), linked to it. One that
    was carried there before is left as it is. Returns those that are there now."""
    access.require(person, select.clip.card.production, roles.MARK)
    if select.deleted:
        raise Refusal("This select is deleted; bring it back before it is carried to other angles.", "select")
    wanted = None if to is None else set(to)
    carried = []
    with transaction.atomic():
        for angle in of(select.clip, select.in_frame, select.out_frame):
            if wanted is None or angle.clip.id in wanted:
                carried.append(_carry_to(person, select, angle))
    return carried


def _carry_to(person: Person, select: Select, angle: Angle) -> Select:
    made_id = uuid.uuid5(_CARRIED, f"{select.id} {angle.clip.id}")
    if there := Select.objects.filter(id=made_id, deleted=None).first():
        return there
    before = Select.objects.filter(id=made_id).first()
    tags = tuple(tag.name for tag in select.tags.all())
    mark = selecting.Mark(angle.in_frame, angle.out_frame, tags, select.note, select.rating)
    version = before.version if before else 0
    made = selecting.put(person, made_id, angle.clip, mark, version, marked="carried to another angle")
    Select.objects.filter(id=made.id).update(carried_from=select)
    made.carried_from = select
    return made


# Clocks that did not agree ----------------------------------------------------------------------


def set_clock(person: Person, card: Card, offset: Fraction) -> None:
    """Seconds to add to a card's timecode, for all its clips."""
    access.require(person, card.production, roles.MARK)
    if abs(offset) > MOST_OFFSET:
        raise Refusal("The two frames are more than 14 hours apart: they are not of one clap.", "offset")
    card.clock_numerator, card.clock_denominator = offset.numerator, offset.denominator
    card.clock_set = True
    with transaction.atomic():
        card.save(update_fields=["clock_numerator", "clock_denominator", "clock_set"])
        activity.to_card(card, person, "set the clock of", f": {float(offset):+.2f} s")


def set_clock_by_clap(person: Person, clip: Clip, frame: int, other: Clip, other_frame: int) -> Fraction:
    """Set the clock of `clip`'s card so that its frame `frame` is the moment of `other_frame` on `other`, which stays.

    Returns the offset in seconds."""
    access.require(person, clip.card.production, roles.MARK)
    if clip.card_id == other.card_id:
        raise Refusal("Choose the clap on two cards: one card has one clock.", "other")
    if clip.card.production_id != other.card.production_id:
        raise Refusal("Both cards must be of one production.", "other")
    for each, number in ((clip, frame), (other, other_frame)):
        if not 0 <= number < each.frames:
            raise Refusal(f"{each.name} has no frame {number}.", "frame")
    days = 0
    if clip.card.shoot_date and other.card.shoot_date:
        days = (other.card.shoot_date - clip.card.shoot_date).days
    offset = time_on(other, other_frame) + days * DAY - time_of(clip.timebase, clip.start_frame + frame)
    set_clock(person, clip.card, offset)
    return offset


def clear_clock(person: Person, card: Card) -> None:
    """Believe the card's own timecode again."""
    access.require(person, card.production, roles.MARK)
    card.clock_numerator, card.clock_denominator, card.clock_set = 0, 1, False
    with transaction.atomic():
        card.save(update_fields=["clock_numerator", "clock_denominator", "clock_set"])
        activity.to_card(card, person, "cleared the clock of")


def suggest_clock(person: Person, clip: Clip, other: Clip) -> tuple[Fraction, float] | None:
    """By the sound of two clips that rolled together: the offset in seconds for the clock of `clip`'s card, and how
    sure it is, from 0 to 1; None where their sound does not tell. It is only a suggestion: nothing is changed.

    Raises Refusal where there is nothing to compare, MediaFailed where a proxy cannot be read."""
    access.require(person, clip.card.production, roles.MARK)
    for each in (clip, other):
        if not each.channels or not (proxying.media_folder(each.id) / proxying.PROXY).is_file():
            raise Refusal(f"{each.name} has no sound to compare, or no proxy yet.", "other")
    days = (other.card.shoot_date - clip.card.shoot_date).days * DAY
    start = max(time_on(clip, 0), time_on(other, 0) + days)
    end = min(time_on(clip, clip.frames), time_on(other, other.frames) + days)
    seconds = min(float(end - start), sync.LONGEST)
    if seconds < 2 * sync.SHORTEST:
        raise Refusal("By their clocks these two did not roll together: choose the clap in both by hand.", "other")
    levels = []
    for each, later in ((other, days), (clip, 0)):
        into = float(start - later - time_on(each, 0))
        levels.append(sync.loudness(proxying.media_folder(each.id) / proxying.PROXY, into, seconds))
    found = sync.match(*levels, reach=min(SYNC_REACH, seconds / 2))
    if found is None:
        return None
    return clip.card.clock_offset + Fraction(round(found.seconds * sync.STEPS), sync.STEPS), found.sureness
