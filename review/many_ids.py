"""Thousands of ids in one question to the database, SQLite and PostgreSQL each in its own way."""

import json
from collections.abc import Iterable

from django.db import connection
from django.db.models import BigIntegerField
from django.db.models.expressions import RawSQL


def among(ids: Iterable[int]) -> RawSQL:
    """These ids, for `__in`, as one parameter: thousands of them take long to write and to read, and are planned anew
    for each."""
    if connection.vendor == "postgresql":
        return RawSQL("SELECT unnest(%s::bigint[])", [list(ids)], output_field=BigIntegerField())
    return RawSQL("SELECT value FROM json_each(%s)", [json.dumps(list(ids))], output_field=BigIntegerField())
