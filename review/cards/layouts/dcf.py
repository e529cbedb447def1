"""Still cameras' cards (DCF, JEITA CP-3461): DCIM with numbered folders, and video and sound among the stills.

    DCIM/100ABCDE/ABCD0001.MOV    folders 100 to 999, each number once, and five capitals, digits or underscores
    DCIM/100ABCDE/ABCD0001.THM    files of one number in a folder belong together

There is no index, and a gap in the numbers proves nothing: the picture may have been deleted.
"""

import re
from bisect import bisect_left
from collections import defaultdict
from itertools import takewhile
from operator import eq

from review.cards.findings import CAUTION, Finding
from review.cards.layouts import faults
from review.cards.layouts.base import ClipPlan, LayoutReading, extension, folder_of, stem
from review.cards.layouts.companions import SOUND, VIDEO, uneven
from review.cards.tree import CardTree

LABEL = "DCF"

_FOOTAGE = VIDEO | SOUND
_FOLDER = re.compile(r"([1-9]\d\d)[0-9a-z_]{5}", re.ASCII)
_FILE = re.compile(r"[0-9a-z_]{4}\d{4}", re.ASCII)
_NUMBER = re.compile(r"\d{4}$", re.ASCII)


def recognises(tree: CardTree) -> bool:
    return any(extension(path) in _FOOTAGE for paths in _holders(tree).values() for path in paths)


def read(tree: CardTree) -> LayoutReading:
    plans: list[ClipPlan] = []
    findings: list[Finding] = []
    taken: set[str] = set()
    tops: set[str] = set()
    for (root, whole), paths in _holders(tree).items():
        footage = sorted(path for path in paths if extension(path) in _FOOTAGE)
        if not footage:
            continue
        taken.update(paths)
        tops.add(folder_of(root) if whole else root)
        if not whole:
            findings.append(faults.too_shallow(root, "a still camera's DCIM folder", "DCIM"))
        findings += _odd_folders(tree, root)
        findings += uneven(paths, frozenset(footage), _number)
        plans += _plans(paths, footage)
    return LayoutReading(LABEL, tuple(plans), tuple(findings), frozenset(taken), frozenset(tops))


def _holders(tree: CardTree) -> dict[tuple[str, bool], list[str]]:
    """What lies in each DCIM folder; and in folders that have numbers as those in DCIM do, without it. By the folder
    that holds them and whether it is DCIM."""
    found: dict[tuple[str, bool], list[str]] = defaultdict(list)
    for path in tree.sizes:
        parts = path.split("/")
        lower = [part.casefold() for part in parts[:-1]]
        if "dcim" in lower:
            found["/".join(parts[: lower.index("dcim") + 1]), True].append(path)
        elif len(parts) == 2 and _FOLDER.fullmatch(lower[0]) and _FILE.fullmatch(stem(path).casefold()):
            found["", False].append(path)
    return found


def _plans(paths: list[str], footage: list[str]) -> list[ClipPlan]:
    """Each file of footage, with the others of its folder and number. Where several have the number, a companion goes
    to the one whose name ends most like its own."""
    by_number: dict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    for path in footage:
        by_number[folder_of(path), _number(stem(path).casefold())].append((_backwards(path), path))
    for owners in by_number.values():
        owners.sort()
    sidecars: dict[str, list[str]] = defaultdict(list)
    for path in paths:
        owners = by_number.get((folder_of(path), _number(stem(path).casefold())))
        if owners and extension(path) not in _FOOTAGE:
            sidecars[_likest(_backwards(path), owners)].append(path)
    return [
        ClipPlan("", (path,), tuple(sidecars[path]), "video" if extension(path) in VIDEO else "sound")
        for path in footage
    ]


def _likest(backwards: str, owners: list[tuple[str, str]]) -> str:
    """The path in `owners` (with their names backwards, in order) whose name shares the longest end with this one."""
    at = bisect_left(owners, (backwards, ""))
    near = owners[max(0, at - 1) : at + 1]  # in that order the likest is a neighbour
    return max(near, key=lambda owner: sum(takewhile(bool, map(eq, owner[0], backwards))))[1]


def _backwards(path: str) -> str:
    return stem(path).casefold()[::-1]


def _number(name: str) -> str:
    """The four digits at the end of a stem that files of one object share; the whole where there are none."""
    match = _NUMBER.search(name)
    return match[0] if match else name


def _odd_folders(tree: CardTree, root: str) -> list[Finding]:
    by_number = defaultdict(list)
    findings = []
    for folder in tree.folders:
        match = _FOLDER.fullmatch(folder.rpartition("/")[2].casefold())
        if folder_of(folder) == root and match:
            by_number[match[1]].append(folder)
        elif root and folder_of(folder_of(folder)) == root:
            findings.append(_too_deep(folder))
    return findings + [_number_twice(number, folders) for number, folders in by_number.items() if len(folders) > 1]


def _number_twice(number: str, folders: list[str]) -> Finding:
    what = (
        f"{' and '.join(folders)} have the same number ({number}), which a camera gives once: two cards may have been "
        "copied into one folder."
    )
    next_step = "Ask whoever copied it. If these are two cards, give each a folder of its own."
    return Finding("folder-number-twice", CAUTION, what, next_step, folders[0])


def _too_deep(folder: str) -> Finding:
    what = f"{folder} is a folder inside a numbered folder, where a camera makes none: somebody may have added it."
    return Finding("odd-folder", CAUTION, what, "Ask whoever copied the card where it is from.", folder)
