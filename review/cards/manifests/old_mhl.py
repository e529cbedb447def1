"""MHL lists of version 1.x: XML without a namespace, an older format than ASC MHL that shares its extension.

    <hashlist version="1.1"><hash><file>CLIP/A.MOV</file><size>3</size><md5>9001...</md5></hash></hashlist>

Written from memory of the format; elements that are not known are passed over. Paths count from the list's folder.
"""

from review.cards.manifests.ascmhl_xml import parse_xml, whole_number
from review.cards.manifests.listed import shortened, stay_inside
from review.cards.manifests.plain_lists import Entry

EXTENSION = ".mhl"

_ALGORITHMS = {"md5": ("md5", 32), "sha1": ("sha1", 40), "xxhash64be": ("xxh64", 16)}  # ours, and its digits
_UNCLEAR = ("xxhash", "xxhash64")  # programs disagree on which end comes first, and on decimal or hexadecimal digits


def is_old_mhl(data: bytes) -> bool:
    try:
        root = parse_xml(data)
    except ValueError:
        return False
    return root.tag == "hashlist" and (root.get("version") or "").startswith("1")


def parse_old_mhl(data: bytes) -> tuple[list[Entry], list[str], list[str]]:
    """The entries, what is wrong with the list, and the files of which only hashes came that are not clear.

    Raises ValueError for what is no such list.
    """
    root = parse_xml(data)
    if root.tag != "hashlist":
        raise ValueError("it is not an MHL list of version 1")
    entries, problems, unclear = [], [], []
    for number, element in enumerate(root.iterfind("hash"), 1):
        try:
            path = stay_inside(element.findtext("file", "").strip().replace("\\", "/"))
        except ValueError as problem:
            problems.append(f"entry {number}: {problem}")
            continue
        size, found = whole_number(element.findtext("size", "").strip()), []
        for tag, (algorithm, digits) in _ALGORITHMS.items():
            digest = element.findtext(tag, "").strip().lower()
            if not digest:
                continue
            if len(digest) == digits and set(digest) <= set("0123456789abcdef"):
                found.append(Entry(path, algorithm, digest, size))
            else:
                problems.append(f"entry {number}: {shortened(digest)} is not an {tag} checksum of {digits} digits")
        entries += found
        if not found and any(element.find(tag) is not None for tag in _UNCLEAR):
            unclear.append(path)
    return entries, problems, unclear
