from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from review import roles
from review.crew import access
from review.models import Production, Split
from review.pages.current import current_production, remember
from review.pages.errors import refusing
from review.record import coverage
from review.refusals import Refusal
from review.team import handing_out, holding, planning
from review.team.balance import balance, weigh

A_PAGE = 100
_LISTS = ("cards", "days", "cameras", "tags", "urgent_days", "urgent_tags")


@login_required
@refusing
def splits_page(request):
    """Plan a split; and the splits so far."""
    production = current_production(request)
    access.require(request.user, production, roles.HAND_OUT)
    if request.method == "POST":
        made = planning.propose(request.user, production, _wanted(request.POST), _hours(request.POST))
        return redirect("split", made.id)
    cards = coverage.by_card_as_known(production)
    everything = holding.held(production)
    held = {
        person.id: holding.seconds_of(theirs, lambda each: each.frames_left)
        for person, theirs in holding.by_person(everything).items()
    }
    logs = set(production.memberships.filter(role=roles.LOGGER).values_list("person", flat=True))
    last = production.splits.first()
    usual = last.hours if last else {}
    return render(
        request,
        "review/splits.html",
        {
            "days": list(coverage.by_day(cards).items()),
            "cameras": list(coverage.by_camera(cards).items()),
            "cards": [(card, part) for card, part in cards.items() if part.unwatched],
            "tags": _tags(production),
            "unassigned": holding.unassigned_seconds(production, everything),
            "people": [
                {"person": each, "held": held.get(each.id, 0), "hours": usual.get(each.username, ""),
                 "logs": each.id in logs}
                for each in planning.loggers_of(production)
            ],
            "anybody_holds": bool(held),
            "splits": Paginator(production.splits.select_related("made_by", "settled_by"), 20).get_page(
                request.GET.get("page")
            ),
        },
    )  # fmt: skip


def _tags(production: Production) -> list[str]:
    tags = production.field_notes.exclude(tag="").order_by("tag")
    return list(tags.values_list("tag", flat=True).distinct()[:200])


def _wanted(form) -> dict:
    minutes = form.get("minutes_an_hour", "60")
    if not (minutes.isascii() and minutes.isdigit() and len(minutes) < 4):
        raise Refusal("Write minutes of footage to an hour as a whole number.", "minutes_an_hour")
    return {
        **{name: form.getlist(name) for name in _LISTS},
        "seconds": "seconds" in form,
        "again": "again" in form,
        "minutes_an_hour": 0 if "all" in form else int(minutes),
    }


def _hours(form) -> dict[str, float]:
    """The hours of everybody who was given any."""
    found = {}
    for field, text in form.items():
        kind, _, name = field.partition(":")
        text = text.strip().replace(",", ".")
        if kind != "hours" or text in ("", "0"):
            continue
        try:
            found[name] = float(text)
        except ValueError:
            raise Refusal(f"{text[:20]!r} is no number of hours; write 6 or 6.5.", "hours") from None
    return found


@login_required
@refusing
def split_page(request, split_id: int):
    """A proposal, and how even it is."""
    split = _split(request, split_id)
    remember(request, split.production)
    weighed = weigh(split)
    of = request.GET.get("of", "")
    shown = weighed
    if of:
        shown = [each for each in weighed if (each.piece.logger.username if each.piece.logger else "nobody") == of]
    name = {each.piece.logger_id: str(each.piece.logger) for each in weighed}
    shown = sorted(shown, key=lambda each: (not each.piece.logger_id, name[each.piece.logger_id]))
    may = split.state == Split.State.PROPOSED and access.may(request.user, split.production, roles.HAND_OUT)
    return render(
        request,
        "review/split.html",
        {
            "split": split,
            "balance": balance(split, weighed),
            "page": Paginator(shown, A_PAGE).get_page(request.GET.get("page")),
            "count": len(weighed),
            "of": of,
            "loggers": planning.loggers_of(split.production),
            "may": may,
            "parts": sum(each.is_part for each in weighed),
        },
    )


@login_required
@require_POST
@refusing
def accept(request, split_id: int):
    split = _split(request, split_id)
    asked = request.POST.get("version", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 10):
        raise Refusal("The page did not say which state of the split it shows; load it again.", "version")
    handing_out.accept(request.user, split, int(asked))
    messages.info(request, f"Split {split.id} is handed out; everybody sees what changed for them on their first page.")
    return redirect(f"{reverse('stints')}?production={split.production.code}")


@login_required
@require_POST
@refusing
def discard(request, split_id: int):
    split = planning.discard(request.user, _split(request, split_id))
    messages.info(request, f"Split {split.id} is put away. Nobody was given anything.")
    return redirect(f"{reverse('splits')}?production={split.production.code}")


@login_required
@require_POST
@refusing
def again(request, split_id: int):
    """Propose the same once more, with what is free now. A proposal that it takes the place of is put away."""
    split = _split(request, split_id)
    made = planning.propose(request.user, split.production, split.wanted, split.hours)
    if split.state == Split.State.PROPOSED:
        planning.discard(request.user, split)
    return redirect("split", made.id)


def _split(request, split_id: int) -> Split:
    mine = access.splits(request.user).select_related("production", "made_by", "settled_by")
    return get_object_or_404(mine, id=split_id)
