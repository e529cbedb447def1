from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db.models import Exists, OuterRef
from django.shortcuts import render

from review import roles
from review.crew import access
from review.models import Card, Clip, Membership
from review.pages.current import current_production
from review.pages.errors import refusing
from review.record import story_footage
from review.responses import download
from review.seeing import coverage_tables, unwatched
from review.seeing.coverage_asked import STATES, STRETCHES, Asked

ROWS, A_PAGE, NAMED = 40, 25, 4  # rows of the table, stretches, and people named in a row
_TABS = {"card": "Cards", "camera": "Cameras", "day": "Days", "story": "Stories", "logger": "Loggers"}
_COLUMNS = {
    "shot": "Shot",
    "watched": "Watched",
    "skimmed": "Skimmed",
    "unwatched": "Unwatched",
    "seen": "Seen",
    "selects": "Selects",
    "asked": "Second looks",
}
_OWN = {"watched": "by", "skimmed": "by", "unwatched": "by", "seen": "by", "selects": "of"}  # of the person chosen


@login_required
@refusing
def coverage_page(request):
    production = current_production(request)
    asked = Asked.read(request.GET)
    table = coverage_tables.table(production, asked, people=False)
    may_ask = access.may(request.user, production, roles.ASK_SECOND_LOOKS)
    page = Paginator(unwatched.Stretches(production, asked), A_PAGE).get_page(request.GET.get("page"))
    page.object_list = unwatched.with_holders(unwatched.with_skimmers(page.object_list))
    if may_ask:
        page.object_list = unwatched.with_askers(page.object_list)
    rows = Paginator(table.rows, ROWS).get_page(request.GET.get("rows"))
    coverage_tables.name_people(production, asked, rows.object_list)
    rows.object_list = [_shown(request, asked, row) for row in rows.object_list]
    shot = production.cards.filter(Exists(Clip.objects.filter(card=OuterRef("id"))))
    cards = list(shot.values_list("name", "camera", "shoot_date"))
    return render(
        request,
        "review/coverage.html",
        {
            "asked": asked,
            "table": table,
            "total": table.total,
            "rows": rows,
            "columns": [_column(asked, *each) for each in [("name", _TABS[asked.by]), *_COLUMNS.items()]],
            "tabs": _TABS.items(),
            "states": STATES.items(),
            "kinds": STRETCHES.items(),
            "stretches": page,
            "waiting": production.cards.exclude(state__in=Card.TRUSTED).only("id", "name", "state", "proof"),
            "cards": [name for name, _, _ in cards],
            "cameras": sorted({camera for _, camera, _ in cards}),
            "days": sorted({day for _, _, day in cards}, key=lambda day: (day is None, day)),
            "stories": story_footage.names(production),
            "people": Membership.objects.filter(production=production)
            .order_by("person__username")
            .values_list("person__username", flat=True)
            .distinct(),
            "may_ask": may_ask,
        },
    )


def _column(asked: Asked, name: str, words: str) -> dict:
    """A column's heading: it leads to this order, most first but for names; from this order, to the other way round."""
    here, falling = asked.sort.removeprefix("-") == name, asked.sort.startswith("-")
    next_falling = not falling if here else name != "name"
    return {
        "name": name,
        "words": words,
        "whose": f"{_OWN[name]} {asked.person}" if asked.person and name in _OWN else "",
        "sort": f"-{name}" if next_falling else name,
        "sorted": ("descending" if falling else "ascending") if here else "",
    }


def _shown(request, asked: Asked, row: coverage_tables.Row) -> dict:
    """A row with the address of what it holds, and the people who saw most of it."""
    query = request.GET.copy()
    for name in ("page", "rows", "sort"):
        query.pop(name, None)
    query["person" if asked.by == "logger" else asked.by] = row.value
    query["by"] = "day" if asked.by == "camera" else "card" if asked.by != "card" else "logger"
    watched, skimmed = row.coverage.most("watched"), row.coverage.most("skimmed")
    return {
        "row": row,
        "part": row.coverage,
        "query": query.urlencode(),
        "watched": [(name, row.coverage.by(name, "watched")) for name in watched[:NAMED]],
        "skimmed": [(name, row.coverage.by(name, "skimmed")) for name in skimmed[:NAMED]],
        "more": len({*watched[NAMED:], *skimmed[NAMED:]}),
    }


@login_required
@refusing
def rows_csv(request):
    production = current_production(request)
    return download(coverage_tables.as_csv(production, coverage_tables.table(production, Asked.read(request.GET))))


@login_required
@refusing
def unwatched_csv(request):
    production = current_production(request)
    return download(unwatched.as_csv(production, Asked.read(request.GET)))
