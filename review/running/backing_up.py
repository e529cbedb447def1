"""One file with everything that people and checks wrote down, made while they work, and put back into any database.

    manifest.json            the version, the state of the tables, and for each its columns, rows and SHA-256
    tables/<table>.jsonl     its rows (review/running/table_rows.py)

It does not hold the proxies and filmstrips, which can be made again; the key that signs sessions; or card folders.
"""

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from review.refusals import Refusal
from review.running.snapshots import scratch, snapshot
from review.running.table_rows import Filler, columns, digest, lines, tables
from review.work import jobs

FORM = 1  # of the file
_MANIFEST = "manifest.json"
_MOST_MANIFEST = 4 << 20  # bytes
_MOST_LINE = 64 << 20  # bytes of one row
_OLDEST_ZIP_DAY = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True)
class Table:
    label: str
    columns: list[str]
    rows: int
    sha256: str


@dataclass(frozen=True)
class Manifest:
    form: int
    version: str  # of Rushlight
    made_at: str
    migrations: list[list[str]]  # [app, name] of those that made the tables what they were
    tables: list[Table]

    @property
    def rows(self) -> int:
        return sum(table.rows for table in self.tables)


# Making one ------------------------------------------------------------------------------------


def back_up(path: Path) -> Manifest:
    """Write a backup of this moment. Nobody waits for it; a file of that name is never written over."""
    if path.exists():
        raise Refusal(f"{path} is there already; give another name, or move it away.", "file")
    unfinished = path.with_name(f".{path.name}.part")
    try:
        with os.fdopen(os.open(unfinished, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600), "w+b") as file:
            with snapshot() as alias, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=4) as kept:
                made = _write(kept, alias)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
    return made


def _write(kept: zipfile.ZipFile, alias: str) -> Manifest:
    applied = sorted(_of_ours(MigrationRecorder(connections[alias]).applied_migrations()))
    written = []
    for model in tables(apps):
        count, sha256 = 0, hashlib.sha256()
        with kept.open(
            zipfile.ZipInfo(_member(model._meta.label_lower), _OLDEST_ZIP_DAY), "w", force_zip64=True
        ) as out:
            for line in lines(model, alias):
                out.write(line)
                sha256.update(line)
                count += 1
        names = [field.attname for field in columns(model)]
        written.append(Table(model._meta.label_lower, names, count, sha256.hexdigest()))
    made_at = timezone.now().isoformat(timespec="seconds")
    manifest = Manifest(FORM, settings.VERSION, made_at, [list(each) for each in applied], written)
    kept.writestr(_MANIFEST, json.dumps(asdict(manifest), indent=1))
    return manifest


def _of_ours(migrations) -> set[tuple[str, str]]:
    """Without those of parts that Rushlight was once made of, whose tables may still lie in a database unused."""
    return {(app, name) for app, name in migrations if app in apps.app_configs}


def _member(label: str) -> str:
    return f"tables/{label}.jsonl"


def check(path: Path) -> Manifest:
    """Restore a backup into a database that is thrown away, and compare every table with the backup. Raises Refusal
    with what is not the same."""
    with (
        _opened(path) as (kept, manifest),
        tempfile.TemporaryDirectory(dir=path.parent) as folder,
        scratch(Path(folder)) as alias,
    ):
        found = {model._meta.label_lower: digest(model, alias) for model in _fill(kept, manifest, alias)}
    wrong = [table.label for table in manifest.tables if found[table.label] != (table.rows, table.sha256)]
    if wrong:
        raise Refusal(f"{path} came out different in {', '.join(wrong)}: do not rely on it, and make another.", "file")
    return manifest


# Putting one back ------------------------------------------------------------------------------


def restore(path: Path, *, replace: bool = False) -> Manifest:
    """Bring back what a backup holds, all of it or nothing, and the tables up to date. With `replace`, what is in the
    database goes; without, a database that holds something is refused."""
    connection = connections[DEFAULT_DB_ALIAS]
    with _opened(path) as (kept, manifest):
        if not replace and _holds_something(connection):
            raise Refusal(
                "The database is not empty. Restore into a new one, or give --replace to lose what is in it.", "replace"
            )
        _fill(kept, manifest, DEFAULT_DB_ALIAS)
    call_command("migrate", interactive=False, verbosity=0)
    jobs.begin_anew()
    return manifest


