r"""Lists of checksums as md5sum, sha1sum, sha256sum, xxhsum and their kind write them.

    900150983cd24fb0d6963f7d28e17f72  CLIP/A.MOV         or ' *' for a binary file
    \900150983cd24fb0d6963f7d28e17f72  two\nlines.MOV    escaped as coreutils does
    MD5 (CLIP/A.MOV) = 900150983cd24fb0d6963f7d28e17f72  BSD, or --tag

They are looked for at the card folder's top and one folder down, and beside the card folder.
"""

import codecs
import re
from collections.abc import Callable
from pathlib import PurePosixPath
from typing import NamedTuple

from review.cards.manifests.base import MAX_BYTES, Checksums, is_named_after, neighbours, shortened, stay_inside
from review.cards.reading import read_small

EXTENSIONS = frozenset({".md5", ".sha", ".sha1", ".sha256", ".sha512"}) | frozenset(
    {".xxh", ".xxhash", ".xxh32", ".xxh64", ".xxh128", ".xxh3"}
)

_GENERAL_NAME = re.compile(r"((md5|sha1|sha256|sha512|xxh\w*)(sums?)?|checksums?|hashes)(\.txt)?")
_HASH_FIRST = re.compile(r"(\\?)(?:XXH3_)?([0-9A-Fa-f]{8,128})(?: [ *]|[ \t]+)(.+)", re.DOTALL)
_TAG_FIRST = re.compile(r"(\\?)([A-Za-z0-9-]+) ?\((.+)\) ?= ?([0-9A-Fa-f]{8,128})", re.DOTALL)
_BY_LENGTH = {8: "xxh32", 16: "xxh64", 32: "md5", 40: "sha1", 64: "sha256", 128: "sha512"}
_DIGITS = {"xxh32": 8, "xxh64": 16, "xxh3": 16, "md5": 32, "xxh128": 32, "sha1": 40, "sha256": 64, "sha512": 128}
_TAGS = {name.upper(): name for name in _DIGITS} | {"SHA2-256": "sha256", "SHA2-512": "sha512"}
_ESCAPES = {r"\\": "\\", r"\n": "\n", r"\r": "\r"}
_SHOWN_PROBLEMS = 3

Base = Callable[[str], str | None]  # a listed path -> the path below the card folder; None for another card's


class Entry(NamedTuple):
    path: str  # as listed, without './'
    algorithm: str
    digest: str  # lower case


def is_list_name(name: str) -> bool:
    return PurePosixPath(name).suffix.lower() in EXTENSIONS or bool(_GENERAL_NAME.fullmatch(name.lower()))


def parse_list(data: bytes, name: str) -> tuple[list[Entry], list[str]]:
    """The entries of the list called `name`, and what is wrong with it, line by line ('line 3: ...')."""
    try:
        text = _decode(data)
    except UnicodeDecodeError as problem:
        line = data[: problem.start].count(b"\n") + 1
        return [], [f"line {line}: its letters are not UTF-8, so no line of the list can be trusted"]
    suffix = PurePosixPath(name).suffix.lower()
    hint = suffix if suffix in EXTENSIONS else name.lower()
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


def gather(checksums: Checksums) -> None:
    """Add every list that came with the card to `checksums`."""
    tree = checksums.tree
    own = tree.folder.name
    under_own_name = _below(own)
    for file in tree.files:
        folder, _, name = file.path.rpartition("/")
        if folder.count("/") == 0 and is_list_name(name):
            here: Base = (lambda path, folder=folder: f"{folder}/{path}") if folder else _as_it_is
            _add(checksums, file.path, [here, _as_it_is, under_own_name], must_know_card=False)
    files, folders = neighbours(tree.folder)
    for name in files:
        if not is_list_name(name):
            continue
        if is_named_after(name, own):
            _add(checksums, f"../{name}", [under_own_name, _as_it_is], must_know_card=False)
        elif not any(name[:length] in folders for length in range(1, len(name))):  # not a neighbour card's list
            _add(checksums, f"../{name}", [under_own_name], must_know_card=True)


def _add(checksums: Checksums, source: str, bases: list[Base], *, must_know_card: bool) -> None:
    """Read one list. `bases` are the places its paths may count from: the one that finds most files is taken."""
    try:
        data = read_small(checksums.tree.folder / source, MAX_BYTES)
    except OSError as problem:
        if not must_know_card:
            _tell(checksums, source, [f"it cannot be read ({problem.strerror})"])
        return
    entries, problems = parse_list(data, PurePosixPath(source).name)

    def found(base: Base) -> int:
        return sum(_place(checksums, base, entry.path) in checksums.tree.sizes for entry in entries)

    base = max(bases, key=found)
    placed = [(_place(checksums, base, entry.path), entry) for entry in entries]
    placed = [(path, entry) for path, entry in placed if path and path != source]  # '*' lists the list itself too
    if not placed and must_know_card:
        return
    checksums.sources.append(source)
    for path, entry in placed:
        checksums.expect(path, entry.algorithm, entry.digest, source)
    if problems:
        _tell(checksums, source, problems)
    elif not placed:
        _tell(checksums, source, ["it lists no file of this card"])


def _tell(checksums: Checksums, source: str, problems: list[str]) -> None:
    shown = "; ".join(problems[:_SHOWN_PROBLEMS])
    more = f"; and {len(problems) - _SHOWN_PROBLEMS:,} more" if len(problems) > _SHOWN_PROBLEMS else ""
    checksums.stop(
        "bad-list",
        f"The checksum list {source} cannot be used whole: {shown}{more}.",
        "Ask for the list again from whoever made it; until then its files are not proven.",
        source,
    )


def _as_it_is(path: str) -> str:
    return path


def _below(name: str) -> Base:
    def place(path: str) -> str | None:
        first, *rest = re.split(r"[/\\]", path, maxsplit=1)
        return rest[0] if first == name and rest else None

    return place


def _place(checksums: Checksums, base: Base, listed: str) -> str | None:
    path = base(listed)
    if path is None:
        return None
    path = checksums.spelled(path)
    if path not in checksums.tree.sizes and "\\" in path:  # made on Windows
        path = checksums.spelled(path.replace("\\", "/"))
    return path


def _decode(data: bytes) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16")
    return data.decode("utf-8-sig")


def _parse_line(line: str, hint: str) -> Entry:
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


def _by_length(digits: int, hint: str) -> str:
    if digits == 16 and "xxh3" in hint and "xxh32" not in hint:
        return "xxh3"
    if digits == 32 and "xxh" in hint:
        return "xxh128"
    if digits not in _BY_LENGTH:
        raise ValueError(f"a checksum has 8, 16, 32, 40, 64 or 128 digits, not {digits}: it may be cut short")
    return _BY_LENGTH[digits]
