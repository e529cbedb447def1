from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from review import roles
from review.crew import access
from review.pages.current import current_production, remember
from review.pages.errors import refusing
from review.refusals import NotFound, Refusal
from review.team import agreement, second_looks

A_PAGE, SEVERAL = 50, 20


@login_required
@refusing
def second_looks_page(request):
    """What two pairs of eyes are asked to see, and how far they agree. A POST asks: for a `stretch` of a clip
    (clip-in-out, in frames) or for all of a `card`."""
    production = current_production(request)
    if request.method == "POST":
        return _ask(request, production)
    page = Paginator(second_looks.wanted(production), A_PAGE).get_page(request.GET.get("page"))
    several = Paginator(agreement.watched_by_several(production), SEVERAL).get_page(request.GET.get("clips"))
    seen = [look for look in page if look.seen_frames]
    agreed = agreement.on_each([(look.clip, look.in_frame, look.out_frame) for look in seen])
    of_look = {look.id: found for look, found in zip(seen, agreed, strict=True)}
    return render(
        request,
        "review/second_looks.html",
        {
            "page": page,
            "looks": [(look, of_look.get(look.id, [])) for look in page],
            "several": several,
            "least": agreement.LEAST_SECONDS,
            "clips": list(zip(several, agreement.on_each([(clip, 0, clip.frames) for clip in several]), strict=True)),
            "total": second_looks.total(production),
            "cards": production.cards.filter(clips__isnull=False).distinct().values_list("name", flat=True),
            "may_ask": access.may(request.user, production, roles.ASK_SECOND_LOOKS),
        },
    )


def _ask(request, production):
    why = request.POST.get("why", "")
    if name := request.POST.get("card", "").replace("\0", ""):
        card = production.cards.filter(name=name).first()
        if card is None:
            raise NotFound(f"There is no card {name[:60]!r} in {production.code}.", "card")
        count = second_looks.ask_for_card(request.user, card, why)
        stretches = f"{count} stretch{'' if count == 1 else 'es'}"
        messages.info(request, f"Two pairs of eyes are asked for on all of {card.name}: {stretches}.")
    else:
        clip_id, start, end = _stretch(request.POST.get("stretch", ""))
        clip = access.clips(request.user).filter(card__production=production, id=clip_id).first()
        if clip is None:
            raise NotFound("There is no such clip, or it is in a production you are not a member of.", "stretch")
        look = second_looks.ask(request.user, clip, start, end, why)
        label = look.clip.label
        messages.info(request, f"Two pairs of eyes are asked for on {label(start)} to {label(end)} of {clip.name}.")
    return redirect(_back(request))


def _back(request) -> str:
    """To the list of stretches that it was asked from, as that was filtered."""
    query = request.POST.get("back", "")
    if query.startswith("?"):
        return reverse("coverage") + query
    return reverse("second-looks")


def _stretch(text: str) -> list[int]:
    parts = text.split("-")
    if len(parts) != 3 or not all(part.isascii() and part.isdigit() and len(part) < 11 for part in parts):
        raise Refusal("Choose a card, or a stretch from the coverage page.", "stretch")
    return [int(part) for part in parts]


@login_required
@require_POST
@refusing
def end(request, look_id: int):
    look = get_object_or_404(access.second_looks(request.user), id=look_id)
    remember(request, look.clip.card.production)
    second_looks.end(request.user, look)
    messages.info(request, f"The second look at {look.clip.name} is not asked for any more; what was seen stays seen.")
    return redirect("second-looks")


@login_required
@refusing
def agreement_page(request, clip_id: int):
    """Where people who watched the same frames of a clip marked differently; of a stretch, with `in` and `out`."""
    clip = get_object_or_404(access.clips(request.user).select_related("card__production"), id=clip_id)
    remember(request, clip.card.production)
    start, end = (request.GET.get(name, "") for name in ("in", "out"))
    if not all(part == "" or (part.isascii() and part.isdigit() and len(part) < 11) for part in (start, end)):
        raise Refusal("The stretch is given as two frames, from 0.", "in")
    stretch = int(start or 0), min(int(end or clip.frames), clip.frames)
    if not 0 <= stretch[0] < stretch[1]:
        raise Refusal(f"{clip.name} has no such stretch; it has {clip.frames} frames.", "in")
    return render(
        request,
        "review/agreement.html",
        {
            "clip": clip,
            "start": stretch[0],
            "end": stretch[1],
            "length": stretch[1] - stretch[0],
            "agreements": agreement.on(clip, *stretch),
            "least": agreement.LEAST_SECONDS,
        },
    )
