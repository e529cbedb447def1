"""Running ffmpeg: one child at a time, watched, bounded, and never left behind.

Graphs are built with ffmpeg-python; its `get_args()` is what `run` and `pipe` take. Files from a
card are hostile until proven otherwise, so `source` lets ffmpeg read that one file only, and only
as one of the containers that cameras and recorders write: a playlist or a list of other files that
calls itself .mp4 is refused whatever its name.
"""

import ctypes
import os
import re
import resource
import signal
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

import ffmpeg
import imageio_ffmpeg

from review.media.errors import MediaFailed

# ffmpeg's names of the containers that are read. None of them can name another file for ffmpeg to open.
CONTAINERS = "mov,mxf,mpegts,mpeg,matroska,avi,wav,w64,aiff,flac,mp3"

# What an ffmpeg may take, far above what footage needs (1.4 GB of addresses for pictures of 7680x4320 on two cores).
LIMITS = ((resource.RLIMIT_AS, 16 << 30), (resource.RLIMIT_FSIZE, 64 << 30), (resource.RLIMIT_CORE, 0))

_MESSAGE_LINES = 40  # how much of what ffmpeg says is kept
_MESSAGE_LINE_BYTES = 1000
_SPEAKER = re.compile(r"^(\[[^\]]* @ 0x[0-9a-f]+\] )+")
_EMPTY_WORDS = (  # what follows from the error, and does not tell it
    "Conversion failed!",
    "Could not open encoder before EOF",
    "Error opening input file",
    "Error opening output file",
    "Error sending frames",
    "Nothing was written",
    "Task finished",
    "Terminating thread",
)


def ffmpeg_binary() -> str:
    """The ffmpeg to run: the FFMPEG environment variable, or the one installed with Rushlight."""
    return os.environ.get("FFMPEG") or imageio_ffmpeg.get_ffmpeg_exe()


def source(*files: Path, **options):
    """An ffmpeg-python input that reads these files and nothing else; `options` are ffmpeg's for an input.

    Several are one recording that the camera cut up, read byte after byte as if they were whole, as transport
    streams may be. Raises MediaFailed for a name that ffmpeg cannot tell from its own separator.
    """
    # An absolute path cannot be taken for a protocol ("http:...") or an option ("-f").
    paths = [os.path.abspath(file) for file in files]
    if len(paths) == 1:
        return ffmpeg.input(paths[0], protocol_whitelist="file", format_whitelist=CONTAINERS, **options)
    if any("|" in path for path in paths):
        raise MediaFailed(f"{paths[0]} is one of several files of a clip, and these cannot be joined with a '|' in it")
    joined = "concat:" + "|".join(paths)
    return ffmpeg.input(joined, protocol_whitelist="concat,file", format_whitelist=CONTAINERS, **options)


def run(
    arguments: Sequence[str],
    *,
    progress: Callable[[int], None] | None = None,
    timeout: float | None = None,
    feed: Iterable[bytes] | None = None,
) -> None:
    """Run ffmpeg to its end.

    `arguments` are those after the program's name, such as ffmpeg-python's `get_args(overwrite_output=True)`.
    `progress` is called with the number of frames written so far; `feed` is what its input `pipe:0` reads, taken as
    ffmpeg asks for it. Raises MediaFailed when ffmpeg fails or
    takes longer than `timeout` seconds; however this function ends, ffmpeg has ended too.
    """
    with pipe(["-progress", "pipe:1", *arguments], timeout=timeout, feed=feed) as report:
        for line in report:
            if progress and line.startswith(b"frame=") and (count := line[6:].strip()).isdigit():
                progress(int(count))


@contextmanager
def pipe(
    arguments: Sequence[str], *, timeout: float | None = None, feed: Iterable[bytes] | None = None
) -> Iterator[BinaryIO]:
    """Run ffmpeg and give what it writes to `pipe:1`. Arguments and errors are those of `run`."""
    command = [
        ffmpeg_binary(),
        *([] if feed else ["-nostdin"]),
        "-hide_banner",
        "-loglevel",
        "error",
        *map(str, arguments),
    ]
    try:
        child = subprocess.Popen(
            command,
            stdin=subprocess.PIPE if feed else subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            preexec_fn=_bounded(),
        )
    except OSError as problem:
        raise MediaFailed(
            f"ffmpeg could not be started: {command[0]}: {problem.strerror}. "
            "Set FFMPEG to the path of an ffmpeg, or unset it to use the one installed with Rushlight."
        ) from None
    message: deque[bytes] = deque(maxlen=_MESSAGE_LINES)
    listener = threading.Thread(target=_listen, args=(child.stderr, message), daemon=True)
    listener.start()
    feeder = threading.Thread(target=_feed, args=(child.stdin, feed), daemon=True) if feed else None
    if feeder:
        feeder.start()
    expired = threading.Event()
    clock = threading.Timer(timeout, lambda: (expired.set(), child.kill())) if timeout else None
    if clock:
        clock.start()
    try:
        yield child.stdout
        child.wait()
    finally:
        if clock:
            clock.cancel()
        if child.poll() is None:
            child.kill()
        child.wait()
        listener.join()
        if feeder:
            feeder.join()
        child.stdout.close()
        child.stderr.close()
    if expired.is_set():
        raise MediaFailed(f"ffmpeg was stopped: it was not done after {timeout:g} seconds")
    if child.returncode:
        raise MediaFailed(_last_words(message, child.returncode))


def _bounded() -> Callable[[], None]:
    """What an ffmpeg does before it starts: it ends with its parent, and cannot outgrow LIMITS."""
    bind = die_with_parent()

    def prepare():
        if bind:
            bind()
        for what, most in LIMITS:
            with suppress(ValueError, OSError):  # a system that limits it more tightly, or not at all
                hard = resource.getrlimit(what)[1]
                resource.setrlimit(what, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))

    return prepare


def die_with_parent() -> Callable[[], None] | None:
    """What a child runs before its program so that it ends when its parent is killed (Linux only)."""
    if not sys.platform.startswith("linux"):
        return None
    prctl, parent = ctypes.CDLL(None).prctl, os.getpid()
    PR_SET_PDEATHSIG = 1

    def bind():
        prctl(PR_SET_PDEATHSIG, signal.SIGKILL)
        if os.getppid() != parent:  # killed between the fork and the line above
            os._exit(1)

    return bind


def _feed(stream: BinaryIO, parts: Iterable[bytes]) -> None:
    with suppress(BrokenPipeError), stream:  # it ended first, and says why by itself
        for part in parts:
            stream.write(part)


def _listen(stream: BinaryIO, message: deque[bytes]) -> None:
    while line := stream.readline(_MESSAGE_LINE_BYTES):
        message.append(line)


def _last_words(message: deque[bytes], code: int) -> str:
    lines = [_SPEAKER.sub("", line.decode(errors="replace").strip()) for line in message]
    telling = [line for line in dict.fromkeys(lines) if line and not line.startswith(_EMPTY_WORDS)]
    if not telling:
        return f"ffmpeg ended with code {code} and said nothing"
    return "ffmpeg failed: " + "; ".join(telling[-3:])
