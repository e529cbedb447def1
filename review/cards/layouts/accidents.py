"""Accidents of copying that no single layout sees: a card too deep, several in one folder, names given twice."""

import re
from collections import defaultdict
from collections.abc import Collection

from review.cards.findings import CAUTION, STOP, Finding
from review.cards.layouts.base import below, extension, folder_of, stem
from review.cards.names import NameMisfit, parse_card_name
from review.cards.tree import CardTree

# What volumes are called before anybody names them; common practice, no source.
_VOLUMES = frozenset({"untitled", "no name", "no_name", "noname"})
_COPY_OF = re.compile(r"^copy of ", re.IGNORECASE)
_SECOND = re.compile(r"[ _-]*\(\d{1,3}\)$|[ _-]+copy(?:[ _-]*\d{1,3})?$", re.IGNORECASE)
_RENAMED = re.compile(r"_\d$")
_TOLD = 5
_DEEPEST = 10  # levels that are looked through


def out_of_place(tree: CardTree, tops: Collection[str], name_rule: str) -> list[Finding]:
    """`tops` are the folders that a layout's own structure lies in: '' where it lies as it does on the card."""
    if tops:
        others = {
            folder
            for folder in _named_as_cards(tree, name_rule)
            if not any(f"{top}/".startswith(f"{folder}/") for top in tops)
        }
        tops = {*tops, *others}
    else:
        tops = _likely_tops(tree, name_rule)
    if len(tops) > 1:
        return [_several(sorted(tops))]
    return [_too_deep(top) for top in tops if top]


def _likely_tops(tree: CardTree, name_rule: str) -> set[str]:
    """Where no structure shows it: folders that are named as cards are, or one that lies alone and is named as a volume
    or as the card itself is."""
    cards = _named_as_cards(tree, name_rule)
    if len(cards) > 1:
        return cards
    top = ""
    for _ in range(_DEEPEST):
        inside = [folder for folder in tree.folders if folder_of(folder) == top]
        if len(inside) != 1 or any(folder_of(path) == top for path in tree.sizes):
            break
        name = inside[0].rpartition("/")[2]
        if not (_is_card_name(name, name_rule) or name.casefold() in _VOLUMES or name == tree.folder.name):
            break
        top = inside[0]
    return {top}


def _named_as_cards(tree: CardTree, name_rule: str) -> set[str]:
    return {folder for folder in tree.folders if "/" not in folder and _is_card_name(folder, name_rule)}


def _is_card_name(name: str, name_rule: str) -> bool:
    try:
        parse_card_name(name, name_rule)
    except NameMisfit:
        return False
    return True


def named_twice(tree: CardTree, footage: Collection[str], numbered: Collection[str]) -> list[Finding]:
    """Footage beside its second copy, by the names that file managers give one ("A (1).MOV", "copy of A.MOV").

    `numbered` are those of `footage` whose names a camera's structure lays down: there "A_1" beside "A" is one too.
    """
    here = {path.casefold() for path in footage}
    groups: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for path in footage:
        plain = _SECOND.sub("", _COPY_OF.sub("", stem(path)))
        first = below(folder_of(path), plain[:-2] + extension(path))
        if path in numbered and _RENAMED.search(plain) and first.casefold() in here:
            plain = plain[:-2]
        groups[folder_of(path), plain.casefold(), extension(path)].append(path)
    return [_twice(tree, sorted(paths, key=lambda path: (len(path), path))) for paths in groups.values() if paths[1:]]


def _twice(tree: CardTree, paths: list[str]) -> Finding:
    names = f"{' and '.join(paths[:_TOLD])}{' and more' if len(paths) > _TOLD else ''}"
    if len({tree.sizes[path] for path in paths}) == 1:
        what = f"{names} are named as second copies are, and have the same length: perhaps one is too many."
        return Finding("copied-twice", CAUTION, what, "Ask whoever copied the card which of them was on it.", paths[-1])
    what = (
        f"{names} have names that a file manager gives when two files of one name are put into one folder, and differ "
        "in length: two cards may have been copied over each other."
    )
    next_step = "Copy each card again, into a folder of its own, before either is wiped; then check again."
    return Finding("merged-cards", STOP, what, next_step, paths[-1])


def _several(tops: list[str]) -> Finding:
    names = [top or "the folder itself" for top in tops]
    told = f"{', '.join(names[:_TOLD])}{' and more' if len(names) > _TOLD else ''}"
    what = f"There are {len(tops)} cards in this one folder: {told}."
    next_step = "Give each card a folder of its own, named after it, then check them again."
    return Finding("several-cards", STOP, what, next_step)


def _too_deep(top: str) -> Finding:
    count = top.count("/") + 1
    levels = "one level" if count == 1 else f"{count} levels"
    what = (
        f"The card was copied {levels} too deep: what was at the top of the card lies in {top}. It was read from there."
    )
    next_step = "Nothing needs to be done; next time copy what is on the card straight into the card's folder."
    return Finding("too-deep", CAUTION, what, next_step, top)
