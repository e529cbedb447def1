"""Hashes of files, several at once while every byte is read only once."""

import hashlib
import os
import stat
import threading
from collections.abc import Callable, Collection, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import SimpleQueue

import xxhash

OWN_ALGORITHM = "xxh128"  # the fastest of those that tell any damage; used where nobody asked for another
BUFFER_BYTES = 4 * 1024 * 1024

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
    "c4": _C4,
}


def hash_bytes(data: bytes, algorithm: str) -> str:
    """The digest of `data`; `algorithm` is a key of HASHERS."""
    hasher = HASHERS[algorithm]()
    hasher.update(data)
    return hasher.hexdigest()


def hash_files(
    folder: Path,
    wanted: Mapping[str, Collection[str]],
    progress: Callable[[int], None] | None = None,
    threads: int = 2,
) -> tuple[dict[str, dict[str, str]], dict[str, str]]:
    """Hash files of `folder`: `wanted` gives the algorithms (keys of HASHERS) for each path below it.

    Returns ({path: {algorithm: digest}}, {path: why it could not be read}). Links are not followed.
    `progress` is called with the bytes newly read, in the calling thread; what it raises ends the work.
    """
    hashes: dict[str, dict[str, str]] = {}
    failures: dict[str, str] = {}
    own = threading.local()
    stopped = threading.Event()
    news: SimpleQueue[int | None] = SimpleQueue()  # bytes newly read; None when a file is done with

    def work(path: str) -> None:
        try:
            if not hasattr(own, "buffer"):
                own.buffer = memoryview(bytearray(BUFFER_BYTES))
            hashers = {name: HASHERS[name]() for name in wanted[path]}
            for count in _read_through(folder / path, own.buffer):
                if stopped.is_set():
                    return
                for hasher in hashers.values():
                    hasher.update(own.buffer[:count])
                news.put(count)
            hashes[path] = {name: hasher.hexdigest() for name, hasher in hashers.items()}
        except OSError as problem:
            failures[path] = problem.strerror or str(problem)
        finally:
            news.put(None)

    with ThreadPoolExecutor(threads, thread_name_prefix="hash") as pool:
        tasks = [pool.submit(work, path) for path in wanted]
        try:
            unfinished = len(tasks)
            while unfinished:
                count = news.get()
                if count is None:
                    unfinished -= 1
                elif progress:
                    progress(count)
        finally:
            stopped.set()
            pool.shutdown(cancel_futures=True)
        for task in tasks:
            task.result()
    return hashes, failures


def _read_through(path: Path, buffer: memoryview) -> Iterator[int]:
    """Fill `buffer` with the file's next bytes, again and again, and yield how many there are."""
    # O_NONBLOCK: a pipe put in a file's place must not make us wait for ever.
    descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    with open(descriptor, "rb", buffering=0) as file:
        if not stat.S_ISREG(os.fstat(descriptor).st_mode):
            raise OSError("it is not a file")
        while count := file.readinto(buffer):
            yield count
