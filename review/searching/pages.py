"""A page of what was found, by key: the next one begins after the last row of this one, however many came before it and
whatever was marked meanwhile."""

import base64
import binascii
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from review.many_ids import among
from review.models import Findable
from review.refusals import Refusal

MOST_COUNTED = 1_000

_ORDER = {
    "shot": ("shot_at", "id"),
    "newest": ("-id",),
    "rating": ("-rating", "shot_at", "id"),
}


@dataclass(frozen=True)
class Page:
    """`before` and `after` are the cursors of the pages beside this one; None where there is none."""

    rows: list[Findable]
    before: str | None
    after: str | None


def shown(rows: QuerySet[Findable]) -> QuerySet[Findable]:
    """With all that is shown of their selects, in a few queries."""
    related = ("select__clip__card__production", "select__logger", "select__worth_keeping")
    return rows.select_related(*related).defer("words", "select__clip__probe").prefetch_related("select__tags")


def page(found: QuerySet[Findable], sort: str, size: int, *, after: str = "", before: str = "") -> Page:
    """The `size` rows after a cursor, or before one, or the first, as `shown`. Raises Refusal for a cursor that is
    none."""
    backwards = bool(before) and not after
    order = [(name.lstrip("-"), name.startswith("-") != backwards) for name in _ORDER[sort]]
    if cursor := after or before:
        found = found.filter(_beyond(order, _read(cursor, len(order))))
    ordering = [f"-{name}" if down else name for name, down in order]
    # First which rows, then what is shown of them: not of all that have to be put in order, nor asked twice.
    ids = list(found.order_by(*ordering).values_list("id", flat=True)[: size + 1])
    more, rows = len(ids) > size, list(shown(Findable.objects.filter(id__in=ids[:size])).order_by(*ordering))
    if backwards:
        rows.reverse()
    # Where one came from there is something, unless the page was left empty.
    came_from = bool(cursor) and bool(rows)
    at_start, at_end = (not more, False) if backwards else (not came_from, not more)
    return Page(
        rows,
        None if at_start or not rows else _write(rows[0], sort),
        None if at_end or not rows else _write(rows[-1], sort),
    )


def ordered(found: QuerySet[Findable], sort: str) -> QuerySet[Findable]:
    return found.order_by(*_ORDER[sort])


def count(found: QuerySet[Findable], most: int = MOST_COUNTED, some: Sequence[int] = ()) -> tuple[int, bool]:
    """How many there are, and whether that is all: beyond `most` nobody counts. Among the ids of `some`, if there are
    any, it is looked first: they may be enough."""
    if len(some) > most and len(_any_of(found.filter(id__in=among(some)), most + 1)) > most:
        return most, False
    counted = len(_any_of(found, most + 1))
    return min(counted, most), counted <= most


def _any_of(found: QuerySet[Findable], many: int) -> QuerySet[Findable]:
    return found.order_by().values_list("id", flat=True)[:many]


def _beyond(order: list[tuple[str, bool]], values: list[int]) -> Q:
    """What comes after a row of these values."""
    beyond, same = Q(), Q()
    for (name, down), value in zip(order, values, strict=True):
        beyond |= same & Q(**{f"{name}__{'lt' if down else 'gt'}": value})
        same &= Q(**{name: value})
    (first, down), *_ = order
    return Q(**{f"{first}__{'lte' if down else 'gte'}": values[0]}) & beyond  # the first part is for the index


def _write(row: Findable, sort: str) -> str:
    values = ".".join(str(getattr(row, name.lstrip("-"))) for name in _ORDER[sort])
    return base64.urlsafe_b64encode(values.encode()).decode().rstrip("=")


def _read(cursor: str, length: int) -> list[int]:
    try:
        padded = cursor[:200] + "=" * (-len(cursor[:200]) % 4)
        values = [int(part) for part in base64.b64decode(padded, b"-_", validate=True).decode("ascii").split(".")]
    except (ValueError, binascii.Error):
        values = []
    if len(values) != length or any(abs(value) >= 2**63 for value in values):
        raise Refusal("This page of the results cannot be found again; begin with the first.", "after")
    return values
