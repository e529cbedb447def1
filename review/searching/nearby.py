"""When nothing is found: which word found nothing and what is written nearly so, or which one to leave out."""

import difflib
from dataclasses import dataclass, replace

from review import finding
from review.models import FindableWord, Production
from review.searching import asking, pages
from review.searching.asking import Question, Word
from review.searching.wanted import Wanted

MOST_COMPARED = 4_000  # words of the production
_ALIKE = 0.7
_ONLY_WORDS = ("production", "text", "sort")


@dataclass(frozen=True)
class Way:
    """Another question, and how much it finds: `number`, or more than that if not `counted_all`."""

    wanted: Wanted
    word: str  # that it has instead, or that it leaves out; "" for the one without the filters
    number: int
    counted_all: bool


@dataclass(frozen=True)
class Nothing:
    """`unknown` maps each word that no select of the production has to questions with nearly the same word."""

    unknown: dict[str, list[Way]]
    known: Way | None  # without the unknown ones
    without: list[Way]  # of one word each, where all are known
    alone: list[Way]  # each known word by itself, where nothing else helps
    unfiltered: Way | None


def look(production: Production, wanted: Wanted) -> Nothing:
    question = asking.read(wanted.text)
    missing = [word for word in question.words if not _any(production, word)]
    there = [word for word in question.words if word not in missing]
    unknown = {word.text: _nearly(production, wanted, question, word) for word in missing}
    known, without, alone, unfiltered = [], [], [], []
    if missing and there:
        known = _finding([_way(production, wanted, " ".join(word.text for word in there), "")])
    elif len(there) > 1:
        without = _finding([_way(production, wanted, question.without(word), word.text) for word in there])
    if len(there) > 1 and not known and not without:
        alone = _finding([_way(production, wanted, word.text, word.text) for word in there])
    words_alone = Wanted(**{name: getattr(wanted, name) for name in _ONLY_WORDS})
    if words_alone != wanted and not missing:
        unfiltered = _finding([_way(production, words_alone, wanted.text, "")])
    return Nothing(unknown, next(iter(known), None), without, alone, next(iter(unfiltered), None))


def _finding(ways: list[Way]) -> list[Way]:
    return [way for way in ways if way.number]


def _any(production: Production, word: Word) -> bool:
    return pages.count(finding.find([production], Wanted(text=word.text), Question((word,))), 1)[0] > 0


def _way(production: Production, wanted: Wanted, text: str, word: str) -> Way:
    other = replace(wanted, text=text)
    return Way(other, word, *pages.count(finding.find([production], other)))


def _nearly(production: Production, wanted: Wanted, question: Question, word: Word) -> list[Way]:
    """The same with a word of the production that is nearly this one; those that find something, the nearest first."""
    known = FindableWord.objects.filter(production=production, word__startswith=word.text[:1])
    # The words that begin alike are the likelier, and whoever misspells the first letter is helped by the rest.
    words = list(known.order_by("word").values_list("word", flat=True)[:MOST_COMPARED])
    near = difflib.get_close_matches(word.text, words, n=3, cutoff=_ALIKE)
    if not near:
        more = FindableWord.objects.filter(production=production).order_by("word")
        near = difflib.get_close_matches(
            word.text, more.values_list("word", flat=True)[:MOST_COMPARED], n=3, cutoff=_ALIKE
        )
    ways = []
    for other in near:
        text = " ".join(other if each == word else each.text for each in question.words)
        ways.append(_way(production, wanted, text, other))
    # What finds nothing with the other words may still be the word that was meant.
    return ways if len(question.words) > 1 else _finding(ways)
