"""Words as searches compare them: without case, accents and signs, so that a database only ever sees plain tokens.

Rows and questions go through the same folding, which is why every database gives the same answers:

    "Ægir's net, KB04-261112-A03"  ->  aegir s net kb04 261112 a03
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from functools import lru_cache

LONGEST_WORD = 60  # letters; what is longer is cut, on both sides
MOST_WORDS = 2_000  # of one row

# Letters that no decomposition takes apart, as they are typed where keyboards lack them; common practice, no source.
_PLAIN = str.maketrans(
    {"æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "ł": "l", "þ": "th", "ħ": "h", "ı": "i", "ŧ": "t", "ŋ": "n"}
)
# Scripts without spaces: each sign is a word of its own.
_WORD = re.compile(
    r"[\u3040-\u30ff\u3400-\u9fff\U00020000-\U0003ffff]|[^\W_\u3040-\u30ff\u3400-\u9fff\U00020000-\U0003ffff]+"
)
_WRITTEN = re.compile(rf"(?:{_WORD.pattern})[\u0300-\u036f]*")  # with accents that no one letter has
_NUMBERED = re.compile(r"[^\W\d_]+\d+")


def words(text: str) -> list[str]:
    """The words of a text, folded, in order."""
    plain = "".join(letter for letter in unicodedata.normalize("NFKD", text) if not unicodedata.combining(letter))
    folded = unicodedata.normalize("NFC", plain.casefold().translate(_PLAIN))
    return [word[:LONGEST_WORD] for word in _WORD.findall(folded)]


def row(texts: Iterable[str]) -> str:
    """What is kept of texts to be found by: each word once, a space between two. What is named with letters and
    numbers is found by its parts as well: `a001c003` by `c003`."""
    kept: dict[str, None] = {}
    for text in texts:
        for word in words(text):
            for each in _found_by(word):
                kept.setdefault(each)
            if len(kept) >= MOST_WORDS:
                return " ".join(list(kept)[:MOST_WORDS])
    return " ".join(kept)


def _found_by(word: str) -> list[str]:
    return [word, *_NUMBERED.findall(word)[1:]]


@lru_cache(maxsize=20_000)
def _words_of(piece: str) -> tuple[str, ...]:
    return tuple(each for word in words(piece) for each in _found_by(word))


def pieces(text: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """A text as it is written, piece by piece, each with the words that `row` would keep of it: none of what stands
    between words."""
    text, at = unicodedata.normalize("NFC", text), 0
    for match in _WRITTEN.finditer(text):
        if at < match.start():
            yield text[at : match.start()], ()
        yield match[0], _words_of(match[0])
        at = match.end()
    if at < len(text):
        yield text[at:], ()
