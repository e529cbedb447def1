from django.contrib.auth.decorators import login_required
from django.db.models import Count, Q
from django.shortcuts import get_object_or_404, redirect, render

from review import access, lists
from review.pages.current import current_production, remember
from review.pages.errors import refusing


@login_required
@refusing
def lists_page(request):
    """The production's lists; a POST makes an empty one."""
    production = current_production(request)
    if request.method == "POST":
        return redirect("list", lists.make(request.user, production, request.POST.get("name", "")).id)
    found = production.lists.select_related("made_by").annotate(
        size=Count("entries", filter=Q(entries__select__deleted=None))
    )
    return render(request, "review/lists.html", {"lists": found})


@login_required
@refusing
def list_page(request, list_id: int):
    selects_list = get_object_or_404(access.lists(request.user).select_related("production"), id=list_id)
    remember(request, selects_list.production)
    entries = (
        selects_list.entries.filter(select__deleted=None)
        .select_related("select__clip__card", "select__logger")
        .prefetch_related("select__tags")
    )
    entries = list(entries)
    running = sum((entry.select.clip.timebase.rate.seconds(entry.select.frames) for entry in entries), start=0)
    kinds = sorted({str(entry.select.clip.timebase) for entry in entries})
    return render(
        request,
        "review/list.html",
        {"list": selects_list, "entries": entries, "running": running, "several_rates": len(kinds) > 1},
    )
