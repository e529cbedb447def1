import base64

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from review import field_notes_csv, roles
from review.crew import access
from review.marking import taking_notes
from review.models import FieldNote
from review.pages.current import current_production
from review.pages.errors import refusing
from review.record import field_notes
from review.refusals import Refusal

A_PAGE = 100


@login_required
@refusing
def notes_page(request):
    """The production's field notes; a POST previews a CSV of them, and a second one takes it."""
    production = current_production(request)
    if request.method == "POST":
        access.require(request.user, production, roles.TAKE_NOTES)
        if "previewed" in request.POST:
            taken = taking_notes.take(request.user, production, _previewed(request.POST["previewed"]))
            messages.info(request, f"{taken} field note{'' if taken == 1 else 's'} taken.")
            return redirect("notes")
        return _preview(request, production)
    wanted = request.GET.get("text", "")
    found = field_notes.find(production, wanted)
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    rolling = field_notes.Rolling(production)
    return render(
        request,
        "review/notes.html",
        {
            "page": page,
            "rows": [(note, rolling.of(note)) for note in page],
            "wanted": wanted,
            "may_take": access.may(request.user, production, roles.TAKE_NOTES),
        },
    )


def _preview(request, production):
    file = request.FILES.get("file")
    if file is None:
        raise Refusal("Choose the CSV of field notes first.", "file")
    if file.size > field_notes_csv.MOST_BYTES:
        raise Refusal(f"The file has {file.size:,} bytes; {field_notes_csv.MOST_BYTES:,} is the most.", "file")
    data = file.read()
    seen = taking_notes.preview(request.user, production, data)
    return render(
        request,
        "review/notes_preview.html",
        {
            "name": file.name,
            "seen": seen,
            "good": len(seen.matched) + len(seen.unmatched),
            # The browser keeps it between the two steps, so that nothing half-taken lies on the server.
            "previewed": base64.b64encode(data).decode("ascii"),
        },
    )


def _previewed(text: str) -> bytes:
    try:
        return base64.b64decode(text, validate=True)
    except ValueError:  # letters that are none of base64, or not even ASCII
        raise Refusal("The preview was lost on the way; choose the file again.", "file") from None


@login_required
@require_POST
@refusing
def delete(request, note_id: int):
    mine = FieldNote.objects.filter(production__in=access.productions(request.user))
    note = get_object_or_404(mine.select_related("production"), id=note_id)
    taking_notes.delete(request.user, note)
    messages.info(request, f"The note of {note.timecode} is deleted.")
    return redirect("notes")
