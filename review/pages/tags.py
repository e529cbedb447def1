import re

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from review import roles
from review.crew import access
from review.marking import tagging
from review.models import Production, Tag
from review.pages.current import current_production
from review.pages.errors import refusing
from review.refusals import Refusal

# In this order; the others follow by name, and what has no group comes last.
USUAL_GROUPS = ("people", "story", "place", "kind")


@login_required
@refusing
def tags_page(request):
    """The production's tags in their groups; a POST adds one."""
    production = current_production(request)
    if request.method == "POST":
        tag = tagging.add(request.user, production, request.POST.get("name", ""), request.POST.get("group", ""))
        messages.info(request, f"{tag.name} is a tag now.")
        return redirect("tags")
    found = list(tagging.counted(production).prefetch_related("former_words"))
    return render(
        request,
        "review/tags.html",
        {
            "groups": _grouped(found),
            "tags": sorted(found, key=_natural),
            "count": len(found),
            "unused": sum(not tag.uses for tag in found),
            "group_names": sorted({tag.group for tag in found if tag.group} | set(USUAL_GROUPS)),
            "editing": _number(request.GET.get("edit", "")),
            "letters": sorted(tagging.LETTERS),
            "may_tidy": access.may(request.user, production, roles.TIDY_TAGS),
        },
    )


@login_required
@require_POST
@refusing
def change(request, tag_id: int):
    """Rename a tag, move it to a group and set its key; or remove it."""
    tag = get_object_or_404(access.tags(request.user).select_related("production"), id=tag_id)
    if "remove" in request.POST:
        tagging.remove(request.user, tag)
        messages.info(request, f"{tag.name} is removed.")
        return redirect(_here(tag.production))
    tag = tagging.change(request.user, tag, **{each: request.POST.get(each) for each in ("name", "group", "key")})
    return redirect(f"{_here(tag.production)}#tag-{tag.id}")


@login_required
@require_POST
@refusing
def merge(request):
    """Merge the chosen tags into one, or put them into a group."""
    production = current_production(request)
    access.require(request.user, production, roles.TIDY_TAGS)
    chosen = list(production.tags.filter(id__in=[_number(each) for each in request.POST.getlist("tag")]))
    if not chosen:
        raise Refusal("Choose the tags first: tick them in the table.", "tags")
    if "move" in request.POST:
        moved = tagging.move(request.user, production, chosen, request.POST.get("group", ""))
        messages.info(request, f"{moved} {'tag' if moved == 1 else 'tags'} moved.")
        return redirect("tags")
    into = production.tags.filter(id=_number(request.POST.get("into", ""))).first()
    if into is None:
        raise Refusal("Choose the tag that they become.", "into")
    selects = tagging.merge(request.user, chosen, into)
    names = ", ".join(tag.name for tag in chosen if tag != into)
    messages.info(request, f"{names} became {into.name}, on {selects} select{'' if selects == 1 else 's'}.")
    return redirect(f"{reverse('tags')}#tag-{into.id}")


@login_required
@require_POST
@refusing
def import_set(request):
    production = current_production(request)
    told = tagging.import_set(request.user, production, request.POST.get("text", ""))
    words = f"{told.added} added, {told.moved} moved to another group, {told.there} there already."
    messages.info(request, f"Imported: {words}")
    return redirect("tags")


def _grouped(tags: list[Tag]) -> list[tuple[str, list[Tag]]]:
    groups: dict[str, list[Tag]] = {}
    for tag in sorted(tags, key=_natural):
        groups.setdefault(tag.group.lower(), []).append(tag)
    usual = {name: place for place, name in enumerate(USUAL_GROUPS)}
    return sorted(groups.items(), key=lambda each: (not each[0], usual.get(each[0], len(usual)), each[0]))


def _natural(tag: Tag) -> list[tuple[int, str]]:
    """Bay 2 before bay 10."""
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in re.split(r"(\d{1,9})", tag.folded)]


def _here(production: Production) -> str:
    return f"{reverse('tags')}?production={production.code}"


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 18 else 0
