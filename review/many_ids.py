"""Thousands of ids in one question to the database, SQLite and PostgreSQL each in its own way."""

import json
from collections.abc import Iterable

import numpy as np
from django.db import connection
from django.db.models import Aggregate, BigIntegerField, TextField
from django.db.models.expressions import RawSQL


def among(ids: Iterable[int]) -> RawSQL:
    """These ids, for `__in`, as one parameter: thousands of them take long to write and to read, and are planned anew
    for each."""
    if connection.vendor == "postgresql":
        return RawSQL("SELECT unnest(%s::bigint[])", [list(ids)], output_field=BigIntegerField())
    return RawSQL("SELECT value FROM json_each(%s)", [json.dumps(list(ids))], output_field=BigIntegerField())


class Together(Aggregate):
    """The ids of a group as one text, that `ids_in` reads: to fetch a row for each takes the longer."""

    function = "GROUP_CONCAT"
    output_field = TextField()

    def as_postgresql(self, compiler, connection, **more):
        template = "STRING_AGG(%(expressions)s::text, ',')"
        return self.as_sql(compiler, connection, template=template, **more)


def ids_in(together: str) -> np.ndarray:
    """In the order in which the database came by them."""
    return np.fromstring(together, np.int64, sep=",")
