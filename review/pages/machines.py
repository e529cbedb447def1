from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from review import roles
from review.crew import access
from review.models import WorkerSeen
from review.pages.current import current_production
from review.pages.errors import refusing
from review.running import health, machines
from review.work import workers

SHOWN = 50  # failed jobs on the page


@login_required
@refusing
def machines_page(request):
    """Whether everything works, what waits, and what failed and why."""
    production = current_production(request)
    access.require(request.user, production, roles.SEE_INSIDE)
    now = timezone.now()
    failed = machines.failed(production)
    return render(
        request,
        "review/machines.html",
        {
            "answers": health.ready(),
            "queues": [
                (queue, (now - queue.oldest).total_seconds() if queue.oldest else None) for queue in machines.queues()
            ],
            "workers": [
                (each, each.queues.replace(",", ", "), workers.silent(each, now), (now - each.heard_at).total_seconds())
                for each in WorkerSeen.objects.exclude(name=workers.SCHEDULER)
            ],
            "failed": failed[:SHOWN],
            "failed_count": failed.count(),
            "shown": SHOWN,
        },
    )


@login_required
@require_POST
@refusing
def retry(request, job_id: int):
    found = access.jobs(request.user).select_related("card__production", "clip", "copy", "stringout__list__production")
    job = get_object_or_404(found, id=job_id)
    machines.retry_by(request.user, job)
    messages.info(request, f"The {job.kind} of {job.clip or job.card or job.stringout} was asked for again.")
    return redirect(f"{reverse('machines')}?production={machines.production_of(job).code}")


@login_required
@require_POST
@refusing
def retry_all(request):
    production = current_production(request)
    count = machines.retry_all_by(request.user, production)
    messages.info(request, f"{count} job{'' if count == 1 else 's'} asked for again.")
    return redirect(f"{reverse('machines')}?production={production.code}")
