"""Cards whose root folder holds an index, MEDIAPRO.XML, and a folder of clips with an XML file beside each.

    ROOT/MEDIAPRO.XML              names every clip and what belongs to it, by paths from ROOT
    ROOT/CLIP/C0001.MP4            the footage
    ROOT/CLIP/C0001M01.XML         its clip information; other numbers and letters for further files
    ROOT/SUB, ROOT/THMBNL          small copies and thumbnails: no clips

m4root.py and xdroot.py say what ROOT is called and what the footage is. The folders, and the elements of the index
(`Material`, `Proxy` and `RelevantInfo` with a `uri`), are as public readers and published samples of such cards have
them; there is no public standard.
"""

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import unquote

from review.card_xml import MOST_BYTES, local_name, parse_card_xml
from review.cards.findings import CAUTION, Finding
from review.cards.layouts import faults
from review.cards.layouts.base import ClipPlan, LayoutReading, Places, below, extension, folder_of, stem
from review.cards.layouts.companions import SOUND, VIDEO
from review.cards.reading import read_small
from review.cards.tree import CardTree

_INDEX = "mediapro.xml"
_CLIPS, _SMALL_COPIES, _THUMBNAILS = "clip", "sub", "thmbnl"
_LONGEST_URI = 500  # characters that are looked at
_INFORMATION = re.compile(r"(.+)m\d\d")  # C0001M01.XML
_BELONGING = re.compile(r"(.+)[a-z]\d\d")  # C0001S03.MP4, C0001T01.JPG, C0001R01.BIM


@dataclass(frozen=True)
class Format:
    """One kind of such card; names of folders as cameras write them."""

    label: str
    card: str  # in words, with its article
    root: str
    clips: str  # the folder of clips
    footage: tuple[str, ...]  # extensions, the usual one first


@dataclass
class _Structure:
    """One root folder: paths of footage, and of clip information, by the clip's name in lower case."""

    root: str
    lost: str = ""  # the folders above that did not come
    footage: dict[str, str] = field(default_factory=dict)
    information: dict[str, str] = field(default_factory=dict)
    belonging: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    index: str = ""
    paths: list[str] = field(default_factory=list)

    @property
    def used(self) -> bool:
        return bool(self.footage or self.information)

    @property
    def pairs(self) -> bool:
        return not self.footage.keys().isdisjoint(self.information)


def recognises(tree: CardTree, kind: Format) -> bool:
    return bool(_structures(tree, kind))


def read(tree: CardTree, kind: Format) -> LayoutReading:
    plans: list[ClipPlan] = []
    structures = _structures(tree, kind)
    # Where clips alone were copied, their folder says nothing about where the card's top is.
    placed = [(_top_folder(each), each.root) for each in structures if "/" not in each.lost]
    findings = faults.used_twice(kind.label, placed)
    for each in structures:
        if each.lost:
            lost = "" if each.index else "MEDIAPRO.XML"
            inside = f"the {kind.clips} folder of {kind.card}" if "/" in each.lost else f"an {kind.root} folder"
            findings.append(faults.too_shallow(each.root, inside, each.lost, index_lost=lost))
        if not each.information and not each.index:
            lacking = "the index (MEDIAPRO.XML) and the clips' information (the XML files)"
            findings.append(faults.partial_copy(kind.card, "footage files", lacking, each.root, len(each.footage)))
        else:
            findings += _what_is_missing(tree, kind, each)
        plans += [
            ClipPlan("", (path,), tuple(sorted(each.belonging[name]))) for name, path in sorted(each.footage.items())
        ]
    taken = frozenset(path for each in structures for path in each.paths)
    return LayoutReading(kind.label, tuple(plans), tuple(findings), taken, frozenset(top for top, _ in placed))


def _top_folder(structure: _Structure) -> str:
    if structure.lost:
        return structure.root
    top = folder_of(structure.root)
    return folder_of(top) if top.rpartition("/")[2].casefold() == "private" else top


def _structures(tree: CardTree, kind: Format) -> list[_Structure]:
    whole: dict[str, _Structure] = {}
    outside: dict[str, list[str]] = defaultdict(list)  # by folder
    for path in tree.sizes:
        parts = path.split("/")
        lower = [part.casefold() for part in parts[:-1]]
        if kind.root.casefold() in lower:
            root = "/".join(parts[: lower.index(kind.root.casefold()) + 1])
            _put(whole.setdefault(root, _Structure(root)), path, kind, below(root, kind.clips))
        else:
            outside[folder_of(path)].append(path)
    found = [each for each in whole.values() if each.used or _names_clips(tree, each)]
    around: dict[str, list[str]] = defaultdict(list)  # by the root folder that is not there
    for folder, paths in outside.items():
        if folder.rpartition("/")[2].casefold() in (_SMALL_COPIES, _THUMBNAILS):
            around[folder_of(folder)] += paths
        around[folder] += [path for path in paths if path.rpartition("/")[2].casefold() == _INDEX]
    for folder, paths in outside.items():
        alone = _without_root(kind, folder, paths, around)
        if alone.pairs:
            found.append(alone)
    return found


