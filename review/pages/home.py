from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView, PasswordChangeView
from django.shortcuts import redirect, render
from django.urls import reverse_lazy

from review import access, coverage


@login_required
def home(request):
    """Pick a production. Somebody with one goes straight to it."""
    productions = list(access.productions(request.user))
    if len(productions) == 1:
        return redirect("cards")
    rows = [(each, coverage.total(coverage.by_card(each).values()), each.cards.count()) for each in productions]
    return render(request, "review/home.html", {"rows": rows})


class ChangePassword(PasswordChangeView):
    template_name = "review/password.html"
    success_url = reverse_lazy("home")


sign_in = LoginView.as_view(template_name="review/sign_in.html", redirect_authenticated_user=True)
