from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from review import roles
from review.crew import access
from review.cuts.text import MOST_BYTES
from review.desk import restoring, returned_cuts, usage
from review.models import Cut, CutEvent, Select
from review.pages.current import current_production, remember
from review.pages.errors import refusing
from review.refusals import Refusal
from review.responses import download
from review.timecode import STANDARD_RATES, Rate

A_PAGE = 100


@login_required
@refusing
def cuts_page(request):
    """The cuts that came back, and what of each card is in any of them; a POST takes another in."""
    production = current_production(request)
    if request.method == "POST":
        given = request.FILES.get("list")
        cut = returned_cuts.take_in(
            request.user,
            production,
            given.name if given else "",
            given.read(MOST_BYTES + 1) if given else b"",
            name=request.POST.get("name", ""),
            rate=returned_cuts.read_rate(request.POST.get("rate", "")),
        )
        return redirect("cut", cut.id)
    return render(
        request,
        "review/cuts.html",
        {
            "cuts": _counted(production.cuts.select_related("given_by").defer("content")),
            "cards": usage.by_card(production),
            "rates": STANDARD_RATES,
            "usual_rate": production.timebase.rate,
            "may_take_in": access.may(request.user, production, roles.TAKE_IN_CUTS),
        },
    )


@login_required
@refusing
def cut_page(request, cut_id: int):
    """What each event uses, and how sure that is."""
    cut = _cut(request, cut_id)
    sure = request.GET.get("sure", "")
    events = cut.events.select_related("card", "clip")
    if sure in CutEvent.Sure.values:
        events = events.filter(sure=sure)
    page = Paginator(events, A_PAGE).get_page(request.GET.get("page"))
    return _show(request, "review/cut.html", cut, "events", {"page": page, "sure": sure, "rates": STANDARD_RATES})


@login_required
@refusing
def restore(request, cut_id: int):
    """What must come back from the shelf; `?as=csv` for a row for each file."""
    cut = _cut(request, cut_id)
    as_csv = request.GET.get("as") == "csv"
    facts = {"handles": request.GET.get("handles", "2")}
    try:
        facts["restore"] = restoring.restore_list(cut.production, cut, restoring.parse_handles(facts["handles"]))
    except Refusal as refusal:
        if as_csv:
            raise
        facts["refusal"] = refusal.message
    if as_csv:
        return download(restoring.csv_of(facts["restore"]))
    return _show(request, "review/cut_restore.html", cut, "restore", facts, 400 if "refusal" in facts else 200)


@login_required
@refusing
def cards(request, cut_id: int):
    cut = _cut(request, cut_id)
    return _show(request, "review/cut_cards.html", cut, "cards", {"cards": usage.by_card(cut.production, cut)})


@login_required
@refusing
def made_it(request, cut_id: int):
    """The selects that the cut uses a frame of."""
    cut = _cut(request, cut_id)
    of_production = Select.objects.filter(clip__card__production=cut.production, deleted=None)
    found = usage.only_in_cut(of_production, [cut]).select_related("clip__card", "logger").prefetch_related("tags")
    pages = Paginator(found.order_by("clip__card__shoot_date", "clip__start_frame", "in_frame", "id"), A_PAGE)
    page = pages.get_page(request.GET.get("page"))
    used = usage.frames_in_cut(page.object_list, cut)
    for select in page.object_list:
        select.in_this_cut = used[select.id]
    by_logger = found.order_by("logger__username").values_list("logger__username").annotate(Count("id"))
    facts = {"page": page, "by_logger": by_logger, "whole": of_production.count()}
    return _show(request, "review/cut_selects.html", cut, "selects", facts)


@login_required
@require_POST
@refusing
def again(request, cut_id: int):
    cut = returned_cuts.look_again(
        request.user, _cut(request, cut_id), returned_cuts.read_rate(request.POST.get("rate", ""))
    )
    messages.info(request, f"Looked for the events of “{cut.name}” among the cards as they are now.")
    return redirect("cut", cut.id)


@login_required
@require_POST
@refusing
def choose(request, cut_id: int):
    """Which clip an event is of, as somebody says; without a clip it is left to the list again."""
    cut = _cut(request, cut_id)
    line, _, clip = request.POST.get("choice", "").partition("/")
    event = returned_cuts.choose(request.user, cut, _number(line), _number(clip) if clip else None)
    told = f"{event.card.name} {event.clip.name}, as you chose" if event.chosen_by else "left to the list again"
    messages.info(request, f"For {event}: {told}.")
    query = urlencode({name: request.GET[name] for name in ("sure", "page") if name in request.GET})
    return redirect(f"{reverse('cut', args=[cut.id])}?{query}#line-{event.line}")


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise Refusal("Choose one of the clips beside an event.", "choice")
    return int(text)


@login_required
@require_POST
@refusing
def forget(request, cut_id: int):
    cut = _cut(request, cut_id)
    returned_cuts.forget(request.user, cut)
    messages.info(request, f"“{cut.name}” is forgotten; its file can be taken in again.")
    return redirect("cuts")


def _cut(request, cut_id: int) -> Cut:
    cut = get_object_or_404(access.cuts(request.user).select_related("production", "given_by"), id=cut_id)
    remember(request, cut.production)
    return cut


def _counted(cuts):
    counts = {sure: Count("events", filter=Q(events__sure=sure)) for sure in CutEvent.Sure.values}
    return cuts.annotate(whole=Count("events"), **counts)


def _show(request, template: str, cut: Cut, part: str, facts: dict, status: int = 200):
    counted = _counted(Cut.objects.filter(id=cut.id)).get()
    return render(
        request,
        template,
        {
            "cut": counted,
            "part": part,
            "rate": Rate(cut.rate_numerator, cut.rate_denominator),
            "may_take_in": access.may(request.user, cut.production, roles.TAKE_IN_CUTS),
            **facts,
        },
        status=status,
    )
