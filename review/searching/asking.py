"""What somebody types into the search box, as words that must all be there."""

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


@dataclass(frozen=True)
class Word:
    """One that must be there: any word that begins with it, or one of its forms."""

    text: str
    forms: tuple[str, ...] = ()


@dataclass(frozen=True)
class Question:
    words: tuple[Word, ...] = ()
    left_out: tuple[str, ...] = ()  # little words, and those beyond MOST_WORDS

    def finds(self, word: str) -> bool:
        """Whether a word, folded, is one of those asked for."""
        return any(word.startswith(asked.text) or word in asked.forms for asked in self.words)

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
