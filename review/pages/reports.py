from datetime import date

from django.contrib.auth.decorators import login_required
from django.shortcuts import render
from django.utils import timezone

from review.cards.wiping import CAUTION
from review.pages.current import current_production
from review.pages.errors import NotHere, refusing
from review.seeing import daily_report


@login_required
@refusing
def report(request, day: str):
    """The daily log report, for paper: the browser's own printing makes the PDF."""
    production = current_production(request)
    try:
        wanted = date.fromisoformat(day)
    except ValueError:
        raise NotHere(f"{day[:40]} is no day; write it as 2026-11-12.") from None
    told = daily_report.of(production, wanted)
    context = {"report": told, "now": timezone.now(), "caution": CAUTION, "least": daily_report.LEAST_RATING}
    return render(request, "review/report.html", context)
