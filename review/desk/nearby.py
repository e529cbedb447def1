"""When nothing is found: which word found nothing and what is written nearly so, which words there are together, and
the selects that come nearest."""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from django.db.models import Q

from review.desk import finding, most_words
from review.desk.finding import Found
from review.desk.most_words import Together
from review.models import Findable, FindableWord, Production, Tag
from review.searching import asking, pages, words_index
from review.searching.asking import Question, Word
from review.searching.wanted import Wanted
from review.searching.words_index import Asked

MOST_COMPARED = 4_000  # words of the production
MOST_OFFERED = 8  # ways of leaving out some words
MOST_SHOWN = 50  # selects that come nearest
MOST_TAGS = 5  # offered for one that there is not
_ALIKE = 0.7
_ONLY_WORDS = ("production", "text", "sort")


@dataclass(frozen=True)
class Way:
    """Another question, and how much it finds: `number`, or more than that if not `counted_all`."""

    wanted: Wanted
    word: str  # or tag, that it has instead; "" where it only leaves some out
    number: int
    counted_all: bool
    found: Found | None = None


@dataclass(frozen=True)
class Nearest:
    """A select that has some of what is wanted: `has` are the words, or the tag instead of the one that there is
    not."""

    row: Findable
    has: tuple[str, ...]


@dataclass(frozen=True)
class Nothing:
    """`unknown` maps each word that no select of the production has to questions with nearly the same word, and
    `tags` each tag that there is not to questions with one that begins so."""

    unknown: dict[str, list[Way]]
    tags: dict[str, list[Way]]
    others: dict[str, list[Production]]  # unknown word -> the other productions in which it is known
    fewer: list[Way]  # as many of the known words as there are together
    unfiltered: Way | None
    elsewhere: list[Way]  # without the filters, where they let no word through: as many of them as can be
    nearest: list[Nearest]


def look(production: Production, wanted: Wanted, others: Sequence[Production] = ()) -> Nothing:
    """`others` are the productions that may be named beside this one."""
    question = asking.read(wanted.text)
    together = most_words.find(production, wanted, question.words)
    found = {word for each in together for word in each.words}
    missing = [word for word in question.words if word not in found and not _any(production, word)]
    there = [word for word in question.words if word not in missing]
    words_alone = Wanted(**{name: getattr(wanted, name) for name in _ONLY_WORDS})
    filtered = bool(there and words_alone != wanted)
    unfiltered = _finding([_asked(production, words_alone, "")]) if filtered and not missing else []
    elsewhere = most_words.find(production, words_alone, there) if filtered and not (together or unfiltered) else []
    unknown = {word.text: _nearly(production, wanted, question, word) for word in missing}
    tags = {name: ways for name in wanted.tag if (ways := _tags_like(production, wanted, name))}
    instead = _finding([way for ways in (*tags.values(), *unknown.values()) for way in ways])
    if not instead and not together:
        instead = unfiltered
    # What finds nothing with the other words may still be the word that was meant: where there is nothing better.
    meant = 0 if together or elsewhere or instead or len(question.words) < 2 else 1
    return Nothing(
        unknown={word: _finding(ways) or ways[:meant] for word, ways in unknown.items()},
        tags=tags,
        others={word.text: known_there for word in missing if (known_there := _that_know(others, word))},
        fewer=_fewer(wanted, together),
        unfiltered=next(iter(unfiltered), None),
        elsewhere=_fewer(words_alone, elsewhere),
        nearest=_nearest(instead, together or elsewhere, wanted.sort),
    )


def _fewer(wanted: Wanted, together: list[Together]) -> list[Way]:
    """A question for each of the words that go together, but for those that go together with more."""
    offered: list[Together] = []
    for each in together:
        if not any(set(each.words) <= set(more.words) for more in offered):
            offered.append(each)
    return [
        Way(replace(wanted, text=_text(each.words)), "", min(len(each.ids), pages.MOST_COUNTED), not each.more)
        for each in offered[:MOST_OFFERED]
    ]


def _nearest(instead: list[Way], together: list[Together], sort: str) -> list[Nearest]:
    """The selects that come nearest, those with the same words in the order of `sort`."""
    leads: dict[int, tuple[int, tuple[str, ...]]] = {}  # id -> the place of what leads to it, and what it has
    for place, way in enumerate(instead):
        for each in pages.ordered(way.found.rows, sort).values_list("id", flat=True)[:MOST_SHOWN]:
            leads.setdefault(each, (place, _has(way)))
    for place, group in enumerate(together, start=len(instead)):
        for each in group.ids[: max(0, MOST_SHOWN - len(leads))]:
            leads.setdefault(each, (place, tuple(word.text for word in group.words)))
    rows = pages.ordered(pages.shown(Findable.objects.filter(id__in=list(leads)[:MOST_SHOWN])), sort)
    return [Nearest(row, leads[row.id][1]) for row in sorted(rows, key=lambda row: leads[row.id][0])]


def _has(way: Way) -> tuple[str, ...]:
    return tuple(word.text for word in asking.read(way.wanted.text).words) or way.wanted.tag


def _text(words: Iterable[Word]) -> str:
    return " ".join(word.text for word in words)


def _that_know(others: Sequence[Production], word: Word) -> list[Production]:
    """Those of the productions in which a select has a word. The words that selects once had say where to look."""
    once = FindableWord.objects.filter(Q(word__startswith=word.text) | Q(word__in=word.forms), production__in=others)
    ids = set(once.values_list("production", flat=True))
    return [each for each in others if each.id in ids and _any(each, word)]


def _tags_like(production: Production, wanted: Wanted, name: str) -> list[Way]:
    """The same with a tag that begins so, where there is no tag of this name."""
    begin_so = list(Tag.objects.filter(production=production, folded__startswith=name).order_by("folded"))
    if any(tag.folded == name for tag in begin_so):
        return []
    ways = []
    for tag in begin_so[:MOST_TAGS]:
        other = replace(wanted, tag=tuple(tag.folded if each == name else each for each in wanted.tag))
        ways.append(_asked(production, other, tag.name))
    return _finding(ways)


def _finding(ways: list[Way]) -> list[Way]:
    return [way for way in ways if way.number]


def _any(production: Production, word: Word) -> bool:
    return words_index.any_with(Asked(Question((word,))), [production.id])


def _asked(production: Production, other: Wanted, word: str) -> Way:
    found = finding.find([production], other)
    return Way(other, word, *pages.count(found.rows, some=found.some), found)


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
        ways.append(_asked(production, replace(wanted, text=text), other))
    return ways
