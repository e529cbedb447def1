"""Migrations whose every step is there whole or not at all, however it is cut short.

Where a step leaves statements for its end (foreign keys and indexes of new tables), Django writes down that it was done
after the transaction that did it. Killed in between, it would be done again over what is there, and fail for ever. With
nothing left for the end, Django writes it down inside the transaction.
"""

from functools import partial

from django.db.migrations import Migration


def make_whole(sender, plan=(), **about) -> None:
    """Have each migration of a plan execute all its statements itself. Receives `pre_migrate`."""
    for migration, backwards in plan:
        if migration.atomic and not backwards:
            migration.apply = partial(_apply, migration)


def _apply(migration: Migration, state, schema_editor, collect_sql: bool = False):
    state = Migration.apply(migration, state, schema_editor, collect_sql)
    while schema_editor.deferred_sql:
        schema_editor.execute(schema_editor.deferred_sql.pop(0), None)
    return state
