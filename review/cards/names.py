"""The name of a card's folder, which is the card's identity: KB04-261112-A03.

A production may have a rule of its own, written with parts in braces:

    {production}-{date}-{camera}{number}     the usual one
    {production}    two letters and two digits
    {date}          the shoot date, YYMMDD; {date:DDMMYYYY} for another order; a day of 2000 to 2099
    {camera}        a letter
    {number}        that camera's card number that day, two digits from 01; {number:3} for another count
    {unit}          a letter or digit; {unit:2} for two
    {text}          letters and digits, up to 40

Anything else is a misfit, told part by part.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from itertools import groupby

from review.cards.name_parts import (
    JOINT,
    CameraPart,
    DatePart,
    NumberPart,
    Part,
    ProductionPart,
    TextPart,
    UnitPart,
)

USUAL_RULE = "{production}-{date}-{camera}{number}"

_JOINING = re.compile(r"[\s_.-]+")
_LITERALS = re.compile(r"[A-Z0-9 _.+-]*")
_PLACES = ("first", "second", "third", "fourth", "fifth", "sixth")
_COUNTS = ("no", "one part", "two parts", "three parts", "four parts", "five parts", "six parts")
# What file managers put around the name of a second copy.
_COPY_MARK = re.compile(r"^copy of |(?:[\s_-]*(?:\([0-9]+\)|copy(?:[\s_-]*[0-9]+)?))+$", re.IGNORECASE)


@dataclass(frozen=True)
class CardName:
    """What a name says; a part that the rule does not have is empty or None."""

    production: str = ""
    shoot_date: date | None = None
    camera: str = ""
    number: int | None = None  # from 1, counted per camera and day
    unit: str = ""
    text: str = ""


class NameMisfit(ValueError):
    """A name that does not fit. `reasons` says why, part by part.

    `nearest` is the name that fits and says the same in other writing, or ''; `near` are names that fit and may have
    been meant.
    """

    def __init__(self, text: str, wanted: str, reasons: list[str], nearest: str = "", near: list[str] | None = None):
        self.reasons = tuple(reasons)
        self.nearest = nearest
        self.near = (nearest,) if nearest else tuple(near or ())
        hint = f" (did you mean {' or '.join(self.near)}?)" if self.near else ""
        super().__init__(f"{text!r} is not {wanted}: {'; '.join(reasons)}{hint}")


class RuleMisfit(ValueError):
    """A naming rule that cannot be used; the message says why."""


@lru_cache(maxsize=256)
def name_rule(text: str) -> "NameRule":
    """The naming rule that `text` describes; the usual one if it is empty. Raises RuleMisfit."""
    return NameRule(text.strip() or USUAL_RULE)


class NameRule:
    """How a production names its cards."""

    def __init__(self, text: str):
        self.text = text
        self.pieces = [_piece(piece) for piece in re.findall(r"\{[^{}]*\}|[^{}]+|[{}]", text)]
        self.parts = [piece for piece in self.pieces if isinstance(piece, Part)]
        keys = [part.key for part in self.parts]
        if twice := {key for key in keys if keys.count(key) > 1}:
            raise RuleMisfit(f"a part may be in the rule once: {', '.join(sorted(twice))}")
        if not {"number", "text"} & set(keys):
            raise RuleMisfit("without {number} or {text} two cards of a day would have one name")
        # Parts that are joined by nothing are told of together: "a camera letter and a two-digit card number".
        runs = groupby(self.pieces, lambda piece: isinstance(piece, Part))
        self.fields = [list(run) for is_part, run in runs if is_part]

    @property
    def example(self) -> str:
        return self.example_of("KB04")

    def example_of(self, production: str) -> str:
        """A name that fits, of the production with this code."""
        samples = {"production": production}
        return "".join(samples.get(p.key, p.sample) if isinstance(p, Part) else p for p in self.pieces)

    def write(self, name: CardName) -> str:
        """The folder's name. Raises ValueError if `name` lacks a part that the rule has."""
        signs = []
        for piece in self.pieces:
            if not isinstance(piece, Part):
                signs.append(piece)
                continue
            value = getattr(name, piece.key)
            if value in ("", None):
                raise ValueError(f"the {piece.word} is not known")
            signs.append(piece.write(value))
        return "".join(signs)

    def read(self, text: str) -> CardName:
        """Read a card folder's name exactly. Raises NameMisfit with the reasons and the names near it that fit."""
        exact = "".join(f"({p.exact})" if isinstance(p, Part) else re.escape(p) for p in self.pieces)
        match = re.fullmatch(exact, text)
        if match and not any(part.faults(found) for part, found in zip(self.parts, match.groups(), strict=True)):
            return self._named([part.read(found) for part, found in zip(self.parts, match.groups(), strict=True)])
        raise self._misfit(text)

    def _named(self, values: list) -> CardName:
        return CardName(**{part.key: value for part, value in zip(self.parts, values, strict=True)})

    def _misfit(self, text: str) -> NameMisfit:
        plain = _COPY_MARK.sub("", text).strip()
        capitals = plain.upper()
        reasons = _faults_of_writing(text, plain)
        loose = re.fullmatch(self._loose(), capitals, re.ASCII)
        found = loose.groups() if loose else None
        texts = self._field_texts(found) if found else _JOINING.split(capitals)
        wanted = f"a card name (such as {self.example})"
        if len(texts) != len(self.fields):
            words = ", ".join(" and ".join(part.word for part in field) for field in self.fields)
            reasons.append(f"it needs {_COUNTS[min(len(self.fields), 6)]} joined as in {self.example}: {words}")
            return NameMisfit(text, wanted, reasons)
        faults = []
        for place, (field, written) in enumerate(zip(self.fields, texts, strict=True)):
            faults += _faults_of_field(field, written, self._place(place))
        if self._joined(texts) != capitals:
            reasons.append(self._joining_words())
        reasons += faults
        nearest = self._nearest(found) if found else ""
        return NameMisfit(text, wanted, reasons, nearest, None if nearest else self._guesses(texts))

    def _loose(self) -> str:
        """A pattern for the parts however they are joined; beside a free text only where the rule joins them."""
        free = any(isinstance(part, TextPart) for part in self.parts)
        between, within = (f"{JOINT}[\\s_.-]", "") if free else (JOINT, JOINT)
        signs, before = [], None
        for piece in self.pieces:
            if isinstance(piece, Part):
                signs += [within if isinstance(before, Part) else "", f"({piece.loose})"]
            else:  # only what is no joint has to be there
                letters = JOINT.join(map(re.escape, _JOINING.split(piece)))
                signs.append(between + letters + JOINT if before else letters)
            before = piece
        return "".join(signs)

    def _field_texts(self, found: tuple[str, ...]) -> list[str]:
        texts, at = [], 0
        for field in self.fields:
            texts.append("".join(found[at : at + len(field)]))
            at += len(field)
        return texts

    def _joined(self, texts: Sequence[str]) -> str:
        """`texts`, one for each part or for each field, with what the rule puts between them."""
        by_part, left = len(texts) == len(self.parts), iter(texts)
        signs, before = [], None
        for piece in self.pieces:
            if not isinstance(piece, Part):
                signs.append(piece)
            elif by_part or not isinstance(before, Part):
                signs.append(next(left))
            before = piece
        return "".join(signs)

    def _joining_words(self) -> str:
        literals = {piece for piece in self.pieces if not isinstance(piece, Part)}
        if literals == {"-"}:
            return f"the {_COUNTS[min(len(self.fields), 6)]} are joined by single hyphens"
        return f"the parts are joined as in {self.example}"

    def _place(self, place: int) -> str:
        return "last" if place == len(self.fields) - 1 else _PLACES[min(place, 5)]

    def _nearest(self, found: tuple[str, ...]) -> str:
        values = [part.mended(text) for part, text in zip(self.parts, found, strict=True)]
        return "" if None in values else self.write(self._named(values))

    def _guesses(self, texts: list[str]) -> list[str]:
        """Names that differ from the one written in a single part that cannot be."""
        for place, (field, written) in enumerate(zip(self.fields, texts, strict=True)):
            others = [text for at, text in enumerate(texts) if at != place]
            rest = [each for at, each in enumerate(self.fields) if at != place]
            if len(field) > 1 or any(_faults_of_field(*pair, "") for pair in zip(rest, others, strict=True)):
                continue
            written_anew = [field[0].write(value) for value in field[0].guesses(written)]
            return [self._joined([*texts[:place], each, *texts[place + 1 :]]) for each in written_anew]
        return []


