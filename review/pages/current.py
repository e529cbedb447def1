"""The production that somebody works in: named in the address once, then remembered for the session."""

from django.http import HttpRequest

from review.crew import access
from review.models import Production
from review.pages.errors import NotHere
from review.refusals import Refusal


def current_production(request: HttpRequest) -> Production:
    """The one in the address, the one remembered, or the first. Raises NotHere for somebody without any.

    What changes something must name it: another tab may have changed what is remembered.
    """
    mine = access.productions(request.user)
    code = request.GET.get("production", "").replace("\0", "")
    if request.method == "POST" and not code:
        raise Refusal("The page did not say which production it is for; load it again.", "production")
    if code:
        chosen = mine.filter(code=code.replace("\0", "").upper()).first()
        if chosen is None:
            raise NotHere("There is no such production, or you are not a member of it.")
    else:
        chosen = mine.filter(code=request.session.get("production")).first() or mine.first()
    if chosen is None:
        raise NotHere("You are not a member of any production yet; ask a production's owner to add you.")
    remember(request, chosen)
    return chosen


def remember(request: HttpRequest, production: Production) -> None:
    request.production = production
    if "X-Live" in request.headers:  # a page that renews itself: what other tabs look at is not its matter
        return
    if request.session.get("production") != production.code:
        request.session["production"] = production.code
