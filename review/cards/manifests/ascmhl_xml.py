"""The two kinds of XML file in an ASC MHL history, read into plain values. Any bytes give a result or a ValueError."""

from dataclasses import dataclass, field
from typing import NamedTuple
from xml.etree.ElementTree import Element, ParseError

from defusedxml.ElementTree import fromstring

from review.cards.hashing import HASHERS
from review.cards.manifests.base import stay_inside

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


@dataclass(frozen=True)
class ListedFile:
    path: str  # below the history's root
    size: int | None
    hashes: dict[str, HashEntry]
    previous_path: str | None


@dataclass
class Generation:
    files: list[ListedFile] = field(default_factory=list)
    folders: list[tuple[str, str | None]] = field(default_factory=list)  # path, previous path
    ignore_patterns: list[str] = field(default_factory=list)
    references: list[tuple[str, str]] = field(default_factory=list)  # path of a nested manifest, its c4


def parse_chain(data: bytes) -> list[ChainEntry]:
    """The generations in the chain file's order."""
    root = _parse(data)
    if root.tag != f"{_CHAIN}ascmhldirectory":
        raise ValueError("it is not an ASC MHL chain")
    return [
        ChainEntry(_whole(entry.get("sequencenr")) or 0, _path(entry, _CHAIN), _text(entry, f"{_CHAIN}c4"))
        for entry in root.iter(f"{_CHAIN}hashlist")
    ]


def parse_manifest(data: bytes) -> Generation:
    """One generation. Raises OldFormat for version 1.x."""
    root = _parse(data)
    if root.tag == "hashlist":
        raise OldFormat("it is an MHL list of version 1, an older format than ASC MHL")
    if root.tag != f"{_MANIFEST}hashlist":
        raise ValueError("it is not an ASC MHL manifest")
    generation = Generation()
    for pattern in root.iterfind(f"{_MANIFEST}processinfo/{_MANIFEST}ignore/{_MANIFEST}pattern"):
        generation.ignore_patterns.append(pattern.text or "")
    for element in root.iterfind(f"{_MANIFEST}hashes/{_MANIFEST}hash"):
        generation.files.append(_listed_file(element))
    for element in root.iterfind(f"{_MANIFEST}hashes/{_MANIFEST}directoryhash"):
        generation.folders.append((_path(element), _previous_path(element)))
    for element in root.iterfind(f"{_MANIFEST}references/{_MANIFEST}hashlistreference"):
        generation.references.append((_path(element), _text(element, f"{_MANIFEST}c4")))
    return generation


def _parse(data: bytes) -> Element:
    try:
        return fromstring(data, forbid_dtd=True)
    except (ParseError, ValueError, LookupError) as problem:  # LookupError: an encoding nobody knows
        raise ValueError(f"it is not whole XML ({problem})") from None


def _listed_file(element: Element) -> ListedFile:
    hashes = {}
    for child in element:
        algorithm = child.tag.removeprefix(_MANIFEST)
        if algorithm in HASHERS:
            digest = (child.text or "").strip()
            digest = digest if algorithm == "c4" else digest.lower()
            hashes[algorithm] = HashEntry(digest, child.get("action") == "failed")
    size = element.find(f"{_MANIFEST}path").get("size") if element.find(f"{_MANIFEST}path") is not None else None
    return ListedFile(_path(element), _whole(size), hashes, _previous_path(element))


def _path(element: Element, namespace: str = _MANIFEST) -> str:
    return stay_inside(element.findtext(f"{namespace}path", ""))


def _previous_path(element: Element) -> str | None:
    previous = element.findtext(f"{_MANIFEST}previousPath")
    return stay_inside(previous) if previous else None


def _text(element: Element, tag: str) -> str:
    return element.findtext(tag, "").strip()


def _whole(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 20 else None