def _without_root(kind: Format, folder: str, paths: list[str], around: Mapping[str, list[str]]) -> _Structure:
    """The clips in `folder` and, if that is the folder of clips, what lies around it."""
    telling = [path for path in paths if extension(path) in (kind.footage[0], ".xml")]
    if folder.rpartition("/")[2].casefold() == _CLIPS:
        structure = _Structure(folder_of(folder), kind.root)
        telling += around.get(structure.root, ())
    else:
        structure = _Structure(folder, f"{kind.root}/{kind.clips}")
    for path in telling:
        _put(structure, path, kind, folder)
    return structure


def _put(structure: _Structure, path: str, kind: Format, clips: str) -> None:
    folder, name, ending = folder_of(path).casefold(), stem(path).casefold(), extension(path)
    if path.casefold() == below(structure.root, _INDEX).casefold():
        structure.index = path
    elif folder == clips.casefold() and ending in kind.footage:
        structure.footage[path.casefold() if name in structure.footage else name] = path
    elif folder == clips.casefold() and ending == ".xml" and (match := _INFORMATION.fullmatch(name)):
        structure.information[match[1]] = path
        structure.belonging[match[1]].append(path)
    elif ending in VIDEO | SOUND and folder.rpartition("/")[2] != _SMALL_COPIES:
        return  # footage where none should be: another layout shows it
    else:
        match = _BELONGING.fullmatch(name)
        structure.belonging[match[1] if match else name].append(path)
    structure.paths.append(path)


def _what_is_missing(tree: CardTree, kind: Format, structure: _Structure) -> list[Finding]:
    findings, missed = [], set()

    def lacks(path: str, named_by: str) -> None:
        if path.casefold() not in missed:
            missed.add(path.casefold())
            findings.append(faults.missing_footage(path, [named_by]))

    for name in sorted(structure.footage.keys() - structure.information.keys()):
        path = structure.footage[name]
        findings.append(faults.missing_info(path, f"{stem(path)}M01.XML"))
        missed.add(below(folder_of(path), f"{stem(path)}M01.XML").casefold())
    for name in sorted(structure.information.keys() - structure.footage.keys()):
        path = structure.information[name]
        lacks(below(folder_of(path), stem(path)[: len(name)] + kind.footage[0].upper()), path)
    if not structure.index:
        if not structure.lost:
            where = below(structure.root, "MEDIAPRO.XML")
            findings.append(faults.missing_index(where, "The card's index (MEDIAPRO.XML)", structure.root))
        return findings
    if not tree.sizes[structure.index]:
        return findings  # told as an empty file
    try:
        footage, companions = _read_index(tree, structure.index)
    except (OSError, ValueError) as problem:
        return [*findings, faults.unreadable_index("bad-index", "index", structure.index, problem)]
    places = Places(tree.sizes)
    for uri in footage:
        if places.find(below(structure.root, uri)) is None:
            lacks(below(structure.root, uri), structure.index)
    for uri in companions:
        path = below(structure.root, uri)
        if path.casefold() not in missed and places.find(path) is None:
            missed.add(path.casefold())
            findings.append(_companion_missing(path, structure.index))
    named = {below(structure.root, uri).casefold() for uri in footage}
    strangers = [path for path in structure.footage.values() if path.casefold() not in named]
    return findings + [_not_named(path, structure.index) for path in strangers]


def _names_clips(tree: CardTree, structure: _Structure) -> bool:
    """Whether the index of a card without any clip names some: an unused structure's names none."""
    if not structure.index:
        return False
    try:
        return bool(_read_index(tree, structure.index)[0])
    except (OSError, ValueError):
        return False


def _read_index(tree: CardTree, path: str) -> tuple[list[str], list[str]]:
    """The paths of the footage that the index names, and of what belongs to it, both from the root folder."""
    footage, companions = {}, {}
    for element in parse_card_xml(read_small(tree.folder / path, MOST_BYTES)).iter():
        uri, name = element.get("uri"), local_name(element)
        if uri and name == "Material":
            footage[_plain(uri)] = None
        elif uri and name in ("Proxy", "RelevantInfo"):
            companions[_plain(uri)] = None
    return list(footage), list(companions)


def _plain(uri: str) -> str:
    return unquote(uri[:_LONGEST_URI]).replace("\\", "/").removeprefix("./").lstrip("/")


def _companion_missing(path: str, index: str) -> Finding:
    what = f"{path} is missing; the card's index {index} names it. It is no footage, but it was on the card."
    return Finding("missing-companion", CAUTION, what, "Look at the card: if it is there, copy the card again.", path)


def _not_named(path: str, index: str) -> Finding:
    what = f"{path} is not named by the card's index {index}: it may have come from another card."
    return Finding("not-in-index", CAUTION, what, "Ask whoever copied the card where this file is from.", path)
