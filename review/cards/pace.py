"""Holding the reading of several threads to one rate, so that a check leaves the disk to those who watch."""

import threading
import time
from collections.abc import Callable

_BURST = 0.1  # seconds: what was not used longer ago than this is lost, or a pause would be made up for at full speed


class Pace:
    """An average of `bytes_per_second` (more than 0) over all threads that ask it.

    pace = Pace(50_000_000)
    sleep(pace.owed(read()))    # in each thread, after each read
    """

    def __init__(self, bytes_per_second: float, clock: Callable[[], float] = time.monotonic):
        self._rate = bytes_per_second
        self._clock = clock
        self._lock = threading.Lock()
        self._paid_until = clock()  # when what was read so far is paid for, in seconds of the clock

    def owed(self, count: int) -> float:
        """The seconds to wait now that `count` bytes more were read."""
        with self._lock:
            now = self._clock()
            self._paid_until = max(self._paid_until, now - _BURST) + count / self._rate
            return max(0.0, self._paid_until - now)