def _holds_something(connection) -> bool:
    there = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for name in ("review_person", "review_production"):
            if name in there:
                cursor.execute(f"SELECT 1 FROM {connection.ops.quote_name(name)} LIMIT 1")
                if cursor.fetchone():
                    return True
    return False


def _fill(kept: zipfile.ZipFile, manifest: Manifest, alias: str) -> list:
    """Make the tables what they were when the backup was made, and fill them. Returns their models as of then."""
    connection = connections[alias]
    models = tables(_bring_to(manifest, connection))
    described = {table.label: table for table in manifest.tables}
    if {model._meta.label_lower: [field.attname for field in columns(model)] for model in models} != {
        table.label: table.columns for table in manifest.tables
    }:
        raise Refusal("The backup does not hold the tables that its own manifest says; it is damaged.", "file")
    with transaction.atomic(using=alias):
        with connection.cursor() as cursor:
            for model in reversed(models):
                cursor.execute(f"DELETE FROM {connection.ops.quote_name(model._meta.db_table)}")
        for model in models:
            table = described[model._meta.label_lower]
            try:
                Filler(model, alias).fill(_checked_lines(kept, table))
            except (ValueError, DatabaseError) as problem:
                raise Refusal(
                    f"The backup's table {table.label} cannot be put back ({' '.join(str(problem).split())}). Nothing "
                    "was changed; take another backup.",
                    "file",
                ) from None
        with connection.cursor() as cursor:
            for statement in connection.ops.sequence_reset_sql(no_style(), models):
                cursor.execute(statement)
    return models


def _bring_to(manifest: Manifest, connection):
    """The registry of models as of a backup, once the database's tables are so. Raises Refusal when they cannot be."""
    executor = MigrationExecutor(connection)
    wanted = {tuple(each) for each in manifest.migrations}
    if newer := wanted - set(executor.loader.graph.nodes):
        raise Refusal(
            f"The backup was made by Rushlight {manifest.version}, and this one cannot make its tables "
            f"({', '.join('.'.join(each) for each in sorted(newer)[:3])}). Install that version, and restore with it.",
            "file",
        )
    if _of_ours(executor.loader.applied_migrations) - wanted:
        raise Refusal(
            "The database's tables are newer than the backup's. Restore into a new, empty database: it is brought up "
            "to date afterwards.",
            "file",
        )
    graph = executor.loader.graph
    last = [each for each in sorted(wanted) if not any(child.key in wanted for child in graph.node_map[each].children)]
    executor.migrate(last)
    return executor.loader.project_state(last).apps


def _checked_lines(kept: zipfile.ZipFile, table: Table) -> Iterator[bytes]:
    """A table's lines. Raises ValueError when they are not those that the manifest tells of."""
    count, sha256 = 0, hashlib.sha256()
    with kept.open(_member(table.label)) as file:
        while line := file.readline(_MOST_LINE):
            if not line.endswith(b"\n"):
                raise ValueError("a line is too long or has no end")
            count += 1
            sha256.update(line)
            yield line
    if (count, sha256.hexdigest()) != (table.rows, table.sha256):
        raise ValueError("its rows are not those that were written")


class _opened:
    """A backup that can be read, and its manifest."""

    def __init__(self, path: Path):
        self._path = path

    def __enter__(self) -> tuple[zipfile.ZipFile, Manifest]:
        try:
            self._kept = zipfile.ZipFile(self._path)
        except zipfile.BadZipFile:
            raise Refusal(f"{self._path} is no backup: it cannot be opened, or is cut short.", "file") from None
        try:
            return self._kept, _read_manifest(self._kept)
        except (KeyError, TypeError, ValueError, AttributeError, zipfile.BadZipFile):
            self._kept.close()
            raise Refusal(f"{self._path} is no backup: it has no manifest that can be read.", "file") from None
        except Refusal:
            self._kept.close()
            raise

    def __exit__(self, kind, problem, trace) -> None:
        self._kept.close()
        if isinstance(problem, zipfile.BadZipFile | KeyError):
            raise Refusal(f"{self._path} is damaged ({problem}); nothing was changed.", "file") from None


def _read_manifest(kept: zipfile.ZipFile) -> Manifest:
    if kept.getinfo(_MANIFEST).file_size > _MOST_MANIFEST:
        raise ValueError("too large")
    read = json.loads(kept.read(_MANIFEST))
    if read["form"] != FORM:
        raise Refusal(f"The backup is of a form ({read['form']}) that this Rushlight does not know.", "file")
    return Manifest(**read | {"tables": [Table(**table) for table in read["tables"]]})
