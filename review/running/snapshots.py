"""Reading a whole database as it was at one moment, while people go on writing. The module that knows how each kind
of database is asked for that.

SQLite: a plain transaction on a connection of its own; with the write-ahead log a reader sees what was there when it
began and holds nobody up (sqlite.org/isolation.html). PostgreSQL: one transaction, REPEATABLE READ and READ ONLY
(postgresql.org/docs/current/transaction-iso.html).
"""

from collections.abc import Iterator
from contextlib import contextmanager
from copy import deepcopy
from pathlib import Path

from django.db import DEFAULT_DB_ALIAS, connections, transaction


@contextmanager
def snapshot() -> Iterator[str]:
    """Yields the alias of a connection that sees one moment until the block ends, and cannot write."""
    described = deepcopy(connections[DEFAULT_DB_ALIAS].settings_dict)
    is_sqlite = connections[DEFAULT_DB_ALIAS].vendor == "sqlite"
    if is_sqlite:
        described["OPTIONS"]["transaction_mode"] = "DEFERRED"  # IMMEDIATE would be a writer
    with _extra("snapshot", described) as alias, transaction.atomic(using=alias), connections[alias].cursor() as cursor:
        if is_sqlite:
            cursor.execute("PRAGMA query_only = yes")
            cursor.execute("SELECT 1 FROM sqlite_master LIMIT 1")  # the moment is that of the first reading
        else:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            cursor.execute("SELECT 1")
        yield alias


@contextmanager
def scratch(folder: Path) -> Iterator[str]:
    """Yields the alias of a new, empty SQLite database in a folder, which goes when the block ends."""
    described = deepcopy(connections[DEFAULT_DB_ALIAS].settings_dict)
    described |= {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": folder / "scratch.sqlite3",
        # What is thrown away need not survive a power cut.
        "OPTIONS": {"init_command": "PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF"},
    }
    with _extra("scratch", described) as alias:
        yield alias


@contextmanager
def _extra(alias: str, described: dict) -> Iterator[str]:
    connections.settings[alias] = described
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias]
        del connections.settings[alias]
