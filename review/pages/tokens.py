from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from review.crew import tokens
from review.pages.errors import refusing


@login_required
@refusing
def tokens_page(request):
    """One's own tokens; a POST makes one, which is shown on its answer only."""
    made = key = None
    if request.method == "POST":
        days = request.POST.get("days", "")
        made, key = tokens.issue(
            request.user,
            request.POST.get("name", ""),
            request.POST.get("scope", ""),
            int(days) if days.isdecimal() and len(days) < 6 else 0,
        )
    response = render(
        request,
        "review/tokens.html",
        {
            "tokens": tokens.working(request.user),
            "scopes": tokens.Scope.choices,
            "usual_days": tokens.USUAL_DAYS,
            "longest_days": tokens.LONGEST_DAYS,
            "made": made,
            "key": key,
        },
    )
    if key:
        response["Cache-Control"] = "no-store"
    return response


@login_required
@require_POST
@refusing
def revoke(request, token_id: int):
    token = tokens.revoke(request.user, token_id)
    messages.info(request, f"The token “{token.name}” works no more.")
    return redirect("tokens")
