from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView, PasswordChangeView
from django.shortcuts import redirect, render
from django.urls import reverse, reverse_lazy

from review import roles
from review.crew import access, people, tokens
from review.models import Production
from review.pages.current import current_production
from review.pages.errors import refusing
from review.record import coverage

# What each comes for; somebody with several roles sees the first of them.
FIRST_PAGES = {
    roles.LOGGER: "stints",
    roles.EDITOR: "selects",
    roles.PRODUCER: "coverage",
    roles.MEDIA_MANAGER: "cards",
    roles.OWNER: "cards",
}


@login_required
@refusing
def home(request):
    """Pick a production. Somebody with one, or who says which, goes straight to what they do there."""
    productions = list(access.productions(request.user))
    if request.GET.get("production"):
        return redirect(_first_page(request, current_production(request)))
    if len(productions) == 1:
        return redirect(_first_page(request, productions[0]))
    rows = [(each, coverage.whole(each), *_cards(each)) for each in productions]
    codes = " ".join(each.code for each in productions)
    return render(request, "review/home.html", {"rows": rows, "codes": codes})


def _cards(production: Production) -> tuple[int, int]:
    """How many cards it has, and how many of them are not counted, because they cannot be trusted yet."""
    cards = list(production.cards.only("state"))
    return len(cards), sum(not card.trusted for card in cards)


def _first_page(request, production: Production) -> str:
    held = access.roles_in(request.user, production)
    page = next(page for role, page in FIRST_PAGES.items() if role in held)
    return f"{reverse(page)}?production={production.code}"


class ChangePassword(PasswordChangeView):
    template_name = "review/password.html"
    success_url = reverse_lazy("home")

    def form_valid(self, form):
        ended = people.change_password(self.request.user, form.cleaned_data["new_password1"])
        update_session_auth_hash(self.request, self.request.user)  # whoever changes it stays signed in here
        scripts = f" {ended} token{' was' if ended == 1 else 's were'} revoked with it." if ended else ""
        messages.info(self.request, f"Your password is changed, and you are signed out everywhere else.{scripts}")
        return redirect(self.get_success_url())

    def get_context_data(self, **context):
        return super().get_context_data(**context, tokens=tokens.working(self.request.user).count())


class SignIn(LoginView):
    """Leads a logger to their stints, whichever production they were last in; everybody else to the productions."""

    template_name = "review/sign_in.html"
    redirect_authenticated_user = True

    def get_redirect_url(self):
        asked_for = super().get_redirect_url()
        return "" if asked_for == reverse("home") else asked_for  # whoever opens Rushlight is sent from there

    def get_default_redirect_url(self):
        production = access.last_in(self.request.user)
        if production and access.roles_in(self.request.user, production) == {roles.LOGGER}:
            return _first_page(self.request, production)
        return super().get_default_redirect_url()
