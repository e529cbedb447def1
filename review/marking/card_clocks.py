"""The clocks of cards: cameras that did not agree have an offset on their card, set once by a person from a clap that
both saw."""

from fractions import Fraction

from django.db import transaction

from review import roles
from review.clock import DAY, time_of
from review.crew import access, activity
from review.derived import proxying
from review.media import sync
from review.models import Card, Clip, Person
from review.record import angles
from review.refusals import Refusal

SYNC_REACH = 60  # seconds that a clock may be wrong by, to be found by sound
MOST_OFFSET = 14 * 3600  # seconds: a camera left on another continent's time


def set_offset(person: Person, card: Card, offset: Fraction) -> None:
    """Seconds to add to a card's timecode, for all its clips."""
    access.require(person, card.production, roles.MARK)
    if abs(offset) > MOST_OFFSET:
        raise Refusal("The two frames are more than 14 hours apart: they are not of one clap.", "offset")
    card.clock_numerator, card.clock_denominator = offset.numerator, offset.denominator
    card.clock_set = True
    with transaction.atomic():
        card.save(update_fields=["clock_numerator", "clock_denominator", "clock_set"])
        activity.to_card(card, person, "set the clock of", f": {float(offset):+.2f} s")


def set_by_clap(person: Person, clip: Clip, frame: int, other: Clip, other_frame: int) -> Fraction:
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
    offset = angles.time_on(other, other_frame) + days * DAY - time_of(clip.timebase, clip.start_frame + frame)
    set_offset(person, clip.card, offset)
    return offset


def clear(person: Person, card: Card) -> None:
    """Believe the card's own timecode again."""
    access.require(person, card.production, roles.MARK)
    card.clock_numerator, card.clock_denominator, card.clock_set = 0, 1, False
    with transaction.atomic():
        card.save(update_fields=["clock_numerator", "clock_denominator", "clock_set"])
        activity.to_card(card, person, "cleared the clock of")


def suggest(person: Person, clip: Clip, other: Clip) -> tuple[Fraction, float] | None:
    """By the sound of two clips that rolled together: the offset in seconds for the clock of `clip`'s card, and how
    sure it is, from 0 to 1; None where their sound does not tell. It is only a suggestion: nothing is changed.

    Raises Refusal where there is nothing to compare, MediaFailed where a proxy cannot be read."""
    access.require(person, clip.card.production, roles.MARK)
    for each in (clip, other):
        if not each.channels or not (proxying.media_folder(each.id) / proxying.PROXY).is_file():
            raise Refusal(f"{each.name} has no sound to compare, or no proxy yet.", "other")
    days = (other.card.shoot_date - clip.card.shoot_date).days * DAY
    start = max(angles.time_on(clip, 0), angles.time_on(other, 0) + days)
    end = min(angles.time_on(clip, clip.frames), angles.time_on(other, other.frames) + days)
    seconds = min(float(end - start), sync.LONGEST)
    if seconds < 2 * sync.SHORTEST:
        raise Refusal("By their clocks these two did not roll together: choose the clap in both by hand.", "other")
    levels = []
    for each, later in ((other, days), (clip, 0)):
        into = float(start - later - angles.time_on(each, 0))
        levels.append(sync.loudness(proxying.media_folder(each.id) / proxying.PROXY, into, seconds))
    found = sync.match(*levels, reach=min(SYNC_REACH, seconds / 2))
    if found is None:
        return None
    return clip.card.clock_offset + Fraction(round(found.seconds * sync.STEPS), sync.STEPS), found.sureness
