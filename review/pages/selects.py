"""The selects page: what is looked for is all in its address, and a search can be given a name."""

from urllib.parse import urlencode
from uuid import UUID

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
from review.desk import finding, found_by, nearby, searches, usage
from review.models import Clip, Findable, ListEntry, Membership, Production, Select
from review.pages.current import current_production
from review.pages.errors import refusing
from review.searching import asking, pages, wanted, when
from review.searching.asking import Question
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
    asked, taken = (asked, []) if request.GET.get("exact") else when.read(asked, days)
    question = asking.read(asked.text)
    found = finding.find([production], asked, question)
    cursors = {name: request.GET.get(name, "") for name in ("after", "before")}
    page = pages.page(found.rows, asked.sort, A_PAGE, apart=found.apart, **cursors)
    number, counted_all = pages.count(found.rows, some=found.some)
    view = request.GET.get("view", "")
    filters = {name: str(request.GET.get(name, "")) for name in wanted.FILTERS}
    looked = any(filters[name] for name in wanted.FILTERS if name not in ("production", "sort"))
    nothing, shown = None, [(row, question, ()) for row in page.rows]
    if looked and not number:
        others = [each for each in access.productions(request.user) if each != production]
        nothing = nearby.look(production, asked, others)
        shown = [(near.row, asking.read(" ".join(near.has)), near.has) for near in nothing.nearest]
    rows = _rows(production, shown)
    of = f"{len(rows)} that come near" if nothing else str(number) if counted_all else f"over {number}"
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
            "taken": taken,
            "left_out": question.left_out,
            "nothing": nothing,
            "only_words": all(name in ("text", "sort") for name in wanted.written(asked)),
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
            "facts": _facts(request, production, rows, asked, of, page),
        },
    )


def _loggers(production: Production):
    members = Membership.objects.filter(production=production).order_by("person__username")
    return members.values_list("person__username", flat=True).distinct()


def _rows(production: Production, shown: list[tuple[Findable, Question, tuple[str, ...]]]) -> list[dict]:
    """Selects with what is asked of them; `has` are those of the words that one has, where none has all."""
    selects = [row.select for row, _, _ in shown]
    usage.tell(selects)
    listed = _lists_of(selects)
    unshown = found_by.tell(production, [(row, question) for row, question, _ in shown])
    return [
        {
            "select": row.select,
            "clip": row.select.clip,
            "cuts": usage.cuts_of(row.select),
            "stills": _stills(row.select),
            "lists": listed.get(row.select_id, []),
            "question": question,
            "found_by": unshown.get(row.id, ""),
            "has": has,
        }
        for row, question, has in shown
    ]


def _stills(select: Select) -> list[str]:
    """The pictures of its first, middle and last frame."""
    pictures = stills.three(select.clip, select.in_frame, select.out_frame)
    return [reverse("still", args=[select.clip_id, number]) for number in pictures]


def _lists_of(selects: list[Select]) -> dict[UUID, list[int]]:
    """The ids of the lists that selects are on already."""
    listed: dict[UUID, list[int]] = {}
    for select, on in ListEntry.objects.filter(select__in=selects).order_by("list").values_list("select", "list"):
        listed.setdefault(select, []).append(on)
    return listed


def _facts(request, production: Production, rows: list[dict], asked: Wanted, of: str, page: pages.Page) -> dict:
    """What the page's script works from. `of` says how many there are."""
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
            {**facts, **playing(row["clip"]), "lists": row["lists"]}
            for row, facts in zip(rows, SelectSerializer([row["select"] for row in rows], many=True).data, strict=True)
        ],
        "next": following,
        "query": asked_as_query(asked, production),
        "of": of,
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
