from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.shortcuts import render

from review import access, finding
from review.models import Membership
from review.pages.current import current_production
from review.pages.errors import refusing

A_PAGE = 50


@login_required
@refusing
def selects(request):
    production = current_production(request)
    found = finding.find(access.selects(request.user), {**request.GET.dict(), "production": production.code})
    found = (
        found.select_related("clip__card", "logger")
        .prefetch_related("tags")
        .order_by("clip__card__shoot_date", "clip__start_frame", "in_frame", "id")
    )
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    cards = production.cards.filter(clips__isnull=False).distinct()
    return render(
        request,
        "review/selects.html",
        {
            "page": page,
            "wanted": {name: request.GET.get(name, "") for name in finding.FILTERS},
            "cards": cards.values_list("name", flat=True),
            "cameras": cards.exclude(camera="").order_by("camera").values_list("camera", flat=True).distinct(),
            "days": cards.exclude(shoot_date=None)
            .order_by("shoot_date")
            .values_list("shoot_date", flat=True)
            .distinct(),
            "tags": production.tags.all(),
            "loggers": Membership.objects.filter(production=production)
            .order_by("person__username")
            .values_list("person__username", flat=True)
            .distinct(),
            "lists": production.lists.all(),
        },
    )
