"""When nothing is found: which word found nothing and what is written nearly so, or which one to leave out."""

import difflib
from dataclasses import dataclass, replace
from itertools import combinations, islice

from review.desk import finding
from review.models import FindableWord, Production
from review.searching import asking, pages, words_index
from review.searching.asking import Question, Word
from review.searching.wanted import Wanted
from review.searching.words_index import Asked

MOST_COMPARED = 4_000  # words of the production
MOST_TRIED = 24  # ways of leaving out some words, the fewest first
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
    elsewhere: list[Way]  # without the filters, where they let no word through: as many of them as can be


def look(production: Production, wanted: Wanted) -> Nothing:
    question = asking.read(wanted.text)
    missing = [word for word in question.words if not _any(production, word)]
    there = [word for word in question.words if word not in missing]
    unknown = {word.text: _nearly(production, wanted, question, word) for word in missing}
    known, without, alone, unfiltered, elsewhere = [], [], [], [], []
    if missing and there:
        known = _finding([_way(production, wanted, " ".join(word.text for word in there), "")])
    elif len(there) > 1:
        without = _finding([_way(production, wanted, question.without(word), word.text) for word in there])
    if len(there) > 1 and not known and not without:
        alone = _finding([_way(production, wanted, word.text, word.text) for word in there])
    words_alone = Wanted(**{name: getattr(wanted, name) for name in _ONLY_WORDS})
    if words_alone != wanted and not missing:
        unfiltered = _finding([_way(production, words_alone, wanted.text, "")])
    if words_alone != wanted and there and not (known or without or alone or unfiltered):
        elsewhere = _most(production, words_alone, there)
    return Nothing(unknown, next(iter(known), None), without, alone, next(iter(unfiltered), None), elsewhere)


def _most(production: Production, wanted: Wanted, words: list[Word]) -> list[Way]:
    """As many of the words together as find something: a moment is often remembered with a word too many."""
    texts, left = [word.text for word in words], MOST_TRIED
    for many in range(len(texts), 1, -1):
        some = list(islice(combinations(texts, many), left))
        if ways := _finding([_way(production, wanted, " ".join(each), "") for each in some]):
            return ways
        left -= len(some)
    return _finding([_way(production, wanted, text, "") for text in texts])


def _finding(ways: list[Way]) -> list[Way]:
    return [way for way in ways if way.number]


def _any(production: Production, word: Word) -> bool:
    return words_index.any_with(Asked(Question((word,))), [production.id])


def _way(production: Production, wanted: Wanted, text: str, word: str) -> Way:
    other = replace(wanted, text=text)
    found = finding.find([production], other)
    return Way(other, word, *pages.count(found.rows, some=found.some))


def _nearly(production: Production, wanted: Wanted, question: Question, word: Word) -> list[Way]:
    """The same with a word of the production that is nearly this one; those that find something, the nearest first."""
    of_production = FindableWord.objects.filter(production=production).exclude(word__in=asking.LITTLE)
    known = of_production.filter(word__startswith=word.text[:1])
    # The words that begin alike are the likelier, and whoever misspells the first letter is helped by the rest.
    words = list(known.order_by("word").values_list("word", flat=True)[:MOST_COMPARED])
    near = difflib.get_close_matches(word.text, words, n=3, cutoff=_ALIKE)
    if not near:
        more = of_production.order_by("word")
        near = difflib.get_close_matches(
            word.text, more.values_list("word", flat=True)[:MOST_COMPARED], n=3, cutoff=_ALIKE
        )
    ways = []
    for other in near:
        text = " ".join(other if each == word else each.text for each in question.words)
        ways.append(_way(production, wanted, text, other))
    # What finds nothing with the other words may still be the word that was meant.
    return ways if len(question.words) > 1 else _finding(ways)
