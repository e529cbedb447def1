"""Hashes of files, several at once while every byte is read only once."""

import hashlib
import os
import stat
import threading
import time
import zlib
from collections.abc import Callable, Collection, Iterator, Mapping
from pathlib import Path
from queue import Queue
from typing import NamedTuple

import xxhash

from review.cards.pace import Pace

OWN_ALGORITHM = "xxh128"  # the fastest of those that tell any damage; used where nobody asked for another
BUFFER_BYTES = 4 * 1024 * 1024

_TELL_AFTER = 0.25  # seconds, and
_TELL_BYTES = 64 * 1024 * 1024  # what a thread has read by then is told: not every small file by itself
_MOST_UNHEARD = 16  # tellings that wait for the caller; further reading waits too
_SMALLEST_READ = 64 * 1024  # bytes at a time, when held to a rate

_C4_DIGITS = "123456789ABCDEFGHJKLMNPQRSTUVWXYZabcdefghijkmnopqrstuvwxyz"
_C4_LENGTH = 90


class _C4:
    """The C4 ID of SMPTE ST 2114: SHA-512 in base 58."""

    def __init__(self):
        self._sha512 = hashlib.sha512()
        self.update = self._sha512.update

    def hexdigest(self) -> str:
        number = int.from_bytes(self._sha512.digest(), "big")
        digits = ""
        while number:
            number, digit = divmod(number, 58)
            digits = _C4_DIGITS[digit] + digits
        return "c4" + digits.rjust(_C4_LENGTH - 2, _C4_DIGITS[0])


class _Crc32:
    """The CRC of .sfv lists; it tells damage, not forgery."""

    def __init__(self):
        self._value = 0

    def update(self, data) -> None:
        self._value = zlib.crc32(data, self._value)

    def hexdigest(self) -> str:
        return f"{self._value:08x}"


# Seeds are 0 and digests lower-case hexadecimal, most significant byte first (C4 has an alphabet of its own).
HASHERS: dict[str, Callable] = {
    "md5": lambda: hashlib.md5(usedforsecurity=False),
    "sha1": lambda: hashlib.sha1(usedforsecurity=False),
    "sha256": hashlib.sha256,
    "sha512": hashlib.sha512,
    "xxh32": xxhash.xxh32,
    "xxh64": xxhash.xxh64,
    "xxh3": xxhash.xxh3_64,
    "xxh128": xxhash.xxh3_128,
    "crc32": _Crc32,
    "c4": _C4,
}


class ReadFile(NamedTuple):
    """A file that was read to its end, as it was then."""

    size: int  # bytes
    modified: float  # seconds since 1970
    hashes: Mapping[str, str]  # algorithm -> digest


def hash_bytes(data: bytes, algorithm: str) -> str:
    """The digest of `data`; `algorithm` is a key of HASHERS."""
    hasher = HASHERS[algorithm]()
    hasher.update(data)
    return hasher.hexdigest()


def digest_bytes(digest: str, algorithm: str) -> bytes:
    """The bytes that a digest's text stands for. Raises ValueError for text that is no digest of `algorithm`."""
    if algorithm != "c4":
        return bytes.fromhex(digest)
    number = 0
    for digit in digest[2:]:
        number = number * 58 + _C4_DIGITS.index(digit)
    return (number % (1 << 512)).to_bytes(64, "big")


