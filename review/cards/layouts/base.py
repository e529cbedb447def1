"""What reading a card's layout gives: which files make which clip."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import Literal

from review.cards.findings import Finding


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


def extension(path: str) -> str:
    """The extension of a file in lower case, with its dot."""
    return PurePosixPath(path).suffix.lower()


def stem(path: str) -> str:
    return PurePosixPath(path).stem


def named(plans: Iterable[ClipPlan]) -> tuple[ClipPlan, ...]:
    """Each plan with a name no other has: its first file's stem; else its path without, or even with, extension."""
    plans = tuple(plans)
    paths = [plan.files[0] for plan in plans]
    names = [stem(path) for path in paths]
    for longer in (lambda path: str(PurePosixPath(path).with_suffix("")), lambda path: path):
        uses = Counter(names)
        names = [name if uses[name] == 1 else longer(path) for name, path in zip(names, paths, strict=True)]
    return tuple(replace(plan, name=name) for plan, name in zip(plans, names, strict=True))
