"""Asking the probing child about one file, and bounding what that costs: time, memory (its own limits) and words."""

import json
import subprocess
import sys
import threading
from pathlib import Path

from review.media.errors import MediaRefused
from review.media.ffmpeg import CONTAINERS, die_with_parent

SLOWEST_STORAGE = 20_000_000  # bytes a second; where there is no index the whole file has to be read
MOST_WORDS = 8 << 20  # bytes

_CHILD = Path(__file__).with_name("probe_child.py")


def ask_child(path: Path, timeout: float) -> dict:
    """What `probe_child.py` tells about the file. Raises MediaRefused, naming it, when there is nothing to be told.

    `timeout` is in seconds and grows with the file by what slow storage needs to read it.
    """
    try:
        size = path.stat().st_size
    except OSError as problem:
        raise MediaRefused(f"{path.name} cannot be opened: {problem.strerror}") from None
    if not path.is_file():
        raise MediaRefused(f"{path.name} is not a file")
    if not size:
        raise MediaRefused(f"{path.name} is empty: it was probably copied in part; copy it again from the card")
    seconds = timeout + size / SLOWEST_STORAGE
    command = [sys.executable, "-P", str(_CHILD), str(path.absolute()), CONTAINERS, str(int(seconds) + 1)]
    said, code, expired = _listen(command, seconds)
    if expired:
        raise MediaRefused(
            f"{path.name} could not be read in {seconds:.0f} seconds: the file is damaged, or the storage is too slow"
        )
    try:
        if len(said) > MOST_WORDS:
            raise ValueError
        return json.loads(said)
    except (ValueError, RecursionError):
        raise MediaRefused(
            f"{path.name} made its reader break down (code {code}): the file is damaged; "
            "play it on another machine, or copy it again from the card"
        ) from None


def _listen(command: list[str], seconds: float) -> tuple[bytes, int, bool]:
    """What a child says, up to one byte more than it may; its exit code; whether its time ran out."""
    expired = threading.Event()
    with subprocess.Popen(
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        preexec_fn=die_with_parent(),
    ) as child:
        clock = threading.Timer(seconds, lambda: (expired.set(), child.kill()))
        clock.start()
        try:
            said = child.stdout.read(MOST_WORDS + 1)
            if len(said) > MOST_WORDS:
                child.kill()
            child.wait()
        finally:
            clock.cancel()
            child.kill()
    return said, child.returncode, expired.is_set()
