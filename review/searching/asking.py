"""What somebody types into the search box, as words that must all be there and what else it says."""

import re
from dataclasses import dataclass

from review.searching import folding
from review.searching.forms import forms

MOST_WORDS = 12  # of one question

# They are in every sentence and say nothing of a picture. A question of nothing else asks for them after all.
LITTLE = {
    *("a", "an", "and", "are", "as", "at", "be", "but", "by", "for", "from", "he", "her", "his", "i", "in", "into"),
    *("is", "it", "its", "of", "on", "or", "our", "she", "that", "the", "their", "them", "then", "there", "they"),
    *("this", "to", "was", "we", "were", "where", "while", "with", "you"),
}
_ORDINALS = {
    **{"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6},
    **{"seventh": 7, "eighth": 8, "ninth": 9, "tenth": 10, "eleventh": 11, "twelfth": 12},
}
_DAY = re.compile(
    rf"\b(?:(?P<word>{'|'.join(_ORDINALS)})\s+day|day\s+(?P<after>\d{{1,3}})|(?P<before>\d{{1,3}})(?:st|nd|rd|th)\s+day)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Word:
    """One that must be there: any word that begins with it, or one of its forms."""

    text: str
    forms: tuple[str, ...] = ()


@dataclass(frozen=True)
class Question:
    words: tuple[Word, ...] = ()
    left_out: tuple[str, ...] = ()  # little words, and those beyond MOST_WORDS

    def without(self, word: Word) -> str:
        """The question as text, without one of its words."""
        return " ".join(each.text for each in self.words if each != word)


def read(text: str) -> Question:
    asked = list(dict.fromkeys(folding.words(text)))
    # The s that an apostrophe leaves behind says nothing either.
    kept = [word for word in asked if word not in LITTLE and not (word == "s" and len(asked) > 1)] or asked
    taken = kept[:MOST_WORDS]
    left_out = tuple(word for word in asked if word not in taken and word != "s")
    return Question(tuple(Word(word, tuple(sorted(forms(word)))) for word in taken), left_out)


def day_in(text: str) -> tuple[int, str, str] | None:
    """A shoot day that the text names by its number: which, the words that do ('second day'), and the text without."""
    match = _DAY.search(text)
    if match is None:
        return None
    number = _ORDINALS.get((match["word"] or "").lower()) or int(match["after"] or match["before"])
    return number, match[0], " ".join((text[: match.start()] + " " + text[match.end() :]).split()).strip(" ,")
