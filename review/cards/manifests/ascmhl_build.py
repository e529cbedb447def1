"""The XML of one ASC MHL generation and of the chain, as bytes.

Format: ASC Media Hash List specification v1.0 and its XSD (namespaces urn:ASC:MHL:v2.0 and
urn:ASC:MHL:DIRECTORY:v2.0), whose order of elements is kept here.
"""

import re
import socket
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from xml.etree import ElementTree as ET

from review.cards.manifests.ascmhl_xml import HASH_ORDER, TOOL, ChainEntry, FolderHash

_NOT_IN_XML = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff]")


@dataclass(frozen=True)
class FileEntry:
    path: str  # below the history's root
    size: int  # bytes
    hashes: Mapping[str, tuple[str, str]]  # algorithm -> digest, action (original, verified or failed)
    previous_path: str = ""  # as an earlier generation has it, if this one records the change


@dataclass
class NewGeneration:
    started: datetime  # when its reading began; UTC
    tool_version: str
    tool: str = TOOL
    author: str = ""
    comment: str = ""
    ignore_patterns: list[str] = field(default_factory=list)
    files: list[FileEntry] = field(default_factory=list)
    folders: Mapping[str, Mapping[str, FolderHash]] = field(default_factory=dict)  # '' is the root; by algorithm
    references: list[tuple[str, str]] = field(default_factory=list)  # path of a nested manifest, its c4


def manifest_bytes(new: NewGeneration) -> bytes:
    """Raises ValueError for what the format cannot hold."""
    root = ET.Element("hashlist", {"version": "2.0", "xmlns": "urn:ASC:MHL:v2.0"})
    date = new.started.isoformat(timespec="seconds")
    creator = ET.SubElement(root, "creatorinfo")
    ET.SubElement(creator, "creationdate").text = date
    ET.SubElement(creator, "hostname").text = socket.gethostname()
    ET.SubElement(creator, "tool", version=new.tool_version).text = new.tool
    for tag, text in (("author", new.author), ("comment", new.comment)):
        if text:
            ET.SubElement(creator, tag).text = _NOT_IN_XML.sub(" ", text)
    process = ET.SubElement(root, "processinfo")
    ET.SubElement(process, "process").text = "in-place"
    if new.folders.get(""):
        _put_folder_hashes(ET.SubElement(process, "roothash"), new.folders[""], date)
    ignore = ET.SubElement(process, "ignore")
    for pattern in new.ignore_patterns:
        ET.SubElement(ignore, "pattern").text = pattern
    elements = [_hash_element(file, date) for file in new.files]
    elements += [_folder_element(path, hashes, date) for path, hashes in sorted(new.folders.items()) if path]
    if elements:  # an empty <hashes> is not valid
        ET.SubElement(root, "hashes").extend(elements)
    if new.references:
        references = ET.SubElement(root, "references")
        for path, c4 in new.references:
            reference = ET.SubElement(references, "hashlistreference")
            ET.SubElement(reference, "path").text = path
            ET.SubElement(reference, "c4").text = c4
    return _to_bytes(root)


def chain_bytes(entries: Iterable[ChainEntry]) -> bytes:
    root = ET.Element("ascmhldirectory", {"xmlns": "urn:ASC:MHL:DIRECTORY:v2.0"})
    for entry in entries:
        element = ET.SubElement(root, "hashlist", sequencenr=str(entry.number))
        ET.SubElement(element, "path").text = entry.path
        ET.SubElement(element, "c4").text = entry.c4
    return _to_bytes(root)


def _hash_element(file: FileEntry, date: str) -> ET.Element:
    unknown = sorted(set(file.hashes) - set(HASH_ORDER))
    if unknown or not file.hashes:
        found = ", ".join(unknown) or "no hash at all"
        raise ValueError(f"{file.path}: ASC MHL holds {', '.join(HASH_ORDER)}, not {found}")
    element = ET.Element("hash")
    ET.SubElement(element, "path", size=str(file.size)).text = _fit(file.path)
    for algorithm in HASH_ORDER:
        if algorithm in file.hashes:
            digest, action = file.hashes[algorithm]
            ET.SubElement(element, algorithm, action=action, hashdate=date).text = digest
    if file.previous_path:
        ET.SubElement(element, "previousPath").text = _fit(file.previous_path)
    return element


def _folder_element(path: str, hashes: Mapping[str, FolderHash], date: str) -> ET.Element:
    element = ET.Element("directoryhash")
    ET.SubElement(element, "path").text = _fit(path)
    _put_folder_hashes(element, hashes, date)
    return element


def _put_folder_hashes(element: ET.Element, hashes: Mapping[str, FolderHash], date: str) -> None:
    """Directory hashes carry no action: only a file is verified (the specification requires it of files alone)."""
    for part in ("content", "structure"):
        container = ET.SubElement(element, part)
        for algorithm in HASH_ORDER:
            if algorithm in hashes:
                ET.SubElement(container, algorithm, hashdate=date).text = getattr(hashes[algorithm], part)


def _fit(path: str) -> str:
    if _NOT_IN_XML.search(path):
        raise ValueError(f"{path!r} has a control character in its name, which an ASC MHL manifest cannot hold")
    return path


def _to_bytes(root: ET.Element) -> bytes:
    ET.indent(root)
    return ET.tostring(root, encoding="UTF-8", xml_declaration=True)
