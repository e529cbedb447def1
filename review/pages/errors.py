"""Refusals as pages: what, why, and where to go from here."""

from collections.abc import Callable
from functools import wraps

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import get_template
from django.utils.http import url_has_allowed_host_and_scheme

from review.refusals import NotAllowed, NotFound, Refusal


class NotHere(Http404):
    """With words that are meant for people, unlike those of Django's own."""


def refusing(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """A Refusal of a form goes back to the page it came from, as a message; of a page, it is the page."""

    @wraps(view)
    def wrapped(request: HttpRequest, *args, **kwargs):
        try:
            return view(request, *args, **kwargs)
        except Refusal as refusal:
            came_from = request.headers.get("Referer", "")
            if request.method == "POST" and url_has_allowed_host_and_scheme(came_from, {request.get_host()}):
                messages.error(request, refusal.message)
                return redirect(came_from)
            status = {NotAllowed: 403, NotFound: 404}.get(type(refusal), 400)
            return _page(request, status, refusal.message)

    return wrapped


def bad_request(request, exception=None):
    return _page(request, 400, "The request could not be understood; go back and try again.")


def forbidden(request, exception=None):
    return _page(request, 403, "This is not yours to do; ask the production's owner.")


def csrf_failure(request, reason=""):
    return _page(request, 403, "This page was open for too long or came from elsewhere; load it again and repeat.")


def too_large(request, most: int):
    words = f"What was sent has more than {most:,} bytes, which is the most that is taken; send it in parts."
    return _page(request, 413, words)


def not_found(request, exception=None):
    words = str(exception) if isinstance(exception, NotHere) else ""
    return _page(request, 404, words or "There is nothing here, or it is in a production you are not a member of.")


def server_error(request):
    words = "Something went wrong on our side; nothing you marked is lost. Try again in a moment."
    if _is_for_scripts(request):
        return JsonResponse({"detail": words}, status=500)
    # Nothing here may ask the database: it may be what went wrong.
    return HttpResponse(get_template("review/fault.html").render({"words": words}), status=500)


def _page(request: HttpRequest, status: int, words: str) -> HttpResponse:
    if _is_for_scripts(request):
        return JsonResponse({"detail": words}, status=status)
    return render(request, "review/refused.html", {"words": words, "status": status}, status=status)


def _is_for_scripts(request: HttpRequest) -> bool:
    return request.path.startswith("/api/")
