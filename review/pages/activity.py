import re

from django.contrib.auth.decorators import login_required
from django.shortcuts import render

from review.crew import activity
from review.models import Activity, Membership, Piece, Select, SelectsList
from review.pages.current import current_production
from review.pages.errors import refusing

A_PAGE = 100
_SPLIT = re.compile(r"split (\d{1,9}): ")


@login_required
@refusing
def activity_page(request):
    """Who did what, newest first; pages go on from the last row, so that what comes in moves nothing."""
    production = current_production(request)
    wanted = {name: request.GET.get(name, "") for name in activity.FILTERS}
    before = request.GET.get("before", "")
    last = int(before) if before.isascii() and before.isdigit() and len(before) < 18 else None
    rows = list(activity.newest_first(production, activity.find(production, wanted), last)[: A_PAGE + 1])
    more, rows = rows[A_PAGE - 1].id if len(rows) > A_PAGE else None, rows[:A_PAGE]
    selects, splits = _selects(rows), _splits(rows)
    people = Membership.objects.filter(production=production).order_by("person__username")
    return render(
        request,
        "review/activity.html",
        {
            "rows": [(row, _frame(row, selects), splits.get(row.id)) for row in rows],
            "lists": _lists(rows),
            "more": more,
            "wanted": wanted,
            "filtered": any(wanted.values()),
            "before": before,
            "kinds": Activity.About.values,
            "cards": production.cards.values_list("name", flat=True),
            "people": people.values_list("person__username", flat=True).distinct(),
            "by_itself": activity.BY_ITSELF,
        },
    )


def _selects(rows: list[Activity]) -> dict[str, int]:
    ids = [row.subject for row in rows if row.about == Activity.About.SELECT and len(row.subject) == 36]
    return {str(each): frame for each, frame in Select.objects.filter(id__in=ids).values_list("id", "in_frame")}


def _lists(rows: list[Activity]) -> set[str]:
    """Of the lists that rows are about, those that are still there."""
    ids = [row.subject for row in rows if row.about == Activity.About.LIST and row.subject.isdigit()]
    return set(map(str, SelectsList.objects.filter(id__in=ids).values_list("id", flat=True)))


def _splits(rows: list[Activity]) -> dict[int, tuple[int, list[str]]]:
    """Of the rows that tell of accepted splits, by their number: which split, and who got something in it."""
    told = {row.id: int(found[1]) for row in rows if row.did == "accepted" and (found := _SPLIT.match(row.words))}
    names: dict[int, list[str]] = {}
    got = Piece.objects.filter(split__in=told.values(), logger__isnull=False).order_by("logger__username")
    for split, name in got.values_list("split", "logger__username").distinct():
        names.setdefault(split, []).append(name)
    return {row: (split, names[split]) for row, split in told.items() if split in names}


def _frame(row: Activity, selects: dict[str, int]) -> int:
    """Where to open the clip that a row is about."""
    return selects.get(row.subject, 0)
