"""The full-text index over the words of findable selects, by the database's own means. The one module here that
speaks to SQLite and PostgreSQL each in its own way; both are only ever given plain tokens (folding.py).

SQLite has an FTS5 table beside the rows, kept by triggers (sqlite.org/fts5.html, "External Content Tables"). A later
migration that makes the table of findables anew drops these triggers, and must call `create` again. PostgreSQL has an
index over an expression (postgresql.org/docs/current/functions-textsearch.html: array_to_tsvector).
"""

from contextlib import contextmanager

from django.db import connection, transaction
from django.db.models import Q, TextField, Value
from django.db.models.expressions import RawSQL
from django.db.models.functions import Concat

from review.searching.asking import Question, Word

TABLE = "review_findable"
_INDEX = "review_findable_words"
_VECTOR = f"array_to_tsvector(string_to_array({TABLE}.words, ' '))"

# The `ascii` tokenizer takes every letter that is not ASCII as part of a word, so a word is what stands between spaces.
_SQLITE = f"""
CREATE VIRTUAL TABLE {_INDEX} USING fts5(
    words, content='{TABLE}', content_rowid='id', tokenize='ascii', prefix='2 3', detail=none, columnsize=0);
CREATE TRIGGER {_INDEX}_insert AFTER INSERT ON {TABLE} BEGIN
    INSERT INTO {_INDEX}(rowid, words) VALUES (new.id, new.words); END;
CREATE TRIGGER {_INDEX}_delete AFTER DELETE ON {TABLE} BEGIN
    INSERT INTO {_INDEX}({_INDEX}, rowid, words) VALUES ('delete', old.id, old.words); END;
CREATE TRIGGER {_INDEX}_update AFTER UPDATE OF words ON {TABLE} WHEN old.words <> new.words BEGIN
    INSERT INTO {_INDEX}({_INDEX}, rowid, words) VALUES ('delete', old.id, old.words);
    INSERT INTO {_INDEX}(rowid, words) VALUES (new.id, new.words); END;
"""
_SQLITE_AWAY = "".join(f"DROP TRIGGER IF EXISTS {_INDEX}_{when};" for when in ("insert", "delete", "update"))


def create(schema_editor) -> None:
    """Make the index, and fill it from the rows that are there."""
    remove(schema_editor)
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            f"CREATE INDEX {_INDEX} ON {TABLE} USING gin (array_to_tsvector(string_to_array(words, ' ')))"
        )
        return
    for statement in (
        _SQLITE.strip().replace("END;", "END;\0").replace("columnsize=0);", "columnsize=0);\0").split("\0")
    ):
        if statement.strip():
            schema_editor.execute(statement)
    schema_editor.execute(f"INSERT INTO {_INDEX}({_INDEX}) VALUES ('rebuild')")


def remove(schema_editor) -> None:
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"DROP INDEX IF EXISTS {_INDEX}")
        return
    for statement in [*_SQLITE_AWAY.split(";"), f"DROP TABLE IF EXISTS {_INDEX}"]:
        if statement.strip():
            schema_editor.execute(statement)


def rows_with(question: Question) -> RawSQL:
    """The ids of the findables that hold every word, for `id__in`."""
    if connection.vendor == "postgresql":
        return RawSQL(f"SELECT id FROM {TABLE} WHERE {_VECTOR} @@ %s::tsquery", [_tsquery(question)])
    return RawSQL(f"SELECT rowid FROM {_INDEX} WHERE {_INDEX} MATCH %s", [_match(question)])


def holds(question: Question) -> Q:
    """Whether a row whose `padded` words (see `padded`) are looked at holds every word: where rows are gone through
    one by one in order, neither database's index helps."""
    every = Q()
    for word in question.words:
        one = Q(padded__contains=f" {word.text}")
        for form in word.forms:
            one |= Q(padded__contains=f" {form} ")
        every &= one
    return every


def padded() -> Concat:
    """A row's words with a space before the first and after the last."""
    return Concat(Value(" "), "words", Value(" "), output_field=TextField())


def ids_with(question: Question, most: int) -> list[int]:
    """Up to `most` ids of the findables (of any production) that hold every word."""
    query = rows_with(question)
    with connection.cursor() as cursor, _by_the_index(cursor):
        cursor.execute(f"{query.sql} LIMIT {int(most)}", query.params)
        return [row[0] for row in cursor.fetchall()]


@contextmanager
def _by_the_index(cursor):
    """PostgreSQL reckons that making a vector costs as little as reading a column, and below some hundred thousand rows
    would make one of each row instead of looking into the index."""
    if connection.vendor != "postgresql":
        yield
        return
    with transaction.atomic():
        cursor.execute("SET LOCAL enable_seqscan = off")
        yield
        cursor.execute("SET LOCAL enable_seqscan = on")  # an outer transaction may go on


# Folded words are letters and digits alone: inside quotes neither syntax can take them for anything else.


def _match(question: Question) -> str:
    def one(word: Word) -> str:
        return "(" + " OR ".join([f'"{word.text}"*', *(f'"{form}"' for form in word.forms)]) + ")"

    return " AND ".join(one(word) for word in question.words)


def _tsquery(question: Question) -> str:
    def one(word: Word) -> str:
        return "(" + " | ".join([f"'{word.text}':*", *(f"'{form}'" for form in word.forms)]) + ")"

    return " & ".join(one(word) for word in question.words)
