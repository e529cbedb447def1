"""What a list may say: paths that stay inside the card, within bounds."""

import re

MAX_BYTES = 64 * 1024 * 1024  # of one list or manifest

_DRIVE = re.compile(r"[A-Za-z]:[\\/]")
_SEPARATOR = re.compile(r"[/\\]")


def stay_inside(path: str) -> str:
    """`path` without './' and doubled slashes. Raises ValueError if it leads out of the folder it counts from."""
    if path.startswith(("/", "\\")) or _DRIVE.match(path) or (".." in path and ".." in _SEPARATOR.split(path)):
        raise ValueError(f"{shortened(path)} leads out of the card, so it was not looked at")
    if "\0" in path:
        raise ValueError(f"{shortened(path)} holds a zero byte")
    parts = [part for part in path.removeprefix(".\\").split("/") if part not in ("", ".")]
    if not parts:
        raise ValueError(f"{shortened(path)} names no file")
    return "/".join(parts)


def shortened(text: str) -> str:
    """`text` in quotes, fit for a message."""
    return repr(text if len(text) <= 60 else f"{text[:57]}...")