def parse_card_name(text: str, rule: str = "") -> CardName:
    """Read a card folder's name exactly, by the usual rule if none is given. Raises NameMisfit."""
    return name_rule(rule).read(text)


def production_code(text: str) -> str:
    """Check a production's code, such as KB04, and return it. Raises NameMisfit."""
    plain, part = text.strip(), ProductionPart()
    reasons = _faults_of_writing(text, plain) + part.faults(plain.upper())
    if reasons:
        nearest = part.mended(plain.upper()) if re.fullmatch(part.loose, plain.upper(), re.ASCII) else ""
        raise NameMisfit(text, "a production code (such as KB04)", reasons, nearest)
    return text


def _piece(text: str) -> Part | str:
    if text in ("{", "}"):
        raise RuleMisfit("every part is written in braces, such as {camera}")
    if text[0] != "{":
        if not _LITERALS.fullmatch(text):
            raise RuleMisfit(f"between its parts a name has capitals, digits, spaces and - _ . +, not {text!r}")
        return text
    key, _, about = text.strip("{}").partition(":")
    try:
        match key:
            case "production":
                return _plain(ProductionPart(), about)
            case "date":
                return DatePart(about or "YYMMDD")
            case "camera":
                return _plain(CameraPart(), about)
            case "number":
                return NumberPart(_count(about or "2", 4))
            case "unit":
                return UnitPart(_count(about or "1", 4))
            case "text":
                return _plain(TextPart(), about)
    except ValueError as problem:
        raise RuleMisfit(f"{text}: {problem}") from None
    raise RuleMisfit(f"{text} is no part of a name; these are: production, date, camera, number, unit, text")


