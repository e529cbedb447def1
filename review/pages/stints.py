from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from review import roles
from review.crew import access, habits
from review.models import Stint
from review.pages.current import current_production
from review.pages.errors import refusing
from review.record import stints
from review.refusals import Refusal
from review.team import holding, stretches
from review.team.changed import changed, know

A_PAGE, RESTING = 50, 50  # stints on a page; those that rest of others


@login_required
@refusing
def stints_page(request):
    """What somebody holds, in order, with what is left of it; for who hands out, what everybody holds."""
    production = current_production(request)
    everything = holding.held(production)
    mine = [each for each in everything if each.stint.logger_id == request.user.id]
    may_hand_out = access.may(request.user, production, roles.HAND_OUT)
    mine_here = Paginator(mine, A_PAGE).get_page(request.GET.get("mine"))
    everybodys = _everybodys(request, everything) if may_hand_out else None
    resting = holding.resting(everything, request.user)
    holding.with_clips([*mine_here, *(everybodys or ()), *resting[:RESTING]])
    return render(
        request,
        "review/stints.html",
        {
            "mine": mine,
            "mine_here": mine_here,
            "left": holding.seconds_of(mine, _left),
            "unfinished": sum(bool(each.left) for each in mine),
            "seen_whole": sum(not each.left for each in mine),
            "changed": changed(request.user, production, mine),
            "resting": resting[:RESTING],
            "more_resting": len(resting[RESTING:]),
            "unassigned": holding.unassigned_seconds(production, everything),
            "minutes": stretches.MINUTES,
            "may_hand_out": may_hand_out,
            "people": _people(everything) if may_hand_out else [],
            "everybodys": everybodys,
            "of": request.GET.get("of", ""),
            "facts": {
                "keys": habits.of(request.user)["keys"],
                "next": f"{reverse('next-unwatched')}?production={production.code}",
            },
        },
    )


def _left(each: holding.Held) -> int:
    return each.frames_left


def _people(everything: list[holding.Held]) -> list[dict]:
    """A line for everybody who holds something."""
    return [
        {
            "person": person,
            "stints": len(theirs),
            "whole": holding.seconds_of(theirs, lambda each: each.frames),
            "done": holding.seconds_of(theirs, lambda each: each.frames - each.frames_left),
            "left": holding.seconds_of(theirs, _left),
            "idle": sum(each.idle and bool(each.left) for each in theirs),
            "touched": holding.last_touched(theirs),
        }
        for person, theirs in holding.by_person(everything).items()
    ]


def _everybodys(request, everything: list[holding.Held]):
    of = request.GET.get("of", "")
    shown = [each for each in everything if of in ("", each.stint.logger.username)]
    return Paginator(shown, A_PAGE).get_page(request.GET.get("page"))


@login_required
@require_POST
@refusing
def take_stretch(request):
    """Take some minutes of what nobody holds."""
    production = current_production(request)
    asked = request.POST.get("minutes", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 5):
        raise Refusal("Say how many minutes you want.", "minutes")
    taken = stretches.take_stretch(request.user, production, int(asked))
    cards = sorted({stint.clip.card.name for stint in taken})
    count = f"{len(taken)} stretch{'es' if len(taken) > 1 else ''}"
    messages.info(request, f"{count} of {', '.join(cards[:3])}{' and more' if len(cards) > 3 else ''}: yours now.")
    return redirect(f"{reverse('stints')}?production={production.code}")


@login_required
@require_POST
@refusing
def take_over(request, stint_id: int):
    """Take what somebody let rest."""
    stint = _stint(request, stint_id)
    live = holding.held(stint.clip.card.production, stint.logger)
    rests = next((each for each in live if each.stint.id == stint.id), None)
    if rests is None or not rests.left:
        raise Refusal("Nothing of this stretch is left to watch: somebody was faster.")
    start, end = rests.left[0].in_frame, rests.left[-1].out_frame
    stints.take(request.user, stint.clip, start, end, second=stint.second)
    messages.info(request, f"{stints.words(stint)} is yours now.")
    return redirect(f"{reverse('stints')}?production={stint.clip.card.production.code}")


@login_required
@require_POST
@refusing
def hand_back(request, stint_id: int):
    stint = stints.hand_back(request.user, _stint(request, stint_id))
    done = "handed back" if stint.logger_id == request.user.id else f"taken back from {stint.logger}"
    messages.info(request, f"{stints.words(stint)} is {done}: others can take what is left of it.")
    return redirect(f"{reverse('stints')}?production={stint.clip.card.production.code}")


@login_required
@require_POST
@refusing
def understood(request):
    """Somebody has seen what changed for them."""
    production = current_production(request)
    know(request.user, production, _numbers(request, "splits"), _numbers(request, "stints"))
    return redirect(f"{reverse('stints')}?production={production.code}")


def _numbers(request, name: str) -> list[int]:
    """Ids that the page sent along, with commas between them."""
    told = [each for each in request.POST.get(name, "").split(",") if each]
    if not all(each.isascii() and each.isdigit() and len(each) < 19 for each in told):
        raise Refusal("The page did not say what you have seen; load it again.", name)
    return [int(each) for each in told]


def _stint(request, stint_id: int) -> Stint:
    mine = access.stints(request.user).select_related("clip__card__production", "logger")
    return get_object_or_404(mine, id=stint_id)
