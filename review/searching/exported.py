"""Which selects are in an export: their ids stand in its events, which each database takes apart in its own way."""

from django.db import connection
from django.db.models import UUIDField
from django.db.models.expressions import RawSQL

from review.models import ListExport, Production, SelectsList

_EVENTS, _LISTS = ListExport._meta.db_table, SelectsList._meta.db_table


def selects(productions: list[Production]) -> RawSQL:
    """The ids of all selects that were ever exported, for `__in`."""
    places = ", ".join(["%s"] * len(productions))
    if connection.vendor == "postgresql":
        events, name = "jsonb_array_elements(x.events) AS e(value)", "(e.value->>0)::uuid"
    else:  # ids are kept without their hyphens there
        events, name = "json_each(x.events) AS e", "replace(json_extract(e.value, '$[0]'), '-', '')"
    sql = (
        f"SELECT {name} FROM {_EVENTS} x JOIN {_LISTS} l ON l.id = x.list_id CROSS JOIN {events} "
        f"WHERE l.production_id IN ({places})"
    )
    return RawSQL(sql, [each.id for each in productions], output_field=UUIDField())
