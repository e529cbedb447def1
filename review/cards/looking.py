"""Looking at media files soon after they were hashed, when their bytes are still in memory, while others are read."""

from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from pathlib import Path
from typing import Any

_THREADS = 2  # each waits for a child process
_MOST_WAITING = 4  # files: more of them may have left the memory before they are looked at
_IDLE_EVERY = 1.0  # seconds


class Looks:
    """Calls `probe` from a few threads. While the caller waits here, `idle` is called in its thread now and then;
    what it raises ends the waiting.

        with Looks(probe, idle) as looks:
            looks.begin(path)
            looks.result(path)      # what probe(path) gave, or raises what it raised
    """

    def __init__(self, probe: Callable[[Path], Any], idle: Callable[[], None]):
        self._probe = probe
        self._idle = idle
        self._begun: dict[Path, Future] = {}
        self._waiting: set[Future] = set()
        self._pool = ThreadPoolExecutor(_THREADS, thread_name_prefix="look")

    def __enter__(self) -> "Looks":
        return self

    def __exit__(self, *_) -> None:
        self._pool.shutdown(wait=False, cancel_futures=True)

    def begin(self, path: Path) -> None:
        """Have a file looked at; waits first while many others wait for it."""
        while len(self._waiting) >= _MOST_WAITING:
            self._wait_for(self._waiting)
        self._begun[path] = self._pool.submit(self._probe, path)
        self._waiting.add(self._begun[path])

    def result(self, path: Path) -> Any:
        if path not in self._begun:
            self.begin(path)
        while not self._begun[path].done():
            self._wait_for({self._begun[path]})
        return self._begun[path].result()

    def _wait_for(self, some: set[Future]) -> None:
        done, _ = wait(some, timeout=_IDLE_EVERY, return_when=FIRST_COMPLETED)
        self._waiting -= done
        self._idle()
