import uuid

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from review import roles
from review.crew import access
from review.desk import keeping
from review.models import Card, WorthKeeping
from review.pages.current import current_production
from review.pages.errors import refusing
from review.responses import download

A_PAGE = 50


@login_required
@refusing
def keeping_page(request):
    """What is flagged as worth keeping; `?as=csv` for a row for each."""
    production = current_production(request)
    everything = keeping.of(production)
    found = keeping.find(everything, request.GET)
    if request.GET.get("as") == "csv":
        return download(keeping.csv_of(production, found))
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    cards = Card.objects.filter(id__in=everything.values("select__clip__card"))
    return render(
        request,
        "review/keeping.html",
        {
            "page": page,
            "flagged": [_as_facts(kept) for kept in page],
            "wanted": {name: request.GET.get(name, "") for name in keeping.FILTERS},
            "narrowed": any(request.GET.get(name) for name in keeping.FILTERS),
            "peoples": WorthKeeping.People.choices,
            "cards": cards.values_list("name", flat=True),
            "days": cards.exclude(shoot_date=None)
            .order_by("shoot_date")
            .values_list("shoot_date", flat=True)
            .distinct(),
            "may_flag": access.may(request.user, production, roles.MARK),
        },
    )


def _as_facts(kept: WorthKeeping) -> dict:
    return {"select": str(kept.select_id), "people": kept.people, "rights": kept.rights}


@login_required
@require_POST
@refusing
def make_list(request):
    """Pull those that are chosen, or all that the filters find, as a list of their own."""
    production = current_production(request)
    chosen = [_id(each) for each in request.POST.getlist("select")]
    if not chosen:
        found = keeping.find(keeping.of(production), request.POST)
        chosen = list(found.values_list("select_id", flat=True))
    made = keeping.pull(request.user, production, request.POST.get("name", ""), chosen)
    return redirect("list", made.id)


def _id(text: str) -> uuid.UUID:
    try:
        return uuid.UUID(text)
    except ValueError:
        return uuid.UUID(int=0)  # nobody's, which is refused as any other
