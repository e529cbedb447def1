from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.shortcuts import render

from review import coverage
from review.pages.current import current_production
from review.pages.errors import refusing


@login_required
@refusing
def coverage_page(request):
    production = current_production(request)
    cards = coverage.by_card(production)
    stretches = coverage.unwatched(production)
    waiting = [card for card in production.cards.all() if not card.trusted]
    return render(
        request,
        "review/coverage.html",
        {
            "total": coverage.total(cards.values()),
            "tables": [
                ("Days", "day", list(coverage.by_day(cards).items())),
                ("Cameras", "camera", list(coverage.by_camera(cards).items())),
                ("Cards", "card", list(cards.items())),
            ],
            "stretches": Paginator(stretches, 50).get_page(request.GET.get("page")),
            "unseen": sum((stretch.seconds for stretch in stretches), start=0),
            "waiting": waiting,
        },
    )
