"""The parts that a card's name can be made of: how each is written, misread, explained and read."""

import re
from calendar import month_name, monthrange
from datetime import date
from typing import Any

JOINT = r"[\s_.-]*"  # what people put between parts whatever the rule says

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")


class Part:
    """A part of a name.

    `key` is the field of CardName that it fills; `word` names it and `wanted` says how it is written, for people;
    `exact` and `loose` are patterns without groups, of capitals and digits.
    """

    def __init__(self, key: str, word: str, wanted: str, sample: str, exact: str, loose: str = ""):
        self.key, self.word, self.wanted, self.sample = key, word, wanted, sample
        self.exact, self.loose = exact, loose or exact

    def faults(self, text: str) -> list[str]:
        """Why `text` is not this part; empty if it is."""
        if not re.fullmatch(self.exact, text):
            return [f"the {self.word} is {self.wanted}, not {text!r}"]
        return self._impossible(text)

    def _impossible(self, text: str) -> list[str]:
        """What is wrong with a text that is written as it should be."""
        return []

    def read(self, text: str) -> Any:
        """The value of a text without faults."""
        return text

    def write(self, value: Any) -> str:
        return str(value)

    def mended(self, text: str) -> Any | None:
        """The value of a loosely written text; None if there is no telling."""
        return self.read(text)

    def guesses(self, text: str) -> list[Any]:
        """Values that somebody who wrote `text`, which no value is written as, may have meant."""
        return []


class ProductionPart(Part):
    def __init__(self):
        super().__init__(
            "production",
            "production",
            "two letters and two digits",
            "KB04",
            "[A-Z]{2}[0-9]{2}",
            f"[A-Z]{{2}}{JOINT}[0-9]{{1,2}}",
        )

    def mended(self, text: str) -> str:
        return f"{text[:2]}{int(_digits(text)):02}"


class CameraPart(Part):
    def __init__(self):
        super().__init__("camera", "camera letter", "a letter", "A", "[A-Z]")


class NumberPart(Part):
    """The camera's card number that day, from 1."""

    def __init__(self, digits: int):
        words = f"a {_NUMBERS[digits]}-digit card number"
        super().__init__(
            "number", "card number", words, f"{3:0{digits}}", f"[0-9]{{{digits}}}", f"[0-9]{{1,{digits + 1}}}"
        )
        self.digits = digits

    def _impossible(self, text: str) -> list[str]:
        first, last = self.write(1), "9" * self.digits
        return [] if int(text) else [f"card numbers run from {first} to {last}"]

    def read(self, text: str) -> int:
        return int(text)

    def write(self, value: int) -> str:
        return f"{value:0{self.digits}}"

    def mended(self, text: str) -> int | None:
        return int(text) if 1 <= int(text) < 10**self.digits else None


class UnitPart(Part):
    def __init__(self, length: int):
        signs = "a letter or digit" if length == 1 else f"{_NUMBERS[length]} letters or digits"
        super().__init__("unit", "unit", signs, "1" * length, f"[A-Z0-9]{{{length}}}")


class TextPart(Part):
    def __init__(self):
        super().__init__("text", "free text", "letters and digits", "X", "[A-Z0-9]{1,40}")


class DatePart(Part):
    """The shoot date, a day of 2000 to 2099; `order` is made of YY or YYYY, MM, DD and what stands between them."""

    def __init__(self, order: str):
        tokens = re.findall("YYYY|YY|MM|DD|[^YMD]+", order)
        named = [token for token in tokens if token[0] in "YMD"]
        if "".join(tokens) != order or sorted(token[:2] for token in named) != ["DD", "MM", "YY"]:
            raise ValueError(f"the date is written with YY or YYYY, MM and DD, such as YYMMDD, not {order!r}")
        count = sum(map(len, named))
        exact = "".join(f"[0-9]{{{len(token)}}}" if token[0] in "YMD" else re.escape(token) for token in tokens)
        loose = JOINT.join("(?:20)?[0-9]{2}" if token[0] == "Y" else "[0-9]{2}" for token in named)
        signs = f"{_NUMBERS[count]} digits, {order}" if len(named) == len(tokens) else order
        self.order, self.named = order, named
        super().__init__("shoot_date", "shoot date", signs, self.write(date(2026, 11, 12)), exact, loose)

    def _impossible(self, text: str) -> list[str]:
        year, month, day = self._numbers(text)
        if not 2000 <= year <= 2099:
            return [f"{year} is no year of a shoot (the shoot date is {self.order})"]
        if not 1 <= month <= 12:
            return [f"there is no month {month:02} (the shoot date is {self.order})"]
        if day < 1:
            return [f"there is no day 00 (the shoot date is {self.order})"]
        if day > monthrange(year, month)[1]:
            in_year = f" in {year}" if (month, day) == (2, 29) else ""
            return [f"there is no {day} {month_name[month]}{in_year}"]
        return []

    def _numbers(self, text: str) -> tuple[int, int, int]:
        """Year, month and day of digits in this order; a year may have two digits or four."""
        digits, found = _digits(text), {}
        year_digits = len(digits) - 4
        for token in self.named:
            length = year_digits if token[0] == "Y" else 2
            found[token[0]], digits = int(digits[:length]), digits[length:]
        return found["Y"] + (2000 if year_digits == 2 else 0), found["M"], found["D"]

    def read(self, text: str) -> date:
        return date(*self._numbers(text))

    def write(self, value: date) -> str:
        signs = {"YYYY": f"{value:%Y}", "YY": f"{value:%y}", "MM": f"{value:%m}", "DD": f"{value:%d}"}
        return re.sub("YYYY|YY|MM|DD", lambda match: signs[match[0]], self.order)

    def mended(self, text: str) -> date | None:
        return None if self._impossible(text) else self.read(text)

    def guesses(self, text: str) -> list[date]:
        digits = _digits(text)
        if len(digits) not in (6, 8):
            return []
        found = []
        year, month, day = self._numbers(digits)
        if 2000 <= year <= 2099 and 1 <= month <= 12 and 28 < day <= 31:  # a day that the month does not have
            found.append(date(year, month, monthrange(year, month)[1]))
            found.append(date(year + month // 12, month % 12 + 1, 1))
        for order in ("YYMMDD", "DDMMYY", "MMDDYY"):
            other = DatePart(order)
            if not other._impossible(digits):
                found.append(other.read(digits))
        return list(dict.fromkeys(each for each in found if each.year <= 2099))


def _digits(text: str) -> str:
    return re.sub("[^0-9]", "", text)
