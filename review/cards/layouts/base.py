"""What reading a card's layout gives: which files make which clip."""

import os
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import PurePosixPath
from typing import BinaryIO, Literal

from review.cards.findings import Finding
from review.cards.tree import CardTree

COPY_AGAIN = "Copy the whole card again, from its top folder, before it is wiped; then check again."


@dataclass(frozen=True)
class ClipPlan:
    """One continuous recording. Paths are below the card folder; `files` are in recording order.

    Where sound was recorded to files of its own, `sound_files` has for each of `files` those that ran beside it, in
    the order of their channels; it is empty where the files hold all there is.
    """

    name: str  # one clip of the card has it
    files: tuple[str, ...]
    sidecars: tuple[str, ...] = ()
    kind: Literal["video", "sound"] = "video"
    sound_files: tuple[tuple[str, ...], ...] = ()

    @property
    def essence(self) -> tuple[str, ...]:
        """All files that hold its pictures and sound."""
        return (*self.files, *(path for beside in self.sound_files for path in beside))


@dataclass(frozen=True)
class LayoutReading:
    layout: str  # in words, for people
    clips: tuple[ClipPlan, ...] = ()
    findings: tuple[Finding, ...] = ()
    taken: frozenset[str] = frozenset()  # files that no other layout is to look at
    tops: frozenset[str] = frozenset()  # folders that a card of this layout lies in: "" if the card folder is the card


class Places:
    """The paths of a card by what they are without regard to case."""

    def __init__(self, paths: Iterable[str]):
        self._here: dict[str, str] = {}
        for path in paths:
            self._here.setdefault(path.casefold(), path)

    def find(self, path: str) -> str | None:
        """The path as it is written on the card; None if it is not there."""
        return self._here.get(path.casefold())


@contextmanager
def opened(tree: CardTree, path: str) -> Iterator[BinaryIO]:
    """A file of the card, to be read in places. Raises OSError (with `strerror`) if it is a link or closed to us."""
    with open(os.open(tree.folder / path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC), "rb") as file:
        yield file


@lru_cache(maxsize=1 << 17)  # asked for every file of a card by every layout
def extension(path: str) -> str:
    """The extension of a file in lower case, with its dot."""
    return PurePosixPath(path).suffix.lower()


def stem(path: str) -> str:
    return PurePosixPath(path).stem


def folder_of(path: str) -> str:
    """The folder that a file or folder lies in; '' for the card folder."""
    return path.rpartition("/")[0]


def below(folder: str, path: str) -> str:
    """`path`, which is taken from `folder`, as a path below the card folder."""
    return f"{folder}/{path}" if folder else path


def named(plans: Iterable[ClipPlan]) -> tuple[ClipPlan, ...]:
    """Each plan with a name no other has: its first file's stem; else its path without, or even with, extension."""
    plans = tuple(plans)
    paths = [plan.files[0] for plan in plans]
    names = [stem(path) for path in paths]
    for longer in (lambda path: str(PurePosixPath(path).with_suffix("")), lambda path: path):
        uses = Counter(names)
        names = [name if uses[name] == 1 else longer(path) for name, path in zip(names, paths, strict=True)]
    return tuple(replace(plan, name=name) for plan, name in zip(plans, names, strict=True))
