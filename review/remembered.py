"""Costly answers, remembered in this process for as long as what they were worked out from is the same.

Whoever asks says by a version what that is: something cheap that changes with it. So nobody has to be told to forget;
and as not everything is on record that somebody may change by hand, nothing is believed for longer than `seconds`.
"""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any


class Remembered:
    """The last `most` answers. Those that are handed out are shared: they must not be changed."""

    def __init__(self, most: int, seconds: float = 60.0):
        self._most, self._seconds = most, seconds
        self._kept: OrderedDict[Hashable, tuple[Hashable, float, Any]] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Hashable, version: Hashable, work_out: Callable[[], Any]) -> Any:
        """The answer to `key` as of `version`, which must have been read before; worked out if it is not remembered."""
        with self._lock:
            kept = self._kept.get(key)
            if kept and kept[0] == version and time.monotonic() < kept[1]:
                self._kept.move_to_end(key)
                return kept[2]
        answer = work_out()
        with self._lock:
            self._kept[key] = version, time.monotonic() + self._seconds, answer
            self._kept.move_to_end(key)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return answer
