"""The selects that have the most of some words, where none has all of them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from review.desk import finding
from review.many_ids import among
from review.models import Findable, Production
from review.searching.asking import Question, Word
from review.searching.wanted import Wanted

LOOKED_THROUGH = 3_000  # selects, those with the rarest words first


@dataclass(frozen=True)
class Together:
    """Selects that have these of the words and no other: all that there are, unless `more`."""

    words: tuple[Word, ...]
    ids: tuple[int, ...]
    more: bool


@dataclass(frozen=True)
class _With:
    """The ids of the selects that have a word: some of them, unless `all_of_them`."""

    ids: frozenset[int]
    all_of_them: bool


def find(production: Production, wanted: Wanted, words: Sequence[Word]) -> list[Together]:
    """What fits the filters, the most words first, then the rarest. Each word is looked up by itself, and what goes
    together worked out here: looking up all ways of leaving some out would take much longer. Where every word is in
    thousands of selects, not all of them are looked through."""
    having = {word: _having(production, wanted, word) for word in words}
    rarest = sorted(words, key=lambda word: len(having[word].ids))
    ids = list(dict.fromkeys(each for word in rarest for each in sorted(having[word].ids)))
    looked, left = ids[:LOOKED_THROUGH], set(ids[LOOKED_THROUGH:])
    whole = {word for word in words if having[word].all_of_them and not having[word].ids & left}
    texts = {} if len(whole) == len(words) else _texts(looked)
    groups: dict[tuple[Word, ...], list[int]] = {}
    for each in looked:
        has = tuple(w for w in words if (each in having[w].ids or (w not in whole and _stands_in(texts[each], w))))
        groups.setdefault(has, []).append(each)
    found = [Together(has, tuple(group), not whole & set(has)) for has, group in groups.items()]
    return sorted(found, key=lambda each: (-len(each.words), min(len(having[word].ids) for word in each.words)))


def _having(production: Production, wanted: Wanted, word: Word) -> _With:
    found = finding.find([production], replace(wanted, text=word.text), Question((word,)))
    rows = found.rows if found.some is None else found.some
    ids = rows.order_by().values_list("id", flat=True)[: LOOKED_THROUGH + 1]
    return _With(frozenset(ids), found.some is None and len(ids) <= LOOKED_THROUGH)


def _texts(ids: list[int]) -> dict[int, str]:
    rows = Findable.objects.filter(id__in=among(ids)).values_list("id", "words")
    return {each: f" {words} " for each, words in rows}


def _stands_in(text: str, word: Word) -> bool:
    """As `words_index.has` asks the database."""
    return f" {word.text}" in text or any(f" {form} " in text for form in word.forms)
