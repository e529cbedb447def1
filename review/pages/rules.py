from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.shortcuts import redirect, render

from review import roles
from review.cards.names import USUAL_RULE, name_rule
from review.cards.wiping import CAUTION, WipeRule
from review.crew import access
from review.custody import naming, wiping
from review.models import Production
from review.pages.current import current_production
from review.pages.errors import refusing
from review.record import stints
from review.refusals import Refusal


@login_required
@refusing
def rules_page(request):
    """How the production names its cards, and when one may be wiped."""
    production = current_production(request)
    if request.method == "POST":
        access.require(request.user, production, roles.SET_RULES)
        if "name_rule" in request.POST:
            naming.set_rule(request.user, production, request.POST["name_rule"])
            messages.info(request, f"Cards of {production.code} are named as in {_example(production)}.")
        elif "idle_hours" in request.POST:
            stints.set_idle_hours(request.user, production, _count(request.POST["idle_hours"]))
            messages.info(request, f"A stint that rests for {production.idle_hours} hours is offered to others.")
        else:
            counts = {field: _count(request.POST.get(field, "")) for field in ("copies", "devices", "elsewhere")}
            wiping.set_rule(request.user, production, WipeRule(**counts))
            messages.info(request, f"{production.code} asks for {wiping.rule_of(production)}.")
        return redirect("rules")
    return render(
        request,
        "review/rules.html",
        {
            "rule": production.name_rule or USUAL_RULE,
            "example": _example(production),
            "usual": USUAL_RULE,
            "wipe": wiping.rule_of(production),
            "caution": CAUTION,
            "may_rule": access.may(request.user, production, roles.SET_RULES),
        },
    )


def _example(production: Production) -> str:
    return name_rule(production.name_rule).example_of(production.code)


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 5):
        raise Refusal("Write a whole number.")
    return int(text)
