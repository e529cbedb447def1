"""Whether this house can do its work: what /readyz, the machines page and a container's own check ask.

The words are for strangers too: they name no host, no path and nobody.
"""

import logging
import tempfile
import threading
import time
from dataclasses import dataclass
from functools import cache

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from logging_app.celery import app
from review.models import WorkerSeen
from review.work import workers

REMEMBERED = 1.0  # seconds: however often it is asked, it is looked at once in this time
QUEUE_PATIENCE = 2.0  # seconds

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Answer:
    name: str
    good: bool
    says: str


_lock = threading.Lock()
_last: tuple[float, list[Answer]] | None = None


def ready() -> list[Answer]:
    """An answer for everything that the work needs, none older than a second."""
    global _last
    with _lock:
        if _last is None or time.monotonic() - _last[0] >= REMEMBERED:
            _last = time.monotonic(), look()
        return _last[1]


def look() -> list[Answer]:
    """Look now. Without a database, what is written in it is not known."""
    database = _database()
    if not database.good:
        unknown = [Answer(name, False, "not known while the database is away") for name in ("tables", "scheduler")]
        return [database, unknown[0], _queue(), _home(), unknown[1]]
    return [database, _tables(), _queue(), _home(), _scheduler()]


def _database() -> Answer:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError as problem:
        log.warning("the database does not answer: %s", problem)
        connection.close()
        return Answer("database", False, "does not answer")
    return Answer("database", True, "answers")


def _tables() -> Answer:
    try:
        missing = _wanted() - set(MigrationRecorder(connection).applied_migrations())
    except DatabaseError as problem:
        log.warning("the tables cannot be looked at: %s", problem)
        return Answer("tables", False, "cannot be looked at")
    if missing:
        return Answer("tables", False, "are not as this version wants them; run: manage.py migrate")
    return Answer("tables", True, "are as this version wants them")


@cache
def _wanted() -> frozenset[tuple[str, str]]:
    return frozenset(MigrationLoader(None).disk_migrations)


def _queue() -> Answer:
    try:
        with app.connection_for_write(connect_timeout=QUEUE_PATIENCE) as link:
            link.ensure_connection(max_retries=1, interval_start=0, timeout=QUEUE_PATIENCE)
            link.default_channel.client.ping() if not settings.EMBEDDED else None
    except Exception as problem:  # whatever the courier's library raises, it cannot be reached
        log.warning("the queue cannot be reached: %s", problem)
        return Answer("queue", False, "cannot be reached; work waits in its rows and is sent when it is back")
    return Answer("queue", True, "can be reached")


def _home() -> Answer:
    try:
        with tempfile.TemporaryFile(dir=settings.MEDIA_HOME) as file:
            file.write(b"\0" * 4096)
            file.flush()
    except OSError as problem:
        log.warning("nothing can be written in %s: %s", settings.MEDIA_HOME, problem)
        return Answer("home", False, "cannot be written in: it is full, read-only or not there")
    return Answer("home", True, "can be written in")


def _scheduler() -> Answer:
    try:
        seen = WorkerSeen.objects.filter(name=workers.SCHEDULER).first()
    except DatabaseError as problem:
        log.warning("the scheduler's row cannot be read: %s", problem)
        return Answer("scheduler", False, "cannot be looked up")
    if seen is None:
        return Answer("scheduler", False, "has not been heard of yet")
    ago = round((timezone.now() - seen.heard_at).total_seconds())
    if workers.silent(seen, timezone.now()):
        return Answer("scheduler", False, f"was last heard of {ago} seconds ago; nothing is scanned or swept meanwhile")
    return Answer("scheduler", True, "was heard of lately")
