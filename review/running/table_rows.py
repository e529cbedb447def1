"""The rows of every table as lines of JSON, the same from SQLite and from PostgreSQL: what a backup is made of.

A line is an array with a value for each column, in the order of the columns' names; lines are in the order of the
keys. So two databases that hold the same give the same bytes, whatever they are.
"""

import hashlib
import json
import uuid
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time
from decimal import Decimal

from django.db import connections, models
from django.db.models import Field, Model

PIECE = 2000  # rows that are held in memory at a time

# Not kept: who is signed in (a backup must not sign anybody in), who was refused lately, and which worker runs where.
LEFT_OUT_APPS = ("sessions", "axes")
LEFT_OUT = ("review.workerseen",)

_AS_THEY_ARE = (  # in JSON and in both databases
    *(models.CharField, models.TextField, models.BooleanField, models.IntegerField, models.FloatField),
    *(models.AutoField, models.BigAutoField),
)


def tables(apps) -> list[type[Model]]:
    """Every model that is kept, those that others refer to first."""
    wanted = {
        model._meta.label_lower: model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed
        and not model._meta.proxy
        and model._meta.app_label not in LEFT_OUT_APPS
        and model._meta.label_lower not in LEFT_OUT
    }
    ordered: dict[str, type[Model]] = {}

    def add(label: str, above: tuple[str, ...]) -> None:
        if label in ordered or label in above:  # tables may refer to each other: keys are looked at when all is there
            return
        for field in wanted[label]._meta.local_concrete_fields:
            if field.remote_field and (other := field.remote_field.model._meta.label_lower) in wanted:
                add(other, (*above, label))
        ordered[label] = wanted[label]

    for label in sorted(wanted):
        add(label, ())
    return list(ordered.values())


def columns(model: type[Model]) -> list[Field]:
    return sorted(model._meta.local_concrete_fields, key=lambda field: field.attname)


def lines(model: type[Model], alias: str) -> Iterator[bytes]:
    """A table's rows, a few thousand of them in memory."""
    names = [field.attname for field in columns(model)]
    rows = model._base_manager.using(alias).order_by("pk").values_list(*names)
    encode = json.JSONEncoder(default=_plain, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode
    for row in rows.iterator(chunk_size=PIECE):
        yield encode(row).encode() + b"\n"


def _plain(value: object) -> str:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, uuid.UUID | Decimal):
        return str(value)
    raise TypeError(f"{type(value).__name__} cannot be kept in a backup")


def digest(model: type[Model], alias: str) -> tuple[int, str]:
    """How many rows a table has, and the SHA-256 of its lines."""
    count, sha256 = 0, hashlib.sha256()
    for line in lines(model, alias):
        count += 1
        sha256.update(line)
    return count, sha256.hexdigest()


class Filler:
    """Writes lines into a table as they are: no field fills in a date of its own, no save() is called."""

    def __init__(self, model: type[Model], alias: str):
        self._connection = connections[alias]
        self._fields = columns(model)
        self._convert = [(place, field) for place, field in enumerate(self._fields) if not _goes_as_it_is(field)]
        quote = self._connection.ops.quote_name
        names = ", ".join(quote(field.column) for field in self._fields)
        marks = ", ".join(["%s"] * len(self._fields))
        self._insert = f"INSERT INTO {quote(model._meta.db_table)} ({names}) VALUES ({marks})"

    def fill(self, found: Iterable[bytes]) -> None:
        """Raises ValueError for a line that is no row of this table."""
        piece = []
        for line in found:
            piece.append(self._row(line))
            if len(piece) >= PIECE:
                self._write(piece)
                piece = []
        if piece:
            self._write(piece)

    def _write(self, rows: list[list]) -> None:
        with self._connection.cursor() as cursor:
            cursor.executemany(self._insert, rows)

    def _row(self, line: bytes) -> list:
        row = json.loads(line)
        if not isinstance(row, list) or len(row) != len(self._fields):
            raise ValueError("a line does not have the table's columns")
        for place, field in self._convert:
            row[place] = self._prepared(field, row[place])
        return row

    def _prepared(self, field: Field, value: object) -> object:
        if isinstance(field, models.JSONField) and not field.null:
            return field.get_db_prep_value(value, self._connection)  # None is JSON's null there
        return field.get_db_prep_save(field.to_python(value), self._connection)


def _goes_as_it_is(field: Field) -> bool:
    return isinstance(getattr(field, "target_field", field), _AS_THEY_ARE)