def _plain(part: Part, about: str) -> Part:
    if about:
        raise ValueError(f"the {part.word} takes nothing after a colon")
    return part


def _count(about: str, most: int) -> int:
    if not (about.isascii() and about.isdigit() and 1 <= int(about) <= most):
        raise ValueError(f"write how many signs it has, 1 to {most}")
    return int(about)


def _faults_of_writing(text: str, plain: str) -> list[str]:
    reasons = []
    if text != text.strip():
        reasons.append("there are spaces around it")
    if plain != text.strip():
        reasons.append("it is named like a second copy")
    if any(letter.islower() for letter in plain):
        reasons.append("lower case: the name is all capitals")
    return reasons


def _faults_of_field(field: list[Part], text: str, place: str) -> list[str]:
    """Why `text` is not these parts one after another."""
    if len(field) == 1:
        return field[0].faults(text)
    match = re.fullmatch("".join(f"({part.exact})" for part in field), text, re.ASCII)
    if match:
        return [fault for part, found in zip(field, match.groups(), strict=True) for fault in part.faults(found)]
    for at, part in enumerate(field):
        others = [each for each in field if each is not part]
        if re.fullmatch("".join(each.exact for each in others), text, re.ASCII):
            after = f" after {_bare(field[at - 1])} {text}" if at and len(others) == 1 else ""
            return [f"the {part.word} is missing{after}"]
    return [f"the {place} part is {' and '.join(_with_article(part) for part in field)}, not {text!r}"]


def _bare(part: Part) -> str:
    return part.word.removesuffix(" letter")


def _with_article(part: Part) -> str:
    return "a camera letter" if isinstance(part, CameraPart) else part.wanted
