"""The full-text index over the words of findable selects, by the database's own means. The one module here that
speaks to SQLite and PostgreSQL each in its own way; both are only ever given plain tokens (folding.py).

SQLite has an FTS5 table beside the rows, kept by triggers (sqlite.org/fts5.html, "External Content Tables"). A later
migration that makes the table of findables anew drops these triggers, and must call `create` again. PostgreSQL has an
index over an expression (postgresql.org/docs/current/functions-textsearch.html: array_to_tsvector).
"""

from collections.abc import Collection, Iterable
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import connection, transaction
from django.db.models import BigIntegerField, ExpressionWrapper, F, Q, Value
from django.db.models.expressions import Combinable
from django.db.models.functions import StrIndex
from django.db.models.lookups import GreaterThan

from review.searching.asking import Question

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


# What a select is, beside its words: marks that stand among them, as no folded word can, so that one question to the
# index answers for words and filters together.

_SIGN = "§"


def mark(kind: str, value: object) -> str:
    """The mark of a filter: 't' and a tag's id, 'c' and a card's, 'k' and a camera's letter, 'l' and a logger's id,
    'r' and a rating (that or better)."""
    return f"{_SIGN}{kind}{value}"


@dataclass(frozen=True)
class Asked:
    """Every word of the question must be there, and of each group of marks at least one."""

    question: Question
    marks: tuple[tuple[str, ...], ...] = ()

    def __bool__(self) -> bool:
        return bool(self.question.words or self.marks)


def plain_words(words: str) -> list[str]:
    """The words of a row without its marks."""
    return [word for word in words.split() if not word.startswith(_SIGN)]


def ids_with(asked: Asked, most: int) -> list[int]:
    """Up to `most` ids of the findables, of any production, that have everything asked for."""
    if connection.vendor == "postgresql":
        sql = f"SELECT id FROM {TABLE} WHERE {_VECTOR} @@ %s::tsquery LIMIT %s"
        text = _written(asked, "'{}':*", "'{}'", " | ", " & ")
    else:
        sql = f"SELECT rowid FROM {_INDEX} WHERE {_INDEX} MATCH %s LIMIT %s"
        text = _written(asked, '"{}"*', '"{}"', " OR ", " AND ")
    with connection.cursor() as cursor, _by_the_index(cursor):
        cursor.execute(sql, [text, most])
        return [row[0] for row in cursor.fetchall()]


def any_with(asked: Asked, productions: Collection[int]) -> bool:
    """Whether there is a findable of these productions that has everything asked for."""
    marks = ", ".join(["%s"] * len(productions))
    if connection.vendor == "postgresql":
        # OFFSET 0 has it look into this index first, and not make a vector of each row that a production has.
        having = f"SELECT production_id FROM {TABLE} WHERE {_VECTOR} @@ %s::tsquery OFFSET 0"
        text = _written(asked, "'{}':*", "'{}'", " | ", " & ")
    else:
        having = f"SELECT production_id FROM {_INDEX} JOIN {TABLE} ON id = {_INDEX}.rowid WHERE {_INDEX} MATCH %s"
        text = _written(asked, '"{}"*', '"{}"', " OR ", " AND ")
    sql = f"SELECT 1 FROM ({having}) AS having_all WHERE production_id IN ({marks}) LIMIT 1"
    with connection.cursor() as cursor, _by_the_index(cursor):
        cursor.execute(sql, [text, *productions])
        return cursor.fetchone() is not None


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


def _written(asked: Asked, beginning: str, whole: str, either: str, both: str) -> str:
    """In a database's own language. Folded words are letters and digits alone, and marks those after one sign: inside
    quotes no syntax can take them for anything else."""
    groups = [
        [beginning.format(word.text), *(whole.format(form) for form in word.forms)] for word in asked.question.words
    ]
    groups += [[whole.format(each) for each in group] for group in asked.marks]
    return both.join(f"({either.join(group)})" for group in groups)


def has(asked: Asked) -> Q:
    """Whether a row has everything, by its words: where rows are gone through one by one in order, neither database's
    index helps."""
    every = Q()
    for word in asked.question.words:
        every &= _in_row(f" {word.text}") | _any(word.forms)
    for group in asked.marks:
        every &= _any(group)
    return every


def _any(whole: Iterable[str]) -> Q:
    one = Q()
    for each in whole:
        one |= _in_row(f" {each} ")
    return one


def unindexed(column: str) -> Combinable:
    """A column of whole numbers to filter by, without its index. SQLite keeps no count of what columns hold, and would
    start with any index that fits and sort all that it finds there; an expression has none. PostgreSQL counts."""
    if connection.vendor == "postgresql":
        return F(column)
    return ExpressionWrapper(F(column) + Value(0), BigIntegerField())


class _PlaceInRow(StrIndex):
    """Where a text begins in a row's words with a space before the first and after the last; 0 for nowhere."""

    template = "%(function)s(' ' || %(expressions)s)"
    arg_joiner = " || ' ', "


def _in_row(text: str) -> Q:
    # Not LIKE: PostgreSQL would take it for rare, and look at all rows and sort them rather than go through in order.
    return Q(GreaterThan(_PlaceInRow(F("words"), Value(text)), 0))
