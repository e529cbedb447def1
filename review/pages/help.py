from django.contrib.auth.decorators import login_required
from django.shortcuts import render


@login_required
def help_page(request):
    """How to log a clip, step by step, with pictures that tests/pictures/take.py makes of the demo."""
    return render(request, "review/help.html")
