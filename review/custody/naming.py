"""What a folder's name says, by the naming rules of all productions."""

from collections.abc import Callable

from django.db import transaction

from review import roles
from review.cards.names import CardName, NameMisfit, NameRule, RuleMisfit, name_rule
from review.crew import access, activity
from review.models import Person, Production
from review.refusals import Refusal


def read(name: str) -> tuple[Production, CardName] | None:
    """The production whose rule the name fits, and what it says; None if it fits none.

    A rule that does not name its production fits only where that leaves no doubt.
    """
    found = []
    for production in Production.objects.all():
        try:
            said = name_rule(production.name_rule).read(name)
        except NameMisfit:
            continue
        if said.production == production.code:
            return production, said
        if not said.production:
            found.append((production, said))
    return found[0] if len(found) == 1 else None


def read_or_nearest(name: str) -> tuple[Production, CardName] | None:
    """The same, or else by the nearest name that fits, where that is the same in other writing."""
    if found := read(name):
        return found
    for production in Production.objects.all():
        try:
            name_rule(production.name_rule).read(name)
        except NameMisfit as misfit:
            if misfit.nearest and (found := read(misfit.nearest)):
                return found
    return None


def names_a_production(name: str) -> bool:
    """Whether a name, or the nearest that fits, says a production's code by the usual rule, known here or not."""
    usual = name_rule("")
    try:
        usual.read(name)
    except NameMisfit as misfit:
        return bool(misfit.nearest)
    return True


def card_name_test() -> Callable[[str], bool]:
    """Tells whether a name is a card's, by any production's rule of now or by the usual one."""
    rules = [name_rule(rule) for rule in {"", *Production.objects.values_list("name_rule", flat=True)}]
    return lambda name: any(_fits(rule, name) for rule in rules)


def _fits(rule: NameRule, name: str) -> bool:
    try:
        rule.read(name)
    except NameMisfit:
        return False
    return True


def set_rule(person: Person, production: Production, rule: str) -> None:
    """The rule by which the production's cards are named; '' for the usual one. Cards that are known keep their names
    and what was read from them."""
    access.require(person, production, roles.SET_RULES)
    rule = " ".join(rule.split())
    try:
        name_rule(rule)
    except RuleMisfit as problem:
        raise Refusal(f"That naming rule cannot be used: {problem}.", "name_rule") from None
    production.name_rule = rule
    with transaction.atomic():
        production.save(update_fields=["name_rule"])
        words = f"the rule for naming cards to: {rule or 'the usual one'}"
        activity.happened(production, person, "changed", words, activity.About.PRODUCTION, production.id)
