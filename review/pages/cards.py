from datetime import date

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from review import roles
from review.cards.wiping import CAUTION
from review.crew import access
from review.custody import copies, intake, shelf, wiping
from review.derived import proxying
from review.models import Card, Clip, Job, Stint
from review.pages.current import current_production, remember
from review.pages.errors import refusing
from review.record import coverage
from review.refusals import NotFound
from review.work import jobs

A_PAGE = 100  # cards, as far as whole days allow
_STATES = {
    "unchecked": Q(state__in=(Card.State.FOUND, Card.State.CHECKING)),
    "held": Q(state=Card.State.HELD),
    "unproven": Q(state=Card.State.VERIFIED) & ~Q(proof=Card.Proof.CHECKSUMS),
    "accepted": Q(state=Card.State.ACCEPTED),
}


@login_required
@refusing
def cards(request):
    """The cards by shoot day, some whole days to a page, the latest first to be seen; or only those in one state."""
    production = current_production(request)
    covered = coverage.by_card_as_known(production)
    state = request.GET.get("state", "")
    those = production.cards.filter(_STATES.get(state, Q()))
    days = _pages_of_days(those)
    page = Paginator(days, 1).get_page(request.GET.get("page") or len(days))
    shown = those.filter(_on(*page.object_list)).annotate(
        clip_count=Count("clips"), ready=Count("clips", filter=Q(clips__proxy_state=Clip.ProxyState.READY))
    )
    wipes = wiping.answers(shown)
    rows = [(card, covered.get(card), wipes[card.id]) for card in shown]
    unclaimed = intake.unclaimed() if access.may(request.user, production, roles.CHECK_CARDS) else []
    return render(
        request,
        "review/cards.html",
        {
            "days": _by_day(rows),
            "page": page,
            "state": state if state in _STATES else "",
            "unclaimed": [(str(path), path.name) for path in unclaimed],
            "counts": production.cards.aggregate(
                **{name: Count("id", filter=those) for name, those in _STATES.items()}
            ),
            "total": coverage.total(covered.values()),
        },
    )


def _pages_of_days(cards: QuerySet[Card]) -> list[list[date | None]]:
    """The shoot days in order, those together that have A_PAGE cards between them or one day more than that."""
    pages: list[list[date | None]] = [[]]
    room = A_PAGE
    by_day = cards.order_by(F("shoot_date").asc(nulls_last=True)).values_list("shoot_date").annotate(Count("id"))
    for day, count in by_day:
        if room <= 0:
            pages.append([])
            room = A_PAGE
        pages[-1].append(day)
        room -= count
    return pages


def _on(days: list[date | None]) -> Q:
    return Q(shoot_date__in=[day for day in days if day]) | (Q(shoot_date=None) if None in days else Q(pk__in=()))


def _by_day(rows) -> list:
    days: dict = {}
    for row in rows:
        days.setdefault(row[0].shoot_date, []).append(row)
    return sorted(days.items(), key=lambda item: (item[0] is None, item[0]))


@login_required
@refusing
def card(request, card_id: int):
    card = _card(request, card_id)
    remember(request, card.production)
    stints = Stint.objects.filter(clip__card=card, ended_at=None).select_related("logger")
    holders: dict[int, list[Stint]] = {}
    for stint in stints:
        holders.setdefault(stint.clip_id, []).append(stint)
    return render(
        request,
        "review/card.html",
        {
            "card": card,
            "clips": [(clip, holders.get(clip.id, [])) for clip in card.clips.all()],
            "part": coverage.by_card(card.production, card).get(card),
            "files": card.files.all()[:500],
            "failed_jobs": _still_failed(card),
            "wipe": wiping.answer(card),
            "wipe_caution": CAUTION,
            "copies": [(copy, shelf.next_check(copy)) for copy in card.copies.select_related("medium")],
            "unclaimed": intake.unclaimed() if access.may(request.user, card.production, roles.CHECK_CARDS) else [],
        },
    )


def _still_failed(card: Card) -> list[Job]:
    """Jobs that failed, and for whose card or clip nothing of the kind was asked since."""
    later = Job.objects.filter(card=card, kind=OuterRef("kind"), id__gt=OuterRef("id"))
    since = Exists(later.filter(Q(clip=OuterRef("clip")) | Q(clip=None)))
    return list(card.jobs.filter(~since, state=Job.State.FAILED).select_related("clip")[:50])


@login_required
@require_POST
@refusing
def scan(request):
    production = current_production(request)
    access.require(request.user, production, roles.CHECK_CARDS)
    before = production.cards.count()
    intake.scan()
    found = production.cards.count() - before
    messages.info(request, f"Looked under the card roots: {found or 'no'} new card{'' if found == 1 else 's'}.")
    return redirect("cards")


@login_required
@require_POST
@refusing
def take_in(request):
    """Take in a folder that the scan could not give to a production. It is chosen from a list, never typed."""
    production = current_production(request)
    access.require(request.user, production, roles.CHECK_CARDS)
    wanted = request.POST.get("folder", "")
    folder = next((path for path in intake.unclaimed() if str(path) == wanted), None)
    if folder is None:
        raise NotFound("That folder is not there any more, or has been taken in; look at the list again.")
    return redirect("card", intake.take_in_by(request.user, folder, production).id)


@login_required
@require_POST
@refusing
def check(request, card_id: int):
    card = _card(request, card_id)
    intake.check_by(request.user, card)
    messages.info(request, f"{card.name} will be read from start to end and compared. Nothing on it is changed.")
    return redirect("card", card.id)


@login_required
@require_POST
@refusing
def accept(request, card_id: int):
    card = _card(request, card_id)
    intake.accept(card, request.user, request.POST.get("reason", ""))
    messages.info(request, f"{card.name} is accepted. Your name and reason stay on record.")
    return redirect("card", card.id)


@login_required
@require_POST
@refusing
def add_copy(request, card_id: int):
    """Know another folder as a copy of the card. It is chosen from a list, never typed."""
    card = _card(request, card_id)
    access.require(request.user, card.production, roles.CHECK_CARDS)
    wanted = request.POST.get("folder", "")
    folder = next((path for path in intake.unclaimed() if str(path) == wanted), None)
    if folder is None:
        raise NotFound("That folder is not there any more, or is known already; look at the list again.")
    copies.add_by(request.user, card, folder, is_original=request.POST.get("original") == "yes")
    messages.info(request, f"{folder.name} will be read from start to end and compared with {card.name}.")
    return redirect("card", card.id)


@login_required
@require_POST
@refusing
def retry(request, job_id: int):
    failed = access.jobs(request.user).filter(card__isnull=False, state=Job.State.FAILED)
    job = get_object_or_404(failed, id=job_id)
    access.require(request.user, job.card.production, roles.CHECK_CARDS)
    if job.kind == Job.Kind.PROXY:
        proxying.ask_for_proxies(job.card, why=f"{request.user} asked again")
    else:
        jobs.retry(job)
    return redirect("card", job.card_id)


def _card(request, card_id: int) -> Card:
    return get_object_or_404(
        access.cards(request.user).select_related("production", "accepted_by", "sealed_by"), id=card_id
    )
