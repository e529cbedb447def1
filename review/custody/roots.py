"""The card roots: the folders under which card folders live, and the way into them that cannot lead out."""

import os
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from review.cards.tree import is_litter
from review.custody import naming
from review.refusals import Refusal


def safe_folder(path: str | Path) -> Path:
    """`path` if it is a real folder below a card root, reached without '..' or links; else a Refusal."""
    folder = Path(path)
    shown = ascii(str(path)) if not str(path).isprintable() else str(path)
    if ".." in folder.parts or "\0" in str(path):
        raise Refusal(f"{shown} leads out of the card roots; give the folder's own path.", "folder")
    folder = folder.absolute()
    for root in settings.CARD_ROOTS:
        if root not in folder.parents:
            continue
        try:
            step = root
            for part in folder.relative_to(root).parts:
                step = step / part
                if step.is_symlink():
                    raise Refusal(f"{shown} is reached through a link; copy the card itself under {root}.", "folder")
            if not folder.is_dir():
                raise Refusal(f"{shown} is not a folder that is there now; look at the drive and its cable.", "folder")
        except OSError as problem:
            raise Refusal(f"{shown} cannot be read ({problem.strerror}).", "folder") from None
        try:
            str(folder).encode()
        except UnicodeEncodeError:
            raise Refusal(f"{shown} has a name that is not UTF-8 text; it must be named again.", "folder") from None
        return folder
    roots = os.pathsep.join(map(str, settings.CARD_ROOTS))
    raise Refusal(f"{shown} is not under a card root ({roots}); set RUSHLIGHT_CARDS to the folder above it.", "folder")


def root_is_there(folder: Path) -> bool:
    """Whether the card root above a folder is there now; where it is not, its drive is away."""
    return any(root in folder.parents and root.is_dir() for root in settings.CARD_ROOTS)


def card_folders() -> Iterator[Path]:
    """The folders under the roots that look like cards: the roots' own children, and below a child
    that is only a shelf (its name is no card's, and it holds folders that are)."""
    fits = naming.card_name_test()
    for root in settings.CARD_ROOTS:
        for child in _subfolders(root):
            if not fits(child.name) and any(fits(below.name) for below in _subfolders(child)):
                yield from _subfolders(child)
            else:
                yield child


def _subfolders(folder: Path) -> list[Path]:
    try:
        with os.scandir(folder) as entries:
            found = [Path(e.path) for e in entries if e.is_dir(follow_symlinks=False) and not is_litter(e.name)]
    except OSError:
        return []  # a root that is away for now
    return sorted(path for path in found if not path.name.startswith("."))
