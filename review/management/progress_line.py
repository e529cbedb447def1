"""The line by which a command says how far a long piece of work is."""

import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from django.db import DatabaseError, connection
from django.db.models import Sum

from review.cards.progress import bytes_line, in_time, left, percent
from review.models import Job

_LOOK_EVERY = 0.5  # seconds
_STEP = 10  # per cent

_IN_BYTES = (Job.Kind.CHECK, Job.Kind.COPY)


class ProgressLine:
    """On a terminal one line that changes; elsewhere a new line every ten per cent."""

    def __init__(self, stream=None, clock: Callable[[], float] = time.monotonic):
        self._stream = stream or sys.stderr
        self._changes = self._stream.isatty()
        self._clock = clock
        self._what = ""
        self._begun_at = 0.0
        self._resumed = 0
        self._goes_on = False  # said once
        self._step = -1
        self._shown = False

    def begin(self, what: str, resumed: int = 0) -> None:
        """`what` begins now; `resumed` bytes or frames of it were done before."""
        self.end()
        self._what, self._begun_at, self._resumed, self._step = what, self._clock(), resumed, -1
        self._goes_on = resumed > 0

    def tell(self, what: str, done: int, total: int, *, in_bytes: bool) -> None:
        """`what` is done as far as `done` of `total`: bytes, or frames."""
        if not total:
            return
        if what != self._what:  # somebody else began it
            self.begin(what, done)
            self._goes_on = False
        step = percent(done, total) // _STEP
        if not self._changes and step == self._step:
            return
        self._step = step
        self._write(f"{what}:{' goes on from' if self._goes_on else ''} {self._words(done, total, in_bytes)}")
        self._goes_on = False

    def _words(self, done: int, total: int, in_bytes: bool) -> str:
        seconds = self._clock() - self._begun_at
        if in_bytes:
            return bytes_line(done, total, self._resumed, seconds)
        rest = left(done, total, self._resumed, seconds)
        return f"{percent(done, total)} %" + (f", {in_time(rest)} left" if rest else "")

    def say(self, words: str) -> None:
        """Words in place of progress, once until they change."""
        if words != self._what:
            self._what, self._step = words, -1
            self._write(words)

    def end(self) -> None:
        """What was told of last is over: the line is cleared, or left behind as it is."""
        if self._shown and self._changes:
            self._stream.write("\r\033[K")
            self._stream.flush()
        self._what, self._shown = "", False

    def _write(self, line: str) -> None:
        self._stream.write(f"\r\033[K{line}" if self._changes else f"{line}\n")
        self._stream.flush()
        self._shown = True


def tell_job(line: ProgressLine, job: Job) -> None:
    line.tell(str(job), job.done, job.total, in_bytes=job.kind in _IN_BYTES)


@contextmanager
def telling_of(line: ProgressLine, job: Job) -> Iterator[None]:
    """While the block does the job in this thread, its row is looked at from another, and told."""
    line.begin(str(job), job.read_files.aggregate(size=Sum("size"))["size"] or 0)
    ended = threading.Event()

    def look():
        while not ended.wait(_LOOK_EVERY):
            with suppress(DatabaseError, Job.DoesNotExist):  # busy, or not to be seen from here: the line can wait
                tell_job(line, Job.objects.select_related("card", "clip").get(id=job.id))
            connection.close()

    watcher = threading.Thread(target=look, daemon=True)
    watcher.start()
    try:
        yield
    finally:
        ended.set()
        watcher.join()
        line.end()
