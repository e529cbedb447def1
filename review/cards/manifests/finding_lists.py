"""Checksum lists that came with a card: which files are some, and what their paths count from.

They are looked for everywhere in the card's folder and beside it. A list's paths may count from its own folder, from
one above it, from the card's folder or from the folder that the card is in: the place where most files are found is it.
"""

import re
from collections.abc import Callable
from pathlib import PurePosixPath

from review.cards.manifests.ascmhl_reader import tell_unused
from review.cards.manifests.base import Checksums, is_named_after, neighbours
from review.cards.manifests.old_mhl import EXTENSION, is_old_mhl, parse_old_mhl
from review.cards.manifests.plain_lists import is_list_name, parse_list

Base = Callable[[str], str | None]  # a listed path -> the path below the card folder; None for another card's

_SHOWN_PROBLEMS = 3
_MOST_FOLDERS_UP = 8  # from which a list's paths may count
_DEEP = 2  # folders down, where a file that only has the name of a list is more likely than a list that is damaged


def gather(checksums: Checksums) -> None:
    """Add every list that came with the card to `checksums`."""
    tree = checksums.tree
    own = tree.folder.name
    for file in tree.files:
        folder, _, name = file.path.rpartition("/")
        if _is_list(name):
            _add(checksums, file.path, [*_from_folders(folder), _as_it_is, _below(own)], must_know_card=False)
    files, folders = neighbours(tree.folder)
    for name in files:
        if not _is_list(name):
            continue
        if is_named_after(name, own):
            _add(checksums, f"../{name}", [_below(own), _as_it_is], must_know_card=False)
        elif not any(name[:length] in folders for length in range(1, len(name))):  # not a neighbour card's list
            _add(checksums, f"../{name}", [_below(own)], must_know_card=True)


def _is_list(name: str) -> bool:
    return is_list_name(name) or name.lower().endswith(EXTENSION)


def _add(checksums: Checksums, source: str, bases: list[Base], *, must_know_card: bool) -> None:
    """Read one list. `bases` are the places its paths may count from: the one that finds most files is taken."""
    try:
        data = checksums.read_list(source)
    except OSError as problem:
        if not must_know_card:
            _tell(checksums, source, [f"it cannot be read ({problem.strerror})"])
        return
    unclear: list[str] = []
    if source.lower().endswith(EXTENSION):
        if not is_old_mhl(data):
            if not must_know_card:
                tell_unused(checksums, source)
            return
        entries, problems, unclear = parse_old_mhl(data)
    else:
        entries, problems = parse_list(data, PurePosixPath(source).name)

    def found(base: Base) -> int:
        return sum(_place(checksums, base, entry.path) in checksums.tree.sizes for entry in entries)

    tops = {_top(entry.path) for entry in entries}
    if not must_know_card and len(tops) == 1:  # as the card's folder was called where the list was made
        bases = [*bases, _below(tops.pop())]
    base = max(bases, key=found)
    placed = [(_place(checksums, base, entry.path), entry) for entry in entries]
    placed = [(path, entry) for path, entry in placed if path and path != source]  # '*' lists the list itself too
    if not placed and must_know_card:
        return
    if not entries and not unclear and source.count("/") >= _DEEP and not source.startswith("../"):
        what = f"{source} has the name of a checksum list, but holds no line of one."
        checksums.caution("mhl-not-used" if source.lower().endswith(EXTENSION) else "no-list", what, "", source)
        return
    checksums.sources.append(source)
    for path, entry in placed:
        checksums.expect(path, entry.algorithm, entry.digest, source)
        if entry.size is not None:
            checksums.sizes.setdefault(path, entry.size)
    if problems:
        _tell(checksums, source, problems)
    elif not placed and not unclear:
        _tell(checksums, source, ["it lists no file of this card"])
    if unclear:
        _tell_unclear(checksums, source, unclear)


def _tell(checksums: Checksums, source: str, problems: list[str]) -> None:
    checksums.stop(
        "bad-list",
        f"The checksum list {source} cannot be used whole: {_some(problems, '; ')}.",
        "Ask for the list again from whoever made it; until then its files are not proven.",
        source,
    )


def _tell_unclear(checksums: Checksums, source: str, paths: list[str]) -> None:
    checksums.caution(
        "unclear-hash",
        f"{source} gives only a kind of xxHash that programs write in different ways, so it proves nothing, for: "
        f"{_some(paths, ', ')}.",
        "Ask for an ASC MHL history, or for a list of MD5, SHA-1 or big-endian xxHash64 checksums.",
        source,
    )


def _some(words: list[str], between: str) -> str:
    more = f"{between}and {len(words) - _SHOWN_PROBLEMS:,} more" if len(words) > _SHOWN_PROBLEMS else ""
    return between.join(words[:_SHOWN_PROBLEMS]) + more


# What paths count from ---------------------------------------------------------------------------


def _from_folders(folder: str) -> list[Base]:
    """The folder that a list is in and those above it, the nearest first."""
    parts = folder.split("/") if folder else []
    prefixes = ["/".join(parts[:length]) for length in range(len(parts), 0, -1)][:_MOST_FOLDERS_UP]
    return [lambda path, prefix=prefix: f"{prefix}/{path}" for prefix in prefixes]


def _as_it_is(path: str) -> str:
    return path


def _below(name: str) -> Base:
    def place(path: str) -> str | None:
        return path[len(name) + 1 :] or None if _top(path) == name else None

    return place


def _top(path: str) -> str:
    return re.split(r"[/\\]", path, maxsplit=1)[0]


def _place(checksums: Checksums, base: Base, listed: str) -> str | None:
    path = base(listed)
    if path is None:
        return None
    path = checksums.spelled(path)
    if path not in checksums.tree.sizes and "\\" in path:  # made on Windows
        path = checksums.spelled(path.replace("\\", "/"))
    return path
