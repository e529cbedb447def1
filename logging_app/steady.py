"""Celery's scheduler, which a clock that is set back does not stop.

It keeps by the clock on the wall when each task was last sent: after an hour set back it would send none for an hour.
"""

import time

from celery.beat import PersistentScheduler

_NOTICED = 1.0  # seconds


class Steady(PersistentScheduler):
    _ahead: float | None = None  # seconds that the clock on the wall is ahead of the one that only goes on

    def tick(self, *words, **more) -> float:
        ahead = time.time() - time.monotonic()
        if self._ahead is not None and ahead < self._ahead - _NOTICED:
            for entry in self.schedule.values():
                entry.last_run_at = entry.default_now()  # each is sent an interval from now
            self._heap = None
        self._ahead = ahead
        return super().tick(*words, **more)
