"""The name of a card's folder, which is the card's identity: KB04-261112-A03.

    KB04     production: two letters and two digits
    261112   shoot date: YYMMDD, a day of 2000 to 2099
    A03      camera letter A to Z, and that camera's card number that day, 01 to 99

Anything else is a misfit, told part by part.
"""

import re
from calendar import month_name, monthrange
from dataclasses import dataclass
from datetime import date

PATTERN_IN_WORDS = "PRODUCTION-YYMMDD-CAMERA, such as KB04-261112-A03"

_PRODUCTION = re.compile(r"[A-Z]{2}[0-9]{2}")
_JOINT = r"[\s_.-]*"
_LOOSE_PRODUCTION = re.compile(rf"([A-Z]{{2}}){_JOINT}([0-9]{{1,2}})")
_LOOSE_NAME = re.compile(
    rf"([A-Z]{{2}}{_JOINT}[0-9]{{1,2}}){_JOINT}"
    rf"((?:20)?[0-9]{{2}}{_JOINT}[0-9]{{2}}{_JOINT}[0-9]{{2}}){_JOINT}"
    rf"([A-Z]{_JOINT}[0-9]{{1,3}})"
)
# What file managers put around the name of a second copy.
_COPY_MARK = re.compile(r"^copy of |(?:[\s_-]*(?:\([0-9]+\)|copy(?:[\s_-]*[0-9]+)?))+$", re.IGNORECASE)


@dataclass(frozen=True)
class CardName:
    production: str
    shoot_date: date
    camera: str
    number: int  # 1 to 99, counted per camera and day

    def __str__(self) -> str:
        return f"{self.production}-{self.shoot_date:%y%m%d}-{self.camera}{self.number:02}"


class NameMisfit(ValueError):
    """A name that does not fit. `reasons` says why, part by part; `nearest` is a name that does fit, or ''."""

    def __init__(self, text: str, wanted: str, reasons: list[str], nearest: str = ""):
        self.reasons = tuple(reasons)
        self.nearest = nearest
        hint = f"; did you mean {nearest}?" if nearest else ""
        super().__init__(f"{text!r} is not {wanted}: {'; '.join(reasons)}{hint}")


def parse_card_name(text: str) -> CardName:
    """Read a card folder's name exactly. Raises NameMisfit with the reasons and the nearest name that fits."""
    plain = _COPY_MARK.sub("", text).strip()
    loose = _LOOSE_NAME.fullmatch(plain.upper())
    parts = loose.groups() if loose else re.split(r"[\s_.-]+", plain.upper())

    reasons = _reasons_of_writing(text, plain)
    if len(parts) != 3:
        reasons.append("it needs three parts joined by hyphens: production, shoot date, camera and card number")
        raise NameMisfit(text, f"a card name ({PATTERN_IN_WORDS})", reasons)
    if "-".join(parts) != plain.upper():
        reasons.append("the three parts are joined by single hyphens")
    reasons += _reasons_of_production(parts[0]) + _reasons_of_date(parts[1]) + _reasons_of_camera(parts[2])
    nearest = _nearest(parts) if loose else None
    if reasons:
        raise NameMisfit(text, f"a card name ({PATTERN_IN_WORDS})", reasons, str(nearest or ""))
    return nearest


def production_code(text: str) -> str:
    """Check a production's code, such as KB04, and return it. Raises NameMisfit."""
    plain = text.strip()
    reasons = _reasons_of_writing(text, plain) + _reasons_of_production(plain.upper())
    if reasons:
        raise NameMisfit(text, "a production code (such as KB04)", reasons, _nearest_production(plain.upper()))
    return text


def _reasons_of_writing(text: str, plain: str) -> list[str]:
    reasons = []
    if text != text.strip():
        reasons.append("there are spaces around it")
    if plain != text.strip():
        reasons.append("it is named like a second copy")
    if any(letter.islower() for letter in plain):
        reasons.append("lower case: the name is all capitals")
    return reasons


def _reasons_of_production(part: str) -> list[str]:
    if _PRODUCTION.fullmatch(part):
        return []
    return [f"the production is two letters and two digits, not {part!r}"]


def _reasons_of_date(part: str) -> list[str]:
    if not re.fullmatch("[0-9]{6}", part):
        return [f"the shoot date is six digits, YYMMDD, not {part!r}"]
    year, month, day = 2000 + int(part[:2]), int(part[2:4]), int(part[4:])
    if not 1 <= month <= 12:
        return [f"there is no month {part[2:4]} (the shoot date is YYMMDD)"]
    if day < 1:
        return ["there is no day 00 (the shoot date is YYMMDD)"]
    if day > monthrange(year, month)[1]:
        in_year = f" in {year}" if (month, day) == (2, 29) else ""
        return [f"there is no {day} {month_name[month]}{in_year}"]
    return []


def _reasons_of_camera(part: str) -> list[str]:
    if re.fullmatch("[0-9]*", part):
        return ["the camera letter is missing"]
    if re.fullmatch("[A-Z]", part):
        return [f"the card number is missing after camera {part}"]
    if not re.fullmatch("[A-Z][0-9]{2}", part):
        return [f"the last part is a camera letter and a two-digit card number, not {part!r}"]
    if part[1:] == "00":
        return ["card numbers run from 01 to 99"]
    return []


def _nearest(parts: tuple[str, ...]) -> CardName | None:
    digits = re.sub("[^0-9]", "", parts[1])[-6:]
    number = int(re.sub("[^0-9]", "", parts[2]))
    if _reasons_of_date(digits) or not 1 <= number <= 99:
        return None
    shoot_date = date(2000 + int(digits[:2]), int(digits[2:4]), int(digits[4:]))
    return CardName(_nearest_production(parts[0]), shoot_date, parts[2][0], number)


def _nearest_production(part: str) -> str:
    match = _LOOSE_PRODUCTION.fullmatch(part)
    return f"{match[1]}{int(match[2]):02}" if match else ""
