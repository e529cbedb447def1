"""The two kinds of XML file in an ASC MHL history, read into plain values. Any bytes give a result or a ValueError."""

from dataclasses import dataclass, field
from typing import NamedTuple
from xml.etree.ElementTree import Element, ParseError

from defusedxml.ElementTree import fromstring

from review.cards.manifests.listed import stay_inside

HASH_ORDER = ("c4", "md5", "sha1", "xxh128", "xxh3", "xxh64")  # the XSD wants this order and knows no others

_MANIFEST = "{urn:ASC:MHL:v2.0}"
_CHAIN = "{urn:ASC:MHL:DIRECTORY:v2.0}"


class OldFormat(ValueError):
    """An MHL of version 1.x: another format that shares the extension."""


class ChainEntry(NamedTuple):
    number: int  # of the generation, from 1
    path: str  # of the manifest, below the ascmhl folder
    c4: str


class HashEntry(NamedTuple):
    digest: str
    failed: bool  # recorded because it did NOT agree with an earlier one


class FolderHash(NamedTuple):
    content: str  # of what the files hold
    structure: str  # of their names and places too


TOOL = "Rushlight"  # what the manifests that are written here say of themselves


@dataclass(frozen=True)
class ListedFile:
    path: str  # below the history's root
    size: int | None
    hashes: dict[str, HashEntry]
    previous_path: str | None


@dataclass(frozen=True)
class ListedFolder:
    path: str  # below the history's root; '' for the root itself
    hashes: dict[str, FolderHash]  # by algorithm; none where the manifest only names it
    previous_path: str | None = None


@dataclass
class Generation:
    tool: str = ""  # what wrote it
    files: list[ListedFile] = field(default_factory=list)
    folders: list[ListedFolder] = field(default_factory=list)
    ignore_patterns: list[str] = field(default_factory=list)
    references: list[tuple[str, str]] = field(default_factory=list)  # path of a nested manifest, its c4


def parse_chain(data: bytes) -> list[ChainEntry]:
    """The generations in the chain file's order."""
    root = parse_xml(data)
    if root.tag != f"{_CHAIN}ascmhldirectory":
        raise ValueError("it is not an ASC MHL chain")
    return [
        ChainEntry(whole_number(entry.get("sequencenr")) or 0, _path(entry, _CHAIN), _text(entry, f"{_CHAIN}c4"))
        for entry in root.iter(f"{_CHAIN}hashlist")
    ]


def parse_manifest(data: bytes) -> Generation:
    """One generation. Raises OldFormat for version 1.x."""
    root = parse_xml(data)
    if root.tag == "hashlist":
        raise OldFormat("it is an MHL list of version 1, an older format than ASC MHL")
    if root.tag != f"{_MANIFEST}hashlist":
        raise ValueError("it is not an ASC MHL manifest")
    generation = Generation(tool=_text(root, f"{_MANIFEST}creatorinfo/{_MANIFEST}tool"))
    for pattern in root.iterfind(f"{_MANIFEST}processinfo/{_MANIFEST}ignore/{_MANIFEST}pattern"):
        generation.ignore_patterns.append(pattern.text or "")
    for element in root.iterfind(f"{_MANIFEST}processinfo/{_MANIFEST}roothash"):
        generation.folders.append(ListedFolder("", _folder_hashes(element)))
    for element in root.iterfind(f"{_MANIFEST}hashes/{_MANIFEST}hash"):
        generation.files.append(_listed_file(element))
    for element in root.iterfind(f"{_MANIFEST}hashes/{_MANIFEST}directoryhash"):
        generation.folders.append(ListedFolder(_path(element), _folder_hashes(element), _previous_path(element)))
    for element in root.iterfind(f"{_MANIFEST}references/{_MANIFEST}hashlistreference"):
        generation.references.append((_path(element), _text(element, f"{_MANIFEST}c4")))
    return generation


def parse_xml(data: bytes) -> Element:
    """The root of XML that nobody vouches for: no document type, so no entities and nothing fetched."""
    try:
        return fromstring(data, forbid_dtd=True)
    except (ParseError, ValueError, LookupError) as problem:  # LookupError: an encoding nobody knows
        raise ValueError(f"it is not whole XML ({problem})") from None


def whole_number(text: str | None) -> int | None:
    """The number that a few digits stand for; None for anything else."""
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 20 else None


def _listed_file(element: Element) -> ListedFile:
    path, previous, size, hashes = "", None, None, {}
    for child in element:
        name = child.tag.removeprefix(_MANIFEST)
        if name in HASH_ORDER:
            hashes[name] = HashEntry(_digest(child, name), child.get("action") == "failed")
        elif name == "path":
            path, size = child.text or "", whole_number(child.get("size"))
        elif name == "previousPath":
            previous = child.text
    return ListedFile(stay_inside(path), size, hashes, stay_inside(previous) if previous else None)


def _folder_hashes(element: Element) -> dict[str, FolderHash]:
    found = {}
    for algorithm in HASH_ORDER:
        content = element.find(f"{_MANIFEST}content/{_MANIFEST}{algorithm}")
        structure = element.find(f"{_MANIFEST}structure/{_MANIFEST}{algorithm}")
        if content is not None and structure is not None:
            found[algorithm] = FolderHash(_digest(content, algorithm), _digest(structure, algorithm))
    return found


def _digest(element: Element, algorithm: str) -> str:
    digest = (element.text or "").strip()
    return digest if algorithm == "c4" else digest.lower()


def _path(element: Element, namespace: str = _MANIFEST) -> str:
    return stay_inside(element.findtext(f"{namespace}path", ""))


def _previous_path(element: Element) -> str | None:
    previous = element.findtext(f"{_MANIFEST}previousPath")
    return stay_inside(previous) if previous else None


def _text(element: Element, tag: str) -> str:
    return element.findtext(tag, "").strip()