def hash_files(
    folder: Path,
    wanted: Mapping[str, Collection[str]],
    progress: Callable[[int], None] | None = None,
    threads: int = 2,
    *,
    sizes: Mapping[str, int] | None = None,
    bytes_per_second: float = 0,
    done: Callable[[str, dict[str, str]], None] | None = None,
    from_the_medium: bool = False,
) -> tuple[dict[str, dict[str, str]], dict[str, str]]:
    """Hash files of `folder`: `wanted` gives the algorithms (keys of HASHERS) for each path below it.

    Returns ({path: {algorithm: digest}}, {path: why it could not be read}). Links are not followed. With `sizes`
    (bytes by path) the biggest files are begun first, so that the threads end together; in their order otherwise.
    `bytes_per_second` holds the average of all threads down; 0 does not. In the calling thread: `progress` is called
    with the bytes newly read, and `done` with each file that was read to its end and its digests, soon after (never
    more than about a gigabyte later); what they raise ends the work. `from_the_medium` asks the system to forget what
    it remembers of a file first: a copy that was just written would be read from memory, and its medium not at all.
    """
    order = sorted(wanted, key=lambda path: -sizes[path]) if sizes else list(wanted)
    reading = _Reading(folder, wanted, iter(order), bytes_per_second, from_the_medium)
    workers = [threading.Thread(target=reading.work, name=f"hash_{n}", daemon=True) for n in range(threads)]
    for worker in workers:
        worker.start()
    hashes: dict[str, dict[str, str]] = {}
    at_work = threads
    try:
        while at_work:
            news = reading.news.get()
            if news is None:
                at_work -= 1
                continue
            count, files = news
            hashes.update(files)
            if count and progress:
                progress(count)
            if done:
                for path, digests in files:
                    done(path, digests)
    finally:
        reading.stopped.set()
        while at_work:  # what they still have to tell is not wanted
            at_work -= reading.news.get() is None
        for worker in workers:
            worker.join()
    if reading.fault:
        raise reading.fault
    return hashes, reading.failures


class _Reading:
    """What the threads share. Each takes the next path, reads the file, and tells what it has done now and then."""

    def __init__(
        self,
        folder: Path,
        wanted: Mapping[str, Collection[str]],
        paths: Iterator[str],
        rate: float,
        from_the_medium: bool,
    ):
        self.prefix = os.path.join(folder, "")
        self.wanted = wanted
        self.paths = paths
        self.from_the_medium = from_the_medium
        self.taking = threading.Lock()
        self.pace = Pace(rate) if rate else None
        self.buffer_bytes = min(BUFFER_BYTES, max(_SMALLEST_READ, int(rate / 20))) if rate else BUFFER_BYTES
        self.failures: dict[str, str] = {}
        self.fault: Exception | None = None
        self.stopped = threading.Event()
        self.news: Queue[tuple[int, list[tuple[str, dict[str, str]]]] | None] = Queue(_MOST_UNHEARD)

    def work(self) -> None:
        try:
            self._read_files()
        except Exception as fault:  # raised again in the calling thread
            self.fault = fault
            self.stopped.set()
        finally:
            self.news.put(None)

    def _read_files(self) -> None:
        buffer = memoryview(bytearray(self.buffer_bytes))
        count, files, told_at = 0, [], time.monotonic()
        while (path := self._next()) is not None:
            hashers = {name: HASHERS[name]() for name in self.wanted[path]}
            updates = [hasher.update for hasher in hashers.values()]
            try:
                for read in _read_through(self.prefix + path, buffer, self.from_the_medium):
                    chunk = buffer[:read]
                    for update in updates:
                        update(chunk)
                    count += read
                    if self.pace:
                        self.stopped.wait(self.pace.owed(read))
                    if self.stopped.is_set():
                        return
                    if count >= _TELL_BYTES or time.monotonic() - told_at >= _TELL_AFTER:
                        self.news.put((count, files))
                        count, files, told_at = 0, [], time.monotonic()
                files.append((path, {name: hasher.hexdigest() for name, hasher in hashers.items()}))
            except OSError as problem:
                self.failures[path] = problem.strerror or str(problem)
        self.news.put((count, files))

    def _next(self) -> str | None:
        with self.taking:
            return None if self.stopped.is_set() else next(self.paths, None)


def _read_through(path: str, buffer: memoryview, from_the_medium: bool) -> Iterator[int]:
    """Fill `buffer` with the file's next bytes, again and again, and yield how many there are."""
    # O_NONBLOCK: a pipe put in a file's place must not make us wait for ever.
    descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        mode = os.fstat(descriptor).st_mode
        if not stat.S_ISREG(mode):
            raise OSError("Is a directory" if stat.S_ISDIR(mode) else "it is not a file")
        if from_the_medium and hasattr(os, "posix_fadvise"):
            os.posix_fadvise(descriptor, 0, 0, os.POSIX_FADV_DONTNEED)
        while count := os.readv(descriptor, (buffer,)):
            yield count
    finally:
        os.close(descriptor)
