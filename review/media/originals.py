"""Opening small things on a card for reading: regular files only, never through a link, and not more than asked for."""

import os
import stat
from pathlib import Path
from typing import BinaryIO


def open_original(path: Path) -> BinaryIO:
    """`path` for reading. Raises OSError, as for any file that cannot be opened, for a link, a pipe or a device."""
    # A pipe would keep the caller waiting for somebody to write: without O_NONBLOCK it waits inside open.
    handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | getattr(os, "O_NOFOLLOW", 0))
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(f"{path} is not a file")
        return os.fdopen(handle, "rb")
    except BaseException:
        os.close(handle)
        raise


def read_small(path: Path, most: int) -> bytes:
    """All of a file of at most `most` bytes. Raises ValueError if it is longer, OSError if it cannot be read."""
    with open_original(path) as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise ValueError(f"is longer than {most:,} bytes")
    return data
