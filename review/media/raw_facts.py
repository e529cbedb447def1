"""The meaning of what the probing child tells: its rate, its frames, its shape, its clock."""

import re
from datetime import datetime
from fractions import Fraction

from review.media.errors import MediaRefused
from review.timecode import STANDARD_RATES, Rate, Timebase, TimecodeError

LOWEST_RATE, HIGHEST_RATE = 1, 240

_ISO = re.compile(r"(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d:\d\d)")
_UNSET_CLOCKS = ("1904-", "1970-")  # the zero of a container's clock, not a date


def rate_of(found: dict) -> Rate:
    """The standard rate that the pictures keep; for a variable one the closest to its usual step."""
    average, step = Fraction(found["average_rate"]), Fraction(found["usual_step"])
    usual = 1 / step if step > 0 else average
    for value in (average, usual):
        if value > 0:
            try:
                return Rate.nearest(value)
            except TimecodeError:
                pass
    if not LOWEST_RATE <= usual <= HIGHEST_RATE:
        raise MediaRefused(f"has {float(usual):.2f} frames a second; {LOWEST_RATE} to {HIGHEST_RATE} are read")
    if found["variable_rate"]:
        return min(STANDARD_RATES, key=lambda rate: abs(rate.fraction - usual))
    exact = usual.limit_denominator(1001)
    return Rate(exact.numerator, exact.denominator)


def frames_of(found: dict, rate: Rate) -> int:
    if found["variable_rate"]:
        return max(1, round(Fraction(found["seconds"]) * rate.fraction))
    return found["pictures"]


def aspect_of(picture: dict) -> Fraction:
    aspect = Fraction(picture["width"], picture["height"]) * Fraction(picture["pixel_aspect"])
    return 1 / aspect if picture["rotation"] % 180 else aspect


def clock_of(tags: dict) -> str | None:
    """Cameras write their own clock, whatever zone the format asks for, so no zone is kept."""
    written = tags.get("com.apple.quicktime.creationdate") or tags.get("creation_time") or ""
    if "date" in tags and not _ISO.match(written):  # BWF keeps the date and the time apart
        written = f"{tags['date']}T{written}"
    match = _ISO.match(written)
    if not match or written.startswith(_UNSET_CLOCKS):
        return None
    try:
        return datetime.fromisoformat(f"{match[1]}T{match[2]}").isoformat()
    except ValueError:
        return None


def time_of_day(shot_at: str, timebase: Timebase) -> int | None:
    """The first frame whose label begins with the time of day of `shot_at`; None if it has none."""
    for ff in (0, 2, 4):  # drop-frame skips the labels before
        try:
            return timebase.frame(f"{shot_at[-8:]}:{ff:02}")
        except TimecodeError:
            continue
    return None
