from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from review import roles
from review.crew import access, people
from review.models import Membership, Person
from review.pages.current import current_production
from review.pages.errors import refusing


@login_required
@refusing
def people_page(request):
    """Who is in the production; its owner adds people here."""
    production = current_production(request)
    access.require(request.user, production, roles.MANAGE_PEOPLE)
    if request.method == "POST":
        name, role = request.POST.get("name", "").strip(), request.POST.get("role", "")
        person, password = people.add_member_by(request.user, name, production, role)
        if password:
            return _show_once(request, person, password)
        messages.info(request, f"{person} is now {role} of {production.code}.")
        return redirect("people")
    rows: dict[Person, list[Membership]] = {}
    for membership in production.memberships.select_related("person").order_by("person__username", "id"):
        rows.setdefault(membership.person, []).append(membership)
    held = people.stints_held(rows)
    told = [(person, memberships, held.get(person.id, 0)) for person, memberships in rows.items()]
    return render(request, "review/people.html", {"rows": told, "roles": roles.ROLES})


@login_required
@require_POST
@refusing
def remove(request, membership_id: int):
    membership = _membership(request, membership_id)
    people.remove_member_by(request.user, membership)
    messages.info(request, f"{membership.person} is no longer {membership.role}. Everything they marked stays.")
    return redirect("people")


@login_required
@require_POST
@refusing
def new_password(request, membership_id: int):
    """For somebody who lost theirs."""
    membership = _membership(request, membership_id)
    access.require(request.user, membership.production, roles.MANAGE_PEOPLE)
    return _show_once(request, membership.person, people.renew_password_by(request.user, membership.person), True)


@login_required
@require_POST
@refusing
def stop(request, membership_id: int):
    """Nobody signs in as this person any more."""
    person = _managed(request, membership_id).person
    people.stop_by(request.user, person)
    messages.info(request, f"{person} cannot sign in any more. What they marked stays; what they had taken on is free.")
    return redirect("people")


@login_required
@require_POST
@refusing
def bring_back(request, membership_id: int):
    person = _managed(request, membership_id).person
    people.bring_back_by(request.user, person)
    messages.info(request, f"{person} may sign in again, with the password they had.")
    return redirect("people")


def _managed(request, membership_id: int) -> Membership:
    membership = _membership(request, membership_id)
    access.require(request.user, membership.production, roles.MANAGE_PEOPLE)
    return membership


def _membership(request, membership_id: int) -> Membership:
    mine = Membership.objects.filter(production__in=access.productions(request.user))
    return get_object_or_404(mine.select_related("production", "person"), id=membership_id)


def _show_once(request, person, password: str, renewed: bool = False):
    """A password is on this answer only: not in a message, which would travel in a cookie."""
    context = {"person": person, "password": password, "renewed": renewed}
    response = render(request, "review/password_once.html", context)
    response["Cache-Control"] = "no-store"
    return response
