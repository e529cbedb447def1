"""Guessing passwords is slowed down, and those who own the productions of whoever is guessed at are told.

django-axes counts; here is where a request comes from, and what is said.
"""

import logging
from datetime import timedelta

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from review.crew import activity
from review.models import Activity, Membership, Person, Production

log = logging.getLogger(__name__)

CLOSED_WORDS = "was guessed at"


def address_of(request: HttpRequest) -> str:
    """Where a request came from: what our own server in front of us says, or who is connected. What a stranger
    wrote into the header stands before what our server added, and is not believed."""
    forwarded = request.META.get("HTTP_X_FORWARDED_FOR", "") if settings.BEHIND_NGINX else ""
    return forwarded.rpartition(",")[2].strip() or request.META.get("REMOTE_ADDR", "")


def closed(request: HttpRequest, response: HttpResponse | None, credentials: dict) -> HttpResponse:
    """The answer to a sign-in that is closed for a while."""
    name, address = credentials.get("username") or "", address_of(request)
    person = Person.objects.filter(username__iexact=name[:150]).first()
    log.warning("sign-in of %r from %s is closed after %d failures", name[:150], address, settings.AXES_FAILURE_LIMIT)
    if person:
        _tell(person, address)
    minutes = settings.AXES_COOLOFF_TIME // timedelta(minutes=1)
    words = (
        f"There were {settings.AXES_FAILURE_LIMIT} wrong passwords for this name, so signing in from here is closed "
        f"for {minutes} minutes. Somebody who lost their password gets a new one from a production's owner."
    )
    return render(request, "review/refused.html", {"words": words, "status": 429}, status=429)


def _tell(person: Person, address: str) -> None:
    """In every production of theirs, once for each time that it is closed."""
    since = timezone.now() - settings.AXES_COOLOFF_TIME
    for production in Production.objects.filter(id__in=Membership.objects.filter(person=person).values("production")):
        told = Activity.objects.filter(production=production, did=CLOSED_WORDS, subject=str(person.id), at__gte=since)
        if not told.exists():
            activity.happened(
                production,
                None,
                CLOSED_WORDS,
                f"{person}’s password: {settings.AXES_FAILURE_LIMIT} wrong ones from {address}",
                activity.About.PEOPLE,
                person.id,
            )
