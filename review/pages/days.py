from collections.abc import Iterable
from datetime import date

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.shortcuts import render
from django.urls import reverse

from review.models import Clip, FieldNote, Production
from review.pages.current import current_production
from review.pages.errors import refusing
from review.record import coverage, field_notes
from review.seeing import day_map
from review.seeing.day_map import Rolled

A_PAGE = 100
MOST_BLIND = 200  # clips without a time
NO_DAY = "0000-00-00"  # in an address that the page's script fills in


@login_required
@refusing
def days_page(request):
    """The day map, and the clips of one day as a list."""
    production = current_production(request)
    by_day = coverage.by_day(coverage.by_card_as_known(production))
    day = day_map.shown_day(production, request.GET.get("day", ""))
    page = Paginator(_lines(production, day), A_PAGE).get_page(request.GET.get("page")) if day else None
    notes, lost = field_notes.counted(production, day) if day else (0, 0)
    return render(
        request,
        "review/days.html",
        {
            "day": day,
            "part": by_day.get(day),
            "days": [(each, part) for each, part in by_day.items() if each],
            "page": page,
            "rows": _shown(production, page or ()),
            "notes": notes,
            "lost": lost,
            "without_time": day_map.without_time(production, day)[:MOST_BLIND] if day else (),
            "undated": day_map.without_time(production, None).count(),
            "waiting": [card for card in production.cards.filter(shoot_date=day) if not card.trusted] if day else (),
            "facts": {
                "production": production.code,
                "day": day.isoformat(),
                "days": [each.isoformat() for each in day_map.days(production)],
                "cameras": day_map.cameras(production),
                "api": reverse("api-days-detail", args=[NO_DAY]),
                "clip": reverse("clip", args=[0]),
                "hint": "Point at a clip, or press an arrow key, to read what it is.",
            }
            if day
            else None,
        },
    )


def _lines(production: Production, day: date) -> list[Rolled | FieldNote]:
    notes = production.field_notes.filter(day=day)[: day_map.MOST_NOTES]
    return day_map.with_notes(day_map.in_order(production, day), notes)


def _shown(production: Production, lines: Iterable[Rolled | FieldNote]) -> list[dict]:
    """Lines of the list: clips, and notes with the clips that were rolling, each at its frame."""
    rolling = field_notes.rolling(production, [each for each in lines if isinstance(each, FieldNote)])
    rolled = [each.id for each in lines if isinstance(each, Rolled)]
    clips = Clip.objects.filter(id__in=rolled).select_related("card").in_bulk()
    return [
        {"note": each, "rolling": rolling[each.id]}
        if isinstance(each, FieldNote)
        else {"rolled": each, "clip": clips[each.id]}
        for each in lines
        if isinstance(each, FieldNote) or each.id in clips
    ]
