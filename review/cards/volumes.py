"""Which drive, disc or share a folder is on, so that two folders on one of them are not counted as two.

Two parts of one disk, and two names given to one, are not told from two disks here; `file_system` helps to see that.

In this order: what a file `.rushlight-volume` above the folder says (for shares and tapes, which show no number of
their own); the file system's identifier; the place where it is mounted.
"""

import os
from dataclasses import dataclass
from pathlib import Path

from review.cards.reading import read_small

DECLARED = ".rushlight-volume"  # its first line names the volume; it lies outside of every card's folder

_IDENTIFIERS = Path("/dev/disk/by-uuid")  # Linux
_MOST_BYTES = 4096


@dataclass(frozen=True)
class Volume:
    """`identity` is the same whenever this volume is connected; `name` is for people."""

    identity: str
    name: str


def volume_of(folder: Path) -> Volume:
    """The volume that a card's `folder` is on. Raises OSError if the folder cannot be looked at."""
    return _volume(folder, os.stat(folder).st_dev)


def volume_above(folder: Path) -> Volume:
    """The volume of the nearest folder above `folder` that is there: where it would be, if it were. Raises OSError."""
    for parent in folder.absolute().parents:
        if parent.is_dir() and not parent.is_symlink():
            return _volume(parent / "any", os.stat(parent).st_dev)
    raise FileNotFoundError(2, "nothing above it is there", str(folder))


def _volume(folder: Path, device: int) -> Volume:
    """The volume `device` that `folder` is on, by what lies above it."""
    top = folder
    for parent in folder.absolute().parents:
        if os.stat(parent).st_dev != device:
            break
        top = parent
        if declared := _declared(parent):
            return Volume(f"named:{declared}", declared)
    identifier = _identifier(device)
    return Volume(f"filesystem:{identifier}" if identifier else f"mounted:{top}", top.name or "this machine")


def file_system(folder: Path) -> str:
    """The machine's own number of the file system that a folder is on: the same for all folders there, until it is
    connected anew. Raises OSError."""
    return str(os.stat(folder).st_dev)


def _declared(folder: Path) -> str:
    try:
        text = read_small(folder / DECLARED, _MOST_BYTES).decode("utf-8", "replace")
    except OSError:
        return ""
    first = text.strip().splitlines()[:1]
    return "".join(sign for sign in first[0] if sign.isprintable())[:80].strip() if first else ""


def _identifier(device: int) -> str:
    try:
        with os.scandir(_IDENTIFIERS) as entries:
            for entry in entries:
                if os.stat(entry.path).st_rdev == device:
                    return entry.name
    except OSError:
        pass  # not Linux, or a container that shows no devices
    return ""
