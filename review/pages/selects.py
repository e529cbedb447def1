"""The selects page: what is looked for is all in its address, and a search can be given a name."""

from dataclasses import replace
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from review import roles
from review.api.selects import SelectSerializer
from review.crew import access, habits
from review.derived import proxying, stills
from review.desk import finding, nearby, searches, usage
from review.models import Clip, Membership, Production, Select
from review.pages.current import current_production
from review.pages.errors import refusing
from review.searching import asking, pages, wanted
from review.searching.wanted import Wanted

A_PAGE = 50
VIEWS = ("rows", "pictures")
_MORE = ("card", "since", "until", "tag_any", "tag_none", "longer", "shorter", "seen", "cut", "angles", "keep")


@login_required
@refusing
def selects(request):
    production = current_production(request)
    given = {name: value for name, value in request.GET.items() if name != "production"}
    asked = wanted.read(given)
    days = finding.shoot_days(production)
    asked, read_as = _day_in_words(asked, days, request.GET.get("exact", ""))
    question = asking.read(asked.text)
    found = finding.find([production], asked, question)
    cursors = {name: request.GET.get(name, "") for name in ("after", "before")}
    page = pages.page(found.rows, asked.sort, A_PAGE, apart=found.apart, **cursors)
    number, counted_all = pages.count(found.rows, some=found.some)
    view = request.GET.get("view", "")
    filters = {name: str(request.GET.get(name, "")) for name in wanted.FILTERS}
    looked = any(filters[name] for name in wanted.FILTERS if name not in ("production", "sort"))
    usage.tell([each.select for each in page.rows])
    rows = [_row(each.select) for each in page.rows]
    return render(
        request,
        "review/selects.html",
        {
            "page": page,
            "rows": rows,
            "number": number,
            "counted_all": counted_all,
            "wanted": filters,
            "more_open": any(filters[name] for name in _MORE),
            "looked": looked,
            "read_as": read_as,
            "left_out": question.left_out,
            "nothing": nearby.look(production, asked) if looked and not number else None,
            "view": view if view in VIEWS else VIEWS[0],
            "sorts": {"shot": "as it was shot", "newest": "newest first", "rating": "best first"},
            "days": list(enumerate(days, start=1)),
            "cards": production.cards.filter(finding.has_clips()).values_list("name", flat=True),
            "cameras": sorted({each for each in production.cards.values_list("camera", flat=True).distinct() if each}),
            "tags": production.tags.all(),
            "loggers": _loggers(production),
            "lists": production.lists.all(),
            "named": production.searches.select_related("made_by"),
            "this_search": searches.tidy(request.GET.urlencode()) if looked else "",
            "facts": _facts(request, production, rows, asked, number, page),
        },
    )


def _day_in_words(asked: Wanted, days: list, exact: str) -> tuple[Wanted, dict | None]:
    """'second day' among the words is taken for the filter, where no day is chosen and there was such a day."""
    if asked.date or asked.day or exact or not (found := asking.day_in(asked.text)):
        return asked, None
    number, words, rest = found
    if number > len(days):
        return asked, None
    return replace(asked, text=rest, day=number), {"words": words, "number": number, "date": days[number - 1]}


def _loggers(production: Production):
    members = Membership.objects.filter(production=production).order_by("person__username")
    return members.values_list("person__username", flat=True).distinct()


def _row(select: Select) -> dict:
    """A select with its pictures: the numbers of its first, middle and last."""
    clip = select.clip
    pictures = stills.three(clip, select.in_frame, select.out_frame)
    return {
        "select": select,
        "clip": clip,
        "cuts": usage.cuts_of(select),
        "stills": [reverse("still", args=[clip.id, number]) for number in pictures],
    }


def _facts(request, production: Production, rows: list[dict], asked: Wanted, number: int, page: pages.Page) -> dict:
    """What the page's script works from."""
    query = request.GET.copy()
    for name in ("after", "before"):
        query.pop(name, None)
    following = f"?{query.urlencode()}{'&' if query else ''}after={page.after}" if page.after else None
    return {
        "person": request.user.username,
        "production": production.code,
        "mayMark": access.may(request.user, production, roles.MARK),
        "mayList": access.may(request.user, production, roles.MAKE_LISTS),
        "rows": [
            {**facts, **playing(row["clip"])}
            for row, facts in zip(rows, SelectSerializer([row["select"] for row in rows], many=True).data, strict=True)
        ],
        "next": following,
        "query": asked_as_query(asked, production),
        "number": number,
        "tags": list(production.tags.values("name", "group", "key")),
        "habits": habits.of(request.user),
        "lists": reverse("api-lists-list"),
        "api": reverse("api-selects-list"),
    }


def asked_as_query(asked: Wanted, production: Production) -> str:
    """A search as the JSON surface takes it."""
    return urlencode(wanted.written(asked) | {"production": production.code})


def playing(clip: Clip) -> dict:
    """What the player needs to know of a select's clip, beside the select as the JSON surface has it."""
    proxy = proxying.playable(clip)
    return {
        "clipFrames": clip.frames,
        "reach": clip.watchable_frames,  # how many frames can be played by now
        "rate": [clip.rate_numerator, clip.rate_denominator],
        "drop": clip.drop,
        "start": clip.start_frame,
        "camera": clip.card.camera,
        "proxy": reverse("media", args=[clip.id, proxy]) if proxy else None,
    }


@login_required
@refusing
def still(request, clip_id: int, number: int) -> HttpResponse:
    """One small picture of a clip's filmstrip, for members of its production only."""
    clip = get_object_or_404(access.clips(request.user), id=clip_id)
    response = HttpResponse(stills.still(clip, number), content_type="image/jpeg")
    response["Cache-Control"] = "private, max-age=3600"
    return response


@login_required
@refusing
@require_POST
def name_search(request):
    """Give the search that was shown a name; then it is shown again."""
    production = current_production(request)
    made = searches.name(request.user, production, request.POST.get("name", ""), request.POST.get("query", ""))
    messages.success(request, f"Kept as “{made.name}”, for everybody in {production.code}.")
    return redirect(f"{reverse('selects')}?{made.query}")


@login_required
@refusing
@require_POST
def forget_search(request, search_id: int):
    search = get_object_or_404(access.searches(request.user).select_related("production", "made_by"), id=search_id)
    searches.forget(request.user, search)
    messages.success(request, f"“{search.name}” is forgotten; what it found stays.")
    return redirect(f"{reverse('selects')}?production={search.production.code}")
