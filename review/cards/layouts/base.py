"""What reading a card's layout gives: which files make which clip."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import Literal

from review.cards.findings import Finding


@dataclass(frozen=True)
class ClipPlan:
    """One continuous recording. Paths are below the card folder; `files` are in recording order."""

    name: str  # one clip of the card has it
    files: tuple[str, ...]
    sidecars: tuple[str, ...] = ()
    kind: Literal["video", "sound"] = "video"


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
