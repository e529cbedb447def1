from fractions import Fraction
from itertools import groupby
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import Count, Q
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from review.crew import access
from review.desk import exporting, lists, pulling
from review.desk.pulling import Placed
from review.exports import FORMATS, Event, ExportRefused
from review.exports.options import CHANNEL_CODES, rate_words
from review.exports.table import COLUMNS, EVERY_COLUMN
from review.pages.current import current_production, remember
from review.pages.errors import refusing
from review.pages.export_words import chosen_words
from review.pages.list_rows import rows_of
from review.timecode import STANDARD_RATES, Timebase

VERSIONS = 20  # shown on the page; the JSON surface has them all


@login_required
@refusing
def lists_page(request):
    """The production's lists; a POST makes an empty one."""
    production = current_production(request)
    if request.method == "POST":
        return redirect("list", lists.make(request.user, production, request.POST.get("name", "")).id)
    found = production.lists.select_related("made_by").annotate(
        size=Count("entries", filter=Q(entries__select__deleted=None), distinct=True),
        pulls=Count("exports", distinct=True),
    )
    return render(request, "review/lists.html", {"lists": found})


@login_required
@refusing
def list_page(request, list_id: int):
    """A list."""
    selects_list, rows = _found(request, list_id)
    pulled, refused = _pulled(selects_list, rows)
    news = None if refused else exporting.news(selects_list, request.user, pulled)
    options = {name: value for name, value in selects_list.options.items() if name not in ("merge", "kind", "new")}
    otherwise = {kind.upper(): words for kind in FORMATS if (words := chosen_words(kind, options))}
    return render(
        request,
        "review/list.html",
        {
            **_entries(selects_list, rows, pulled, _marks(news)),
            "list": selects_list,
            "refused": refused,
            "options": options,
            "query": urlencode({**options, **_flat(options)}),
            "otherwise": otherwise,
            "channel_codes": CHANNEL_CODES,
            "rates": _rates(),
            "columns": EVERY_COLUMN,
            "chosen_columns": options.get("columns", COLUMNS),
            "versions": [
                (each, chosen_words(each.kind, each.options)) for each in exporting.versions(selects_list)[:VERSIONS]
            ],
            "news": news,
            "news_otherwise": news and news.last and news.last.kind.upper() in otherwise,
            "why_kept": lists.why_kept(selects_list),
        },
    )


@login_required
@require_POST
@refusing
def delete_list(request, list_id: int):
    selects_list = get_object_or_404(access.lists(request.user).select_related("production"), id=list_id)
    version = request.POST.get("version", "")
    seen = int(version) if version.isascii() and version.isdigit() and len(version) < 10 else 0
    lists.delete(request.user, selects_list, seen)
    messages.info(request, f"The list “{selects_list.name}” is deleted; its selects stay.")
    return redirect(f"{reverse('lists')}?production={selects_list.production.code}")


@login_required
@refusing
def print_page(request, list_id: int):
    """The list with its pictures, for paper."""
    selects_list, rows = _found(request, list_id)
    pulled, _ = _pulled(selects_list, rows)
    return render(
        request,
        "review/list_print.html",
        {"list": selects_list, "now": timezone.now(), **_entries(selects_list, rows, pulled, {})},
    )


def _found(request, list_id: int):
    selects_list = get_object_or_404(access.lists(request.user).select_related("production"), id=list_id)
    remember(request, selects_list.production)
    return selects_list, pulling.placed(selects_list)


def _pulled(selects_list, rows: list[Placed]) -> tuple[tuple[Event, ...], str]:
    """The events of the list, and why there can be none, in words."""
    try:
        return pulling.events(selects_list, rows), ""
    except ExportRefused as problem:
        return (), str(problem)


def _marks(news: exporting.News | None) -> dict[str, str]:
    """Select id -> how it differs from what this person has pulled; nothing before the first pull."""
    if news is None or news.last is None:
        return {}
    words = {event.select_id: "cut otherwise than you have it" for event in news.changed}
    return {
        select: words.get(event.select_id, "new to you")
        for event in news.events
        for select in (event.select_id, *event.also)
    }


def _entries(selects_list, rows: list[Placed], pulled: tuple[Event, ...], news: dict[str, str]) -> dict:
    """What the table shows: blocks of section, rows and running time, and how long all of it runs."""
    inside = {key: list(group) for key, group in groupby(rows, key=lambda row: row.entry.section_id)}
    sections = [(each, inside.get(each and each.id, [])) for each in (None, *selects_list.sections.all())]
    merges = pulling.merges(selects_list)
    return {
        "blocks": [(section, rows_of(block, news), _running(block)) for section, block in sections if section or block],
        "size": len(rows),
        "events": len(pulled),
        "running": _running(pulled if merges and pulled else rows),
        "handle_seconds": f"{selects_list.handles / 1000:g}",
        "timebases": sorted({str(row.clip.timebase) for row in rows}),
        "merges": merges,
        "doubled": sum(row.shared.same for row in rows if row.shared),
        "overlapping": sum(not row.shared.same for row in rows if row.shared),
    }


def _running(pulled) -> str:
    """How long these run: to the frame, as a timecode of their rate; where rates differ, in hundredths of a second."""
    timebases = {each.timebase for each in pulled}
    if len(timebases) == 1:
        frames = sum(each.frames if isinstance(each, Placed) else each.length for each in pulled)
        (timebase,) = timebases
        if frames < timebase.frames_per_day:
            return timebase.label(frames)
    return _clock(pulling.running(pulled))


def _clock(seconds: Fraction) -> str:
    hundredths = round(seconds * 100)
    whole, part = divmod(hundredths, 100)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}.{part:02}"


def _flat(options: dict) -> dict:
    """The options that are no text, as a query has them."""
    flat = {}
    if options.get("table"):
        flat["table"] = "yes"
    if options.get("columns"):
        flat["columns"] = ",".join(options["columns"])
    return flat


def _rates() -> list[str]:
    found = []
    for rate in STANDARD_RATES:
        found.append(rate_words(Timebase(rate)))
        if rate.can_drop:
            found.append(rate_words(Timebase(rate, drop=True)))
    return found
