"""Reading the small files on a card that say something about the rest: lists, manifests, playlists."""

import os
import stat
from pathlib import Path


def read_small(path: Path, limit: int) -> bytes:
    """The whole file. Raises OSError (with `strerror`) if it is a link, no file, unreadable, or over `limit` bytes."""
    descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    with open(descriptor, "rb") as file:
        status = os.fstat(descriptor)
        if not stat.S_ISREG(status.st_mode):
            raise OSError(0, "it is not a file")
        if status.st_size > limit:
            raise OSError(0, f"it is too big to be one: {status.st_size:,} bytes")
        return file.read(limit)
