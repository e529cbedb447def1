from django.contrib.auth.decorators import login_required
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from review import responses
from review.crew import access
from review.desk import stringouts
from review.pages.current import remember
from review.pages.errors import NotHere, refusing


@login_required
@refusing
def of_list(request, list_id: int):
    """The stringouts of a list, the newest to be played; a POST asks for another."""
    selects_list = get_object_or_404(access.lists(request.user).select_related("production"), id=list_id)
    remember(request, selects_list.production)
    if request.method == "POST":
        stringouts.ask(request.user, selects_list)
        return redirect("stringouts", selects_list.id)
    made = list(selects_list.stringouts.select_related("made_by"))
    rows = [(each, stringouts.job_of(each)) for each in made]
    shown = next((each for each in made if each.file), None)
    return render(request, "review/stringouts.html", {"list": selects_list, "rows": rows, "shown": shown})


@login_required
@refusing
def video(request, stringout_id: int):
    """The file itself, for members of its production only."""
    stringout = get_object_or_404(access.stringouts(request.user), id=stringout_id)
    if not stringout.file:
        raise NotHere("This stringout is not made yet; its list's page says how far it is.")
    return responses.media(request, stringouts.folder(stringout) / stringout.file)


@login_required
@require_POST
@refusing
def retry(request, stringout_id: int):
    stringout = get_object_or_404(access.stringouts(request.user).select_related("list__production"), id=stringout_id)
    stringouts.again(request.user, stringout)
    return redirect("stringouts", stringout.list_id)
