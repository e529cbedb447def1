"""The first generation of an ASC MHL history: what sealing a card writes.

Format: ASC Media Hash List specification v1.0 and its XSD (namespaces urn:ASC:MHL:v2.0 and
urn:ASC:MHL:DIRECTORY:v2.0). Only the folder `ascmhl/` is added; nothing else is touched.
"""

import os
import re
import shutil
import socket
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree as ET

from review.cards.hashing import hash_bytes
from review.cards.tree import HISTORY_FOLDER, HISTORY_PART, LITTER

HASH_ORDER = ("c4", "md5", "sha1", "xxh128", "xxh3", "xxh64")  # the XSD wants this order and knows no others

_NOT_IN_XML = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff]")


class HistoryExists(ValueError):
    """The folder already has a history; a first generation would hide it."""


def write_generation(
    folder: Path,
    hashes: Mapping[str, Mapping[str, str]],
    sizes: Mapping[str, int],
    *,
    tool_version: str,
    started: datetime | None = None,
) -> Path:
    """Write generation 1 for `folder` and return the manifest's path.

    `hashes` is {path below folder: {algorithm: digest}}, algorithms from HASH_ORDER; `sizes` gives bytes.
    `started` is when the reading began (aware; default now). Either the whole history appears or nothing.
    Raises HistoryExists, ValueError for what the format cannot hold, OSError when it cannot be written.
    """
    target = folder / HISTORY_FOLDER
    if os.path.lexists(target):
        raise HistoryExists(f"{folder.name} already has an {HISTORY_FOLDER} folder: a first generation is not written")
    started = (started or datetime.now(UTC)).astimezone(UTC)
    manifest = _to_bytes(_manifest(hashes, sizes, tool_version, started))
    name = f"0001_{folder.name}_{started:%Y-%m-%d_%H%M%SZ}.mhl"
    chain = _to_bytes(_chain(name, hash_bytes(manifest, "c4")))

    part = folder / HISTORY_PART
    shutil.rmtree(part, ignore_errors=True)  # left by a sealing that was cut short
    part.mkdir()
    try:
        _write_through(part / name, manifest)
        _write_through(part / "ascmhl_chain.xml", chain)
        _sync_folder(part)
        part.rename(target)
    except OSError:
        shutil.rmtree(part, ignore_errors=True)
        raise
    _sync_folder(folder)
    return target / name


def _manifest(hashes, sizes, tool_version: str, started: datetime) -> ET.Element:
    root = ET.Element("hashlist", {"version": "2.0", "xmlns": "urn:ASC:MHL:v2.0"})
    date = started.isoformat(timespec="seconds")
    creator = ET.SubElement(root, "creatorinfo")
    ET.SubElement(creator, "creationdate").text = date
    ET.SubElement(creator, "hostname").text = socket.gethostname()
    ET.SubElement(creator, "tool", version=tool_version).text = "Rushlight"
    process = ET.SubElement(root, "processinfo")
    ET.SubElement(process, "process").text = "in-place"
    ignore = ET.SubElement(process, "ignore")
    for pattern in (*LITTER, HISTORY_FOLDER, f"{HISTORY_FOLDER}/"):
        ET.SubElement(ignore, "pattern").text = pattern
    if hashes:  # an empty <hashes> is not valid
        listed = ET.SubElement(root, "hashes")
        for path in sorted(hashes):
            listed.append(_hash_element(path, sizes[path], hashes[path], date))
    return root


def _hash_element(path: str, size: int, digests: Mapping[str, str], date: str) -> ET.Element:
    if _NOT_IN_XML.search(path):
        raise ValueError(f"{path!r} has a control character in its name, which an ASC MHL manifest cannot hold")
    unknown = sorted(set(digests) - set(HASH_ORDER))
    if unknown or not digests:
        raise ValueError(f"{path}: ASC MHL holds {', '.join(HASH_ORDER)}, not {', '.join(unknown) or 'no hash at all'}")
    element = ET.Element("hash")
    ET.SubElement(element, "path", size=str(size)).text = path
    for algorithm in HASH_ORDER:
        if algorithm in digests:
            ET.SubElement(element, algorithm, action="original", hashdate=date).text = digests[algorithm]
    return element


def _chain(manifest_name: str, c4: str) -> ET.Element:
    root = ET.Element("ascmhldirectory", {"xmlns": "urn:ASC:MHL:DIRECTORY:v2.0"})
    entry = ET.SubElement(root, "hashlist", sequencenr="1")
    ET.SubElement(entry, "path").text = manifest_name
    ET.SubElement(entry, "c4").text = c4
    return root


def _to_bytes(root: ET.Element) -> bytes:
    ET.indent(root)
    return ET.tostring(root, encoding="UTF-8", xml_declaration=True)


def _write_through(path: Path, data: bytes) -> None:
    with open(path, "xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
