"""The reel that stands for a card in an edit decision list: at most eight characters of A-Z and 0-9.

    KB04-261112-A03  ->  61112A03    last digit of the year, month and day, camera letter, card number

A regular reel starts with a digit. When it is taken (the same day ten years on), or the card's name does not
fit, the reel is up to five letters and digits of the name, led by a letter, and a count: KB042001. So the two
kinds never meet.
"""

import re
from collections.abc import Collection
from itertools import count

from anyascii import anyascii

from review.cards.names import NameMisfit, parse_card_name

LENGTH = 8
RESERVED = frozenset({"AX", "BL", "BLACK", "BARS"})  # they mean a source without a tape in CMX3600 lists


def reel_for(name: str, taken: Collection[str], rule: str = "") -> str:
    """The reel of the card called `name` by the production's naming `rule` (the usual one if empty): legal in
    CMX3600, not reserved, and not among `taken`."""
    taken = {reel.upper() for reel in taken} | RESERVED
    regular = _regular_reel(name, rule)
    if regular and regular not in taken:
        return regular
    stem = re.sub("[^A-Z0-9]", "", anyascii(name).upper()) or "CARD"
    if stem[0].isdigit():
        stem = f"X{stem}"
    for number in count(1):
        digits = f"{number:03}"
        reel = stem[: LENGTH - len(digits)] + digits
        if reel not in taken:
            return reel


def _regular_reel(name: str, rule: str) -> str:
    try:
        card = parse_card_name(name, rule)
    except NameMisfit:
        return ""
    if not (card.shoot_date and card.camera and card.number and card.number < 100):
        return ""
    return f"{card.shoot_date:%y%m%d}"[1:] + f"{card.camera}{card.number:02}"
