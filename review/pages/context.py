"""What every page needs: the productions of the person, and the one they work in."""

from review import roles
from review.crew import access
from review.pages.navigation import ways


def house(request) -> dict:
    person = getattr(request, "user", None)
    if person is None or not person.is_authenticated:
        return {}
    productions = list(access.productions(person))
    code = request.production.code if hasattr(request, "production") else request.session.get("production")
    current = next((each for each in productions if each.code == code), productions[0] if productions else None)
    held = access.roles_in(person, current) if current else set()
    return {
        "productions": productions,
        "production": current,
        "ways": ways(request, held),
        "held_roles": sorted(held),
        "may_check": roles.may(held, roles.CHECK_CARDS),
        "may_accept": roles.may(held, roles.ACCEPT_CARDS),
        "may_mark": roles.may(held, roles.MARK),
        "may_take": roles.may(held, roles.TAKE_STINTS),
        "may_list": roles.may(held, roles.MAKE_LISTS),
        "may_manage": roles.may(held, roles.MANAGE_PEOPLE),
    }
