"""One ASC MHL history as its ascmhl folder holds it, checked against its chain.

    <root>/ascmhl/ascmhl_chain.xml     vouches for each manifest with its c4
    <root>/ascmhl/0001_..._Z.mhl       generation 1, and so on; never changed once written
    <root>/Reels/ascmhl/...            a nested history; a file belongs to the nearest one

ASC Media Hash List specification v1.0. Nothing is written here: the standard's own 'verify' would add a generation.
"""

import os
from collections.abc import Callable, Container, Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import NamedTuple

from pathspec import GitIgnoreSpec

from review.cards.hashing import hash_bytes
from review.cards.manifests.ascmhl_xml import ChainEntry, Generation, OldFormat, parse_chain, parse_manifest
from review.cards.manifests.listed import MAX_BYTES
from review.cards.reading import read_small
from review.cards.tree import HISTORY_FOLDER, is_litter, is_utf8

CHAIN_NAME = "ascmhl_chain.xml"
EXTENSION = ".mhl"


class Trouble(NamedTuple):
    """Something wrong with a history's own files."""

    code: str  # as the finding has that tells it: manifest-altered, bad-list or mhl-not-used
    path: str  # below the card folder
    what: str


class Vouched(NamedTuple):
    """A generation whose bytes are those that the chain recorded."""

    path: str  # of its manifest, below the card folder
    c4: str
    generation: Generation


@dataclass
class Known:
    """What all generations together say. Paths are below the history's root, by the names that they have now."""

    files: dict[str, dict[str, list[tuple[str, str]]]] = field(default_factory=dict)  # algorithm -> (digest, source)
    sizes: dict[str, int] = field(default_factory=dict)  # bytes, where a manifest says
    folders: dict[str, None] = field(default_factory=dict)  # in the order in which they were listed

    def add(self, source: str, generation: Generation) -> None:
        """Take in the next generation. A hash that failed is nothing to compare with."""
        self._rename(generation)
        for file in generation.files:
            known = self.files.setdefault(file.path, {})
            for algorithm, entry in file.hashes.items():
                if not entry.failed:
                    known.setdefault(algorithm, []).append((entry.digest, source))
            if file.size is not None:
                self.sizes.setdefault(file.path, file.size)
        for folder in generation.folders:
            if folder.path:
                self.folders[folder.path] = None

    def _rename(self, generation: Generation) -> None:
        moved = {file.previous_path: file.path for file in generation.files if file.previous_path}
        for folder in generation.folders:
            if folder.previous_path:  # its files need not be listed with their old paths once more
                above = f"{folder.previous_path}/"
                for path in self.files:
                    if path.startswith(above):
                        moved.setdefault(path, f"{folder.path}/{path[len(above) :]}")
                self.folders.pop(folder.previous_path, None)
        carried = {new: self.files.pop(old) for old, new in moved.items() if old in self.files}
        sizes = {new: self.sizes.pop(old) for old, new in moved.items() if old in self.sizes}
        self.files |= carried
        self.sizes |= sizes


@dataclass
class History:
    root: str  # the folder it covers, below the card folder; '' for the card's own
    chain: list[ChainEntry] = field(default_factory=list)
    generations: list[Vouched] = field(default_factory=list)  # in order
    unnamed: list[str] = field(default_factory=list)  # paths of .mhl files beside them that the chain does not name
    troubles: list[Trouble] = field(default_factory=list)

    @property
    def folder(self) -> str:
        """The ascmhl folder, below the card folder."""
        return below(self.root, HISTORY_FOLDER)

    @property
    def known(self) -> Known:
        known = Known()
        for vouched in self.generations:
            known.add(vouched.path, vouched.generation)
        return known

    @property
    def ignore_patterns(self) -> list[str]:
        """Those of the latest generation: the list may only grow."""
        return self.generations[-1].generation.ignore_patterns if self.generations else []

    def ignore_rule(self) -> Callable[[str], bool]:
        """Whether a path below the root is left out; a folder's path ends in '/'. Raises ValueError for patterns
        that cannot be read."""
        return ignore_rule(self.ignore_patterns)


def ignore_rule(patterns: Iterable[str]) -> Callable[[str], bool]:
    """Patterns are lines of a .gitignore file, relative to the history's root (specification 5.6.1.2, appendix C)."""
    return cache(GitIgnoreSpec.from_lines(patterns).match_file)  # slow, and asked several times for each path


def below(root: str, path: str) -> str:
    """`path`, which counts from the folder `root`, counted from the card folder."""
    return f"{root}/{path}" if root and path else root or path


def history_roots(folder: Path, folders: Iterable[str]) -> list[str]:
    """Those of the card folder ('') and its `folders` that have a history of their own."""
    return [root for root in ("", *folders) if _is_folder(folder / root / HISTORY_FOLDER)]


def nearest_root(path: str, roots: Container[str]) -> str | None:
    """The root of the history that a file or folder belongs to; None if none covers it."""
    folder = path
    while folder:
        folder = folder.rpartition("/")[0]
        if folder in roots:
            return folder
    return None


def read_history(folder: Path, root: str) -> History:
    """The history that covers `root` of the card in `folder`. It never raises for what is in it: see `troubles`."""
    history = History(root)
    chain_path = f"{history.folder}/{CHAIN_NAME}"

    def altered(path: str, what: str) -> None:
        history.troubles.append(Trouble("manifest-altered", path, f"{path} {what}"))

    try:
        history.chain = parse_chain(read_small(folder / chain_path, MAX_BYTES))
    except FileNotFoundError:
        altered(chain_path, "is missing: without it nothing tells whether the manifests beside it are whole.")
        return history
    except (OSError, ValueError) as problem:
        altered(chain_path, f"cannot be read: {problem}.")
        return history
    if [entry.number for entry in history.chain] != list(range(1, len(history.chain) + 1)) or not history.chain:
        altered(chain_path, "does not count its generations from 1 without a gap: some are missing.")
    for entry in history.chain:
        path = f"{history.folder}/{entry.path}"
        data, problem = vouched_bytes(folder, path, entry.c4, "the chain")
        if data is None:
            altered(path, problem)
            continue
        try:
            history.generations.append(Vouched(path, entry.c4, parse_manifest(data)))
        except ValueError as problem:
            history.troubles.append(Trouble("bad-list", path, f"The manifest {path} cannot be used: {problem}."))
    named = {entry.path for entry in history.chain}
    for name in sorted(os.listdir(folder / history.folder)):
        if name.lower().endswith(EXTENSION) and name not in named and is_utf8(name) and not is_litter(name):
            history.unnamed.append(f"{history.folder}/{name}")
    return history


def vouched_bytes(folder: Path, path: str, c4: str, witness: str) -> tuple[bytes | None, str]:
    """The manifest's bytes, if they are those that `witness` saw; else None and what is wrong with it."""
    try:
        data = read_small(folder / path, MAX_BYTES)
    except FileNotFoundError:
        return None, f"is missing, though {witness} names it."
    except OSError as problem:
        return None, f"cannot be read: {problem.strerror}."
    if hash_bytes(data, "c4") == c4:
        return data, ""
    return None, f"was altered after {witness} recorded it; it was not used."


def why_unused(folder: Path, path: str) -> str:
    """Why an .mhl file that no chain names does not serve."""
    try:
        parse_manifest(read_small(folder / path, MAX_BYTES))
    except OldFormat as problem:
        return str(problem)
    except (OSError, ValueError) as problem:
        return f"it cannot be read: {problem}"
    return "no chain vouches for it"


def _is_folder(path: Path) -> bool:
    return path.is_dir() and not path.is_symlink()
