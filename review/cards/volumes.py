"""Which drive, disc or share a folder is on, so that two folders on one drive are never counted as two drives.

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
    device = os.stat(folder).st_dev
    top = folder
    for parent in folder.absolute().parents:
        if os.stat(parent).st_dev != device:
            break
        top = parent
        if declared := _declared(parent):
            return Volume(f"named:{declared}", declared)
    identifier = _identifier(device)
    return Volume(f"filesystem:{identifier}" if identifier else f"mounted:{top}", top.name or "this machine")


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
