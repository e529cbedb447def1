"""A page of what was found, by key: the next one begins after the last row of this one, however many came before it and
whatever was marked meanwhile."""

import base64
import binascii
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from review.models import Clip, Findable
from review.refusals import Refusal

MOST_COUNTED = 1_000
_HEAVY = {*Clip.HEAVY} - {"files", "file_frames"}  # which file a select is in is shown

_ORDER = {
    "shot": ("shot_at", "id"),
    "newest": ("-id",),
    "rating": ("-rating", "shot_at", "id"),
}
_BY_PRODUCTION = ("shot", "rating")  # orders in which an index has the rows of each production


@dataclass(frozen=True)
class Page:
    """`before` and `after` are the cursors of the pages beside this one; None where there is none."""

    rows: list[Findable]
    before: str | None
    after: str | None


def shown(rows: QuerySet[Findable]) -> QuerySet[Findable]:
    """With all that is shown of their selects, in a few queries."""
    related = ("select__clip__card__production", "select__logger", "select__worth_keeping")
    heavy = [f"select__clip__{each}" for each in _HEAVY]
    return rows.select_related(*related).defer("words", *heavy).prefetch_related("select__tags")


def page(
    found: QuerySet[Findable], sort: str, size: int, *, after: str = "", before: str = "", apart: Sequence[int] = ()
) -> Page:
    """The `size` rows after a cursor, or before one, or the first, as `shown`; of several productions that are `apart`,
    the first of each are put in order. Raises Refusal for a cursor that is none."""
    backwards = bool(before) and not after
    order = [(name.lstrip("-"), name.startswith("-") != backwards) for name in _ORDER[sort]]
    if cursor := after or before:
        found = found.filter(_beyond(order, _read(cursor, len(order))))
    ordering = [f"-{name}" if down else name for name, down in order]
    # First which rows, then what is shown of them: not of all that have to be put in order, nor asked twice.
    by_production = len(apart) > 1 and sort in _BY_PRODUCTION
    parts = [found.filter(production=each) for each in apart] if by_production else [found]
    ids = [each for part in parts for each in part.order_by(*ordering).values_list("id", flat=True)[: size + 1]]
    rows = list(shown(Findable.objects.filter(id__in=ids)).order_by(*ordering)[:size])
    more = len(ids) > size
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


def count(
    found: QuerySet[Findable], most: int = MOST_COUNTED, some: QuerySet[Findable] | None = None
) -> tuple[int, bool]:
    """How many there are, and whether that is all: beyond `most` nobody counts. Among `some` of them, if any are known,
    it is looked first: they may be enough."""
    if some is not None and len(_any_of(some, most + 1)) > most:
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
