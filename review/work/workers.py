"""The programs that do the work, and the scheduler: when each was last heard of.

Every worker says so every ten seconds, from its first process and whatever its job is about. The scheduler is heard
when a scan or a sweep that it asks for begins, so that this tells of the whole way: scheduler, queue, worker, database.
"""

import logging
import threading
from datetime import datetime, timedelta

from django.db import DatabaseError, connection
from django.utils import timezone

from review.models import WorkerSeen

BEAT_EVERY = 10.0  # seconds
SILENT_AFTER = timedelta(seconds=45)  # four beats missed
FORGOTTEN_AFTER = timedelta(days=2)
SCHEDULER = "scheduler"

log = logging.getLogger(__name__)


def heard(name: str, queues: list[str] | tuple[str, ...] = (), *, started_at: datetime | None = None) -> None:
    """Write down that a worker lives; `started_at` when it has just begun."""
    now = timezone.now()
    seen = {"heard_at": now, "stopped_at": None} | ({"started_at": started_at} if started_at else {})
    if not WorkerSeen.objects.filter(name=name).update(**seen):
        WorkerSeen.objects.get_or_create(
            name=name, defaults={"queues": ",".join(queues)[:200], "started_at": started_at or now, "heard_at": now}
        )
    elif started_at:
        WorkerSeen.objects.filter(name=name).update(queues=",".join(queues)[:200])


def said_goodbye(name: str) -> None:
    """A worker stopped because it was asked to."""
    WorkerSeen.objects.filter(name=name).update(stopped_at=timezone.now())


def scheduler_heard() -> None:
    heard(SCHEDULER)


def silent(seen: WorkerSeen, now: datetime) -> bool:
    """Whether a worker that has not said goodbye is not heard of any more."""
    return seen.stopped_at is None and now - seen.heard_at > SILENT_AFTER


def alive() -> list[WorkerSeen]:
    """The workers that are at work now, the scheduler apart."""
    since = timezone.now() - SILENT_AFTER
    return list(WorkerSeen.objects.filter(stopped_at=None, heard_at__gte=since).exclude(name=SCHEDULER))


def tidy() -> None:
    """Forget workers that have not been heard of for days: their machines' names do not come back."""
    WorkerSeen.objects.filter(heard_at__lt=timezone.now() - FORGOTTEN_AFTER).delete()


class Heartbeat:
    """Says every ten seconds, from a thread, that this worker lives."""

    def __init__(self, name: str, queues: list[str], every: float = BEAT_EVERY):
        self._name, self._queues, self._every = name, queues, every
        self._ended = threading.Event()
        self._started_at = timezone.now()
        self._thread = threading.Thread(target=self._beat, daemon=True, name="heartbeat")

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Say goodbye, unless the database is away."""
        self._ended.set()
        self._thread.join(timeout=5)
        self._write(said_goodbye, self._name)

    def _beat(self) -> None:
        first = self._started_at
        while True:
            if self._write(heard, self._name, self._queues, started_at=first):
                first = None
            if self._ended.wait(self._every):
                return

    def _write(self, what, *arguments, **more) -> bool:
        try:
            what(*arguments, **more)
        except DatabaseError as problem:
            log.warning("the heartbeat of %s could not be written: %s", self._name, problem)
            return False
        finally:
            connection.close()  # this thread's own; a process that is forked meanwhile inherits none
        return True
