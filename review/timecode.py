"""SMPTE timecode as labels for frames.

A frame is an integer counted from 0; a timecode is only a label for it. Everything
here is integer arithmetic: no float ever holds a time. The rules are those of
SMPTE ST 12-1: labels run from 00:00:00:00 to the last frame before midnight and wrap;
drop-frame counting exists at 30000/1001 and 60000/1001 only and skips the first two
(four) labels of every minute that is not a multiple of ten.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

_LABEL = re.compile(r"(\d{2})[:;.,](\d{2})[:;.,](\d{2})([:;.,])(\d{2})")
_RATE = re.compile(r"\d{1,6}(\.\d{1,6})?|\d{1,9}/0*[1-9]\d{0,8}")
_TWO_DIGITS = tuple(f"{number:02}" for number in range(60))  # formatting is most of the cost of a label


class TimecodeError(ValueError):
    """A label, rate or frame that SMPTE ST 12-1 does not know; the message says why."""


@dataclass(frozen=True)
class Rate:
    """Frames a second as an exact fraction, such as 25/1 or 30000/1001."""

    numerator: int
    denominator: int = 1

    def __post_init__(self):
        if self.numerator <= 0 or self.denominator <= 0:
            raise TimecodeError(f"{self.numerator}/{self.denominator} is not a frame rate")

    @classmethod
    def parse(cls, text: str) -> "Rate":
        """Read '25', '29.97', '23.976' or '30000/1001'; raise TimecodeError for a rate nobody shoots."""
        written = str(text).strip()
        if not _RATE.fullmatch(written):  # Fraction would work out 1e20000000, too
            raise TimecodeError(f"{written[:20]!r} is not a frame rate; write one of {_known_rates()}")
        return cls.nearest(Fraction(written))

    @classmethod
    def nearest(cls, value: Fraction) -> "Rate":
        """The standard rate within 0.1 % of `value` (the closest if two are); TimecodeError if none is."""
        closest = min(STANDARD_RATES, key=lambda rate: abs(rate.fraction - value))
        if abs(closest.fraction - value) * 1000 > closest.fraction:
            raise TimecodeError(f"{float(value):.3f} frames a second is not a standard rate ({_known_rates()})")
        return closest

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:  # looked up by rate a hundred thousand times on a page of sums
        return hash((self.numerator, self.denominator))

    @property
    def fraction(self) -> Fraction:
        return Fraction(self.numerator, self.denominator)

    @cached_property
    def nominal(self) -> int:
        """The whole number of labels in a second: 30 at 29.97."""
        return -(-self.numerator // self.denominator)

    @property
    def can_drop(self) -> bool:
        return self.denominator == 1001 and self.nominal in (30, 60)

    def seconds(self, frames: int) -> Fraction:
        """How long `frames` frames last by the clock."""
        return Fraction(frames * self.denominator, self.numerator)

    def __str__(self) -> str:
        if self.denominator == 1:
            return str(self.numerator)
        return f"{self.numerator / self.denominator:.3f}".rstrip("0")


STANDARD_RATES = tuple(
    Rate(*pair)
    for pair in ((24000, 1001), (24, 1), (25, 1), (30000, 1001), (30, 1), (48, 1), (50, 1), (60000, 1001), (60, 1))
)


def _known_rates() -> str:
    return ", ".join(str(rate) for rate in STANDARD_RATES)


@dataclass(frozen=True)
class Timebase:
    """A rate and the way its frames are labelled: drop-frame or not. The rate alone does not tell."""

    rate: Rate
    drop: bool = False

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        return hash((self.rate, self.drop))

    def __post_init__(self):
        if self.drop and not self.rate.can_drop:
            raise TimecodeError(f"there is no drop-frame timecode at {self.rate} frames a second")

    @cached_property
    def _dropped_a_minute(self) -> int:
        return self.rate.nominal // 15 if self.drop else 0

    @cached_property
    def frames_per_day(self) -> int:
        return 24 * 6 * self._frames_per_ten_minutes

    @cached_property
    def _frames_per_ten_minutes(self) -> int:
        return 600 * self.rate.nominal - 9 * self._dropped_a_minute

    def label(self, frame: int) -> str:
        """The timecode of frame `frame` (0 is midnight; later days wrap). Raises TimecodeError below 0."""
        if frame < 0:
            raise TimecodeError(f"frame {frame} is before midnight of the first day")
        nominal, dropped = self.rate.nominal, self._dropped_a_minute
        frame %= self.frames_per_day
        if dropped:
            blocks, within = divmod(frame, self._frames_per_ten_minutes)
            frame += 9 * dropped * blocks
            if within >= 60 * nominal:  # past the block's first minute, which skips nothing
                frame += dropped * (1 + (within - 60 * nominal) // (60 * nominal - dropped))
        seconds, ff = divmod(frame, nominal)
        hh, mm, ss = _TWO_DIGITS[seconds // 3600], _TWO_DIGITS[seconds // 60 % 60], _TWO_DIGITS[seconds % 60]
        return f"{hh}:{mm}:{ss}{';' if self.drop else ':'}{ff:02}"

    def frame(self, label: str) -> int:
        """The frame that carries `label`, counted from midnight.

        The last separator may be any of `: ; . ,`, but a ';' claims drop-frame and is refused where
        this timebase cannot drop. Raises TimecodeError for a label that does not exist.
        """
        match = _LABEL.fullmatch(label.strip())
        if not match:
            raise TimecodeError(f"{label!r} is not a timecode; write it as hh:mm:ss:ff")
        hh, mm, ss, ff = (int(match[group]) for group in (1, 2, 3, 5))
        nominal, dropped = self.rate.nominal, self._dropped_a_minute
        if match[4] == ";" and not self.rate.can_drop:
            raise TimecodeError(f"{label}: ';' means drop-frame, which {self.rate} frames a second cannot be")
        if hh > 23 or mm > 59 or ss > 59:
            raise TimecodeError(f"{label}: hours go to 23, minutes and seconds to 59")
        if ff >= nominal:
            raise TimecodeError(f"{label}: frames go to {nominal - 1} at {self.rate} frames a second")
        if ff < dropped and ss == 0 and mm % 10:
            raise TimecodeError(f"{label} does not exist: drop-frame skips it; the next is {label[:-2]}{dropped:02}")
        minutes = 60 * hh + mm
        return (60 * minutes + ss) * nominal + ff - dropped * (minutes - minutes // 10)
