"""Reels as they are written by hand and cut short by programs."""

from collections import defaultdict
from collections.abc import Iterable
from difflib import get_close_matches
from functools import lru_cache

from anyascii import anyascii

SHORTEST, LONGEST = 3, 32  # characters; in fewer, one is too much of it


@lru_cache(maxsize=65536)
def plain(text: str) -> str:
    """Letters and digits only, in capitals: 'kb04_261112 a03' is 'KB04261112A03'."""
    return "".join(letter for letter in text.upper() if letter.isalnum())


def spellings(text: str) -> tuple[str, str]:
    """The plain writing, and that of what exports make of other scripts: 'Zoë' is 'ZOË', and 'ZOE' in an EDL."""
    return plain(text), plain(text if text.isascii() else anyascii(text))


class Near:
    """Known reels, in plain writing, that something else may have been meant for."""

    def __init__(self, known: Iterable[str]):
        self._known = sorted(each for each in known if SHORTEST <= len(each) <= LONGEST)
        self._without_one = defaultdict(list)
        for reel in self._known:
            for shorter in _shortened(reel):
                self._without_one[shorter].append(reel)
        self._looks_left = 200  # at what is only like it, which takes longer

    def of(self, reel: str) -> list[str]:
        """Those that one lost, added, changed or swapped character makes of it."""
        if not SHORTEST <= len(reel) <= LONGEST:
            return []
        alike = {known for shorter in _shortened(reel) for known in self._without_one.get(shorter, ())}
        return sorted(each for each in alike if _one_off(reel, each))

    def like(self, reel: str) -> list[str]:
        if not SHORTEST <= len(reel) <= LONGEST or self._looks_left <= 0:
            return []
        self._looks_left -= 1
        return get_close_matches(reel, self._known, n=2, cutoff=0.6)


def _shortened(reel: str) -> set[str]:
    """Itself, and all that losing one character makes of it: two that are one off have one of these in common."""
    return {reel} | {reel[:at] + reel[at + 1 :] for at in range(len(reel))}


def _one_off(one: str, other: str) -> bool:
    if abs(len(one) - len(other)) > 1 or one == other:
        return False
    start = next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
    a, b = one[start:], other[start:]
    return a[1:] == b[1:] or a[1:] == b or a == b[1:] or (a[:2] == b[1::-1] and a[2:] == b[2:])
