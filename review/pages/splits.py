from collections.abc import Mapping, Sequence
from fractions import Fraction

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
from review.record import coverage, stories
from review.refusals import Refusal
from review.team import handing_out, holding, on_record, planning
from review.team.balance import Weighed, balance, weigh
from review.team.on_record import Recorded

A_PAGE = 100
_MOST_TAGS = 200  # that can be chosen
_A_DAY = 8  # hours that a logger has, if nothing else is known
_LISTS = ("cards", "days", "cameras", "tags", "urgent_days", "urgent_tags")
_SWITCHES = ("seconds", "again", "begun", "all")


@login_required
@refusing
def splits_page(request):
    """Plan a split; and the splits so far."""
    production = current_production(request)
    access.require(request.user, production, roles.HAND_OUT)
    if request.method != "POST":
        return _plan(request, production)
    try:
        made = planning.propose(request.user, production, _wanted(request.POST), _hours(request.POST))
    except Refusal as refusal:
        return _plan(request, production, refusal.message)
    return redirect("split", made.id)


def _plan(request, production: Production, refused: str = ""):
    """The form, with what was typed into it where that was refused."""
    cards = coverage.by_card_as_known(production)
    everything = holding.held(production)
    held = {
        person.id: holding.seconds_of(theirs, lambda each: each.frames_left)
        for person, theirs in holding.by_person(everything).items()
    }
    return render(
        request,
        "review/splits.html",
        {
            "refused": refused,
            "days": list(coverage.by_day(cards).items()),
            "cameras": list(coverage.by_camera(cards).items()),
            "cards": [(card, part) for card, part in cards.items() if part.unwatched],
            "tags": _tags(production),
            "unassigned": holding.unassigned_seconds(production, everything),
            "people": _people(request, production, held),
            "chosen": {name: request.POST.getlist(name) for name in (*_LISTS, *_SWITCHES)},
            "minutes_an_hour": request.POST.get("minutes_an_hour", "60"),
            "anybody_holds": bool(held),
            "splits": Paginator(production.splits.select_related("made_by", "settled_by"), 20).get_page(
                request.GET.get("page")
            ),
        },
        status=400 if refused else 200,
    )


def _people(request, production: Production, held: Mapping[int, Fraction]) -> list[dict]:
    """A line for everybody who can be given footage, with their hours: as typed, as in the last split, or a logger's
    whole day if there was none."""
    logs = set(production.memberships.filter(role=roles.LOGGER).values_list("person__username", flat=True))
    last = production.splits.first()
    usual = last.hours if last else dict.fromkeys(logs, _A_DAY)
    typed = {name: f"{hours:g}" for name, hours in usual.items()}
    if request.method == "POST":
        typed = {field.removeprefix("hours:"): text for field, text in request.POST.items() if ":" in field}
    return [
        {
            "person": person,
            "held": held.get(person.id, 0),
            "hours": typed.get(person.username, ""),
            "was_away": bool(last) and person.username in logs - last.hours.keys(),
        }
        for person in planning.loggers_of(production)
    ]


def _tags(production: Production) -> list[tuple[str, Fraction]]:
    """The tags of the field notes, with the seconds that are unwatched of each."""
    tags = production.field_notes.exclude(tag="").order_by("tag").values_list("tag", flat=True).distinct()
    unwatched = stories.unwatched(production)
    return [(tag, unwatched.get(tag, Fraction(0))) for tag in tags[:_MOST_TAGS]]


def _wanted(form) -> dict:
    minutes = form.get("minutes_an_hour", "60")
    if not (minutes.isascii() and minutes.isdigit() and len(minutes) < 4):
        raise Refusal("Write minutes of footage to an hour as a whole number.", "minutes_an_hour")
    return {
        **{name: form.getlist(name) for name in _LISTS},
        "seconds": "seconds" in form,
        "again": "again" in form or "begun" in form,
        "begun": "begun" in form,
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
    if split.state != Split.State.PROPOSED:
        return _on_record(request, split)
    weighed = weigh(split)
    return render(
        request,
        "review/split.html",
        {
            "split": split,
            "balance": balance(split, weighed),
            "loggers": planning.loggers_of(split.production),
            "may": access.may(request.user, split.production, roles.HAND_OUT),
            **_pieces(request, weighed),
        },
    )


def _on_record(request, split: Split):
    """A split that was accepted or discarded, as it was then."""
    recorded = on_record.pieces(split)
    given = on_record.given(split, recorded)
    return render(
        request, "review/split_on_record.html", {"split": split, "given": given, **_pieces(request, recorded)}
    )


def _pieces(request, every: Sequence[Weighed] | Sequence[Recorded]) -> dict:
    """A page of the pieces, of one logger or of all: nobody's last."""
    of = request.GET.get("of", "")
    name = {each.piece.logger_id: each.piece.logger.username if each.piece.logger else "nobody" for each in every}
    shown = [each for each in every if of in ("", name[each.piece.logger_id])]
    shown.sort(key=lambda each: (not each.piece.logger_id, str(each.piece.logger)))
    return {
        "page": Paginator(shown, A_PAGE).get_page(request.GET.get("page")),
        "count": len(every),
        "parts": sum(each.is_part for each in every),
        "of": of,
    }


@login_required
@require_POST
@refusing
def accept(request, split_id: int):
    split = _split(request, split_id)
    asked = request.POST.get("version", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 10):
        raise Refusal("The page did not say which state of the split it shows; load it again.", "version")
    accepted = handing_out.accept(request.user, split, int(asked))
    said = f"Split {split.id} is handed out; everybody sees what changed for them on their first page."
    if left_out := handing_out.left_out(accepted):
        said += f" Left out, as it stays with who has it: {left_out}."
    messages.info(request, said)
    return redirect(f"{reverse('stints')}?production={split.production.code}")


@login_required
@require_POST
@refusing
def discard(request, split_id: int):
    split = planning.discard(request.user, _split(request, split_id))
    messages.info(request, f"Split {split.id} is discarded. Nobody was given anything.")
    return redirect(f"{reverse('splits')}?production={split.production.code}")


@login_required
@require_POST
@refusing
def again(request, split_id: int):
    """Propose the same once more, with what is free now. A proposal that it takes the place of is discarded."""
    split = _split(request, split_id)
    made = planning.propose(request.user, split.production, split.wanted, split.hours)
    if split.state == Split.State.PROPOSED:
        planning.discard(request.user, split)
    return redirect("split", made.id)


def _split(request, split_id: int) -> Split:
    mine = access.splits(request.user).select_related("production", "made_by", "settled_by")
    return get_object_or_404(mine, id=split_id)
