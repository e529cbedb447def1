r"""Lists of checksums as md5sum, sha1sum, sha256sum, xxhsum and their kind write them.

900150983cd24fb0d6963f7d28e17f72  CLIP/A.MOV         or ' *' for a binary file
\900150983cd24fb0d6963f7d28e17f72  two\nlines.MOV    escaped as coreutils does
MD5 (CLIP/A.MOV) = 900150983cd24fb0d6963f7d28e17f72  BSD, or --tag
CLIP/A.MOV 352441C2                                  CRC-32, in .sfv lists
"""

import codecs
import re
from typing import NamedTuple

from review.cards.manifests.listed import shortened, stay_inside

EXTENSIONS = frozenset({".md5", ".sha", ".sha1", ".sha256", ".sha512"}) | frozenset(
    {".xxh", ".xxhash", ".xxh32", ".xxh64", ".xxh128", ".xxh3", ".sfv"}
)

_GENERAL_NAME = re.compile(r"((md5|sha1|sha256|sha512|xxh\w*)(sums?)?|checksums?|hashes)(\.txt)?")
_HASH_FIRST = re.compile(r"(\\?)(?:XXH3_)?([0-9A-Fa-f]{8,128})(?: [ *]|[ \t]+)(.+)", re.DOTALL)
_TAG_FIRST = re.compile(r"(\\?)([A-Za-z0-9-]+) ?\((.+)\) ?= ?([0-9A-Fa-f]{8,128})", re.DOTALL)
_HASH_LAST = re.compile(r"(.+?)[ \t]+([0-9A-Fa-f]{8})[ \t]*")
_BY_LENGTH = {8: "xxh32", 16: "xxh64", 32: "md5", 40: "sha1", 64: "sha256", 128: "sha512"}
_DIGITS = {"xxh32": 8, "xxh64": 16, "xxh3": 16, "md5": 32, "xxh128": 32, "sha1": 40, "sha256": 64, "sha512": 128}
_TAGS = {name.upper(): name for name in _DIGITS} | {"SHA2-256": "sha256", "SHA2-512": "sha512"}
_ESCAPES = {r"\\": "\\", r"\n": "\n", r"\r": "\r"}


class Entry(NamedTuple):
    path: str  # as listed, without './'
    algorithm: str
    digest: str  # lower case
    size: int | None = None  # bytes, where the list says


def is_list_name(name: str) -> bool:
    name = name.lower()
    return _suffix(name) in EXTENSIONS or bool(_GENERAL_NAME.fullmatch(name))


def _suffix(name: str) -> str:
    stem, dot, suffix = name.rpartition(".")
    return dot + suffix if stem else ""


def parse_list(data: bytes, name: str) -> tuple[list[Entry], list[str]]:
    """The entries of the list called `name`, and what is wrong with it, line by line ('line 3: ...')."""
    try:
        text = _decode(data)
    except UnicodeDecodeError as problem:
        line = data[: problem.start].count(b"\n") + 1
        return [], [f"line {line}: its letters are not UTF-8, so no line of the list can be trusted"]
    hint = _suffix(name.lower())
    hint = hint if hint in EXTENSIONS else name.lower()
    entries, problems = [], []
    for number, line in enumerate(text.split("\n"), 1):
        line = line.removesuffix("\r")
        if not line.strip() or line[0] in "#;":
            continue
        try:
            entries.append(_parse_line(line, hint))
        except ValueError as problem:
            problems.append(f"line {number}: {problem}")
    return entries, problems


def _decode(data: bytes) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16")
    return data.decode("utf-8-sig")


def _parse_line(line: str, hint: str) -> Entry:
    if hint == ".sfv":
        return _parse_sfv_line(line)
    if match := _HASH_FIRST.fullmatch(line):
        escaped, digest, path = match.groups()
        if "XXH3_" in line[:6]:
            hint = "xxh3"
        algorithm = _by_length(len(digest), hint)
    elif match := _TAG_FIRST.fullmatch(line):
        escaped, tag, path, digest = match.groups()
        algorithm = _TAGS.get(tag.upper(), "")
        if not algorithm:
            raise ValueError(f"{tag} is not a checksum that is known here")
        if len(digest) != _DIGITS[algorithm]:
            raise ValueError(f"{tag} has {_DIGITS[algorithm]} digits, not {len(digest)}")
    else:
        raise ValueError(f"{shortened(line)} is not a checksum and a path")
    if escaped:
        path = re.sub(r"\\[\\nr]", lambda match: _ESCAPES[match[0]], path)
    return Entry(stay_inside(path), algorithm, digest.lower())


def _parse_sfv_line(line: str) -> Entry:
    match = _HASH_LAST.fullmatch(line)
    if not match:
        raise ValueError(f"{shortened(line)} is not a path and a checksum of 8 digits")
    return Entry(stay_inside(match[1]), "crc32", match[2].lower())


def _by_length(digits: int, hint: str) -> str:
    if digits == 16 and "xxh3" in hint and "xxh32" not in hint:
        return "xxh3"
    if digits == 32 and "xxh" in hint:
        return "xxh128"
    if digits not in _BY_LENGTH:
        raise ValueError(f"a checksum has 8, 16, 32, 40, 64 or 128 digits, not {digits}: it may be cut short")
    return _BY_LENGTH[digits]
