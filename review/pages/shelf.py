import calendar
from datetime import date

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_POST

from review import roles
from review.cards import media_kinds
from review.crew import access
from review.custody import copies, shelf
from review.models import Copy, Medium, TapeDrive
from review.pages.current import current_production, remember
from review.pages.errors import refusing
from review.refusals import Refusal


@login_required
@refusing
def shelf_page(request):
    """What is due to be proven, what has a single copy, and what to replace."""
    production = current_production(request)
    today = timezone.localdate()
    month_end = today.replace(day=calendar.monthrange(today.year, today.month)[1])
    due = shelf.due(production, month_end)
    return render(
        request,
        "review/shelf.html",
        {
            "today": today,
            "month_end": month_end,
            "due": due,
            "proving": shelf.being_proven(copy for _, copy in due),
            "single": shelf.single(production),
            "media": [
                (medium, media_kinds.kind_of(medium.kind), shelf.replacement(medium))
                for medium in production.media.all()
            ],
            "replace": shelf.to_replace(production, month_end),
            "tapes": shelf.tapes(production, today),
            "losing": shelf.about_to_lose(access.productions(request.user).exclude(id=production.id), today),
            "drives": production.tape_drives.all(),
            "generations": list(media_kinds.TAPES.values())[::-1],
        },
    )


@login_required
@refusing
def medium(request, medium_id: int):
    """One medium: what it is, where it is kept, and the copies on it."""
    medium = _medium(request, medium_id)
    remember(request, medium.production)
    if request.method == "POST":
        shelf.describe(request.user, medium, _description(request.POST))
        messages.info(request, f"{medium.label} is written down.")
        return redirect("shelf")
    found = medium.copies.select_related("card").order_by("card__name")
    return render(
        request,
        "review/medium.html",
        {
            "medium": medium,
            "kind": media_kinds.kind_of(medium.kind),
            "kinds": [kind for kind in media_kinds.KINDS.values()],
            "replacement": shelf.replacement(medium),
            "copies": [(copy, shelf.next_check(copy)) for copy in found],
        },
    )


def _description(given) -> shelf.Description:
    return shelf.Description(
        label=given.get("label", ""),
        kind=given.get("kind", ""),
        place=given.get("place", ""),
        elsewhere=given.get("elsewhere") == "yes",
        in_use_since=_date(given, "in_use_since"),
        check_every=_days(given.get("check_every", "")),
        replace_by=_date(given, "replace_by"),
    )


def _date(given, field: str) -> date | None:
    text = given.get(field, "").strip()
    try:
        found = parse_date(text) if text else None
    except ValueError:
        found = None
    if text and (found is None or not 1950 <= found.year <= 2199):
        raise Refusal(f"{text[:20]!r} is no date; write it as year-month-day, such as 2026-11-12.", field)
    return found


def _days(text: str) -> int | None:
    text = text.strip()
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 6):
        raise Refusal("Write the number of days between two proofs, or leave it empty.", "check_every")
    return int(text)


@login_required
@require_POST
@refusing
def retire(request, medium_id: int):
    medium = _medium(request, medium_id)
    if medium.retired_at is None:
        shelf.retire(request.user, medium)
        messages.info(request, f"{medium.label} is retired: its copies are not counted any more.")
    else:
        shelf.take_back(request.user, medium)
        messages.info(request, f"{medium.label} is in use again.")
    return redirect("shelf")


@login_required
@require_POST
@refusing
def add_drive(request):
    production = current_production(request)
    generation = request.POST.get("generation", "")
    number = int(generation) if generation.isascii() and generation.isdigit() and len(generation) < 3 else 0
    drive = shelf.add_drive(
        request.user, production, request.POST.get("label", ""), number, _date(request.POST, "until")
    )
    messages.info(request, f"{drive} is written down.")
    return redirect("shelf")


@login_required
@require_POST
@refusing
def remove_drive(request, drive_id: int):
    mine = TapeDrive.objects.filter(production__in=access.productions(request.user))
    drive = get_object_or_404(mine.select_related("production"), id=drive_id)
    shelf.remove_drive(request.user, drive)
    messages.info(request, f"{drive} is not counted on any more.")
    return redirect("shelf")


@login_required
@require_POST
@refusing
def prove_due(request):
    """Have what is due proven, a few at a time."""
    production = current_production(request)
    access.require(request.user, production, roles.CHECK_CARDS)
    asked, away = shelf.recheck(production, most=10, today=timezone.localdate())
    words = f"{len(asked)} cop{'y is' if len(asked) == 1 else 'ies are'} being read through."
    if away:
        words += f" Connect {', '.join(sorted({copy.medium.label for copy in away}))} for the rest."
    messages.info(request, words)
    return redirect("shelf")


@login_required
@require_POST
@refusing
def prove(request, copy_id: int):
    copy = _copy(request, copy_id)
    copies.prove_by(request.user, copy)
    messages.info(
        request, f"{copy.medium.label} will be read from start to end and compared. Nothing on it is changed."
    )
    return redirect("card", copy.card_id)


@login_required
@require_POST
@refusing
def forget(request, copy_id: int):
    copy = _copy(request, copy_id)
    copies.forget_by(request.user, copy)
    messages.info(request, f"The copy on {copy.medium.label} is not counted any more. Its folder was left alone.")
    return redirect("card", copy.card_id)


@login_required
@require_POST
@refusing
def say_what(request, copy_id: int):
    """Whether a folder that was found by its contents is a copy, or the camera's own card in a reader."""
    copy = _copy(request, copy_id)
    is_original = request.POST.get("what") == "original"
    copies.say_what_by(request.user, copy, is_original=is_original)
    words = "the camera's own card: it proves the copies, and is not counted as one" if is_original else "a copy"
    messages.info(request, f"{copy.folder} is {words}.")
    return redirect("card", copy.card_id)


def _copy(request, copy_id: int) -> Copy:
    mine = Copy.objects.filter(card__in=access.cards(request.user))
    return get_object_or_404(mine.select_related("card__production", "medium"), id=copy_id)


def _medium(request, medium_id: int) -> Medium:
    mine = Medium.objects.filter(production__in=access.productions(request.user))
    return get_object_or_404(mine.select_related("production"), id=medium_id)
