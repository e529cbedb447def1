"""How the machines do: what waits and for how long, what runs, and what failed and can be asked for again.

What waits is counted in the rows, which are the truth; the queue only carries their numbers.
"""

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.db import transaction
from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet

from review import roles
from review.crew import access
from review.derived import proxying
from review.models import Clip, Job, Person, Production
from review.refusals import Refusal
from review.work import jobs, workers

MOST_AT_ONCE = 500  # failed jobs that are asked for again by one click


@dataclass(frozen=True)
class Queue:
    """The jobs of one kind."""

    name: str
    waiting: int
    running: int
    failed: int  # and not done since
    oldest: datetime | None  # since when the one that waits longest does
    workers: int  # that take from it and were heard of lately

    @property
    def stuck(self) -> bool:
        """Work waits and nobody takes it."""
        return bool(self.waiting and not self.workers)


def queues() -> list[Queue]:
    """Every kind of job, those of a worker beside each other. Of the whole house, without any name of what it is."""
    kinds = [kind for kinds in settings.JOB_QUEUES.values() for kind in kinds]
    open_jobs = Job.objects.filter(state__in=jobs.OPEN).values_list("kind", "state")
    counted = {
        (kind, state): (count, oldest)
        for kind, state, count, oldest in open_jobs.annotate(count=Count("id"), oldest=Min("created")).order_by()
    }
    failing = dict(_unmended(Job.objects.all()).values_list("kind").annotate(count=Count("id")).order_by())
    taking = [seen.queues.split(",") for seen in workers.alive()]
    found = []
    for kind in kinds:
        waiting, oldest = counted.get((kind, Job.State.WAITING), (0, None))
        running, _ = counted.get((kind, Job.State.RUNNING), (0, None))
        found.append(Queue(kind, waiting, running, failing.get(kind, 0), oldest, sum(kind in each for each in taking)))
    return found


def failed(production: Production) -> QuerySet[Job]:
    """The jobs of a production that failed and that no later job has made good, the latest first."""
    mine = Job.objects.filter(Q(card__production=production) | Q(stringout__list__production=production))
    return _unmended(mine).select_related("card__production", "clip", "copy__medium", "stringout__list__production")


def _unmended(of: QuerySet[Job]) -> QuerySet[Job]:
    """Those that failed, and that nothing was asked for again in place of."""
    later = Job.objects.filter(kind=OuterRef("kind"), id__gt=OuterRef("id"))
    for_the_card = Q(card=OuterRef("card"), clip=None, copy=None)
    return of.filter(state=Job.State.FAILED).exclude(
        Exists(later.filter(clip=OuterRef("clip"), part=OuterRef("part")))
        | Exists(later.filter(copy=OuterRef("copy")))
        | Exists(later.filter(stringout=OuterRef("stringout")))
        | Q(Exists(later.filter(for_the_card)), clip=None, copy=None)
    )


def production_of(job: Job) -> Production:
    return job.card.production if job.card else job.stringout.list.production


def retry_by(person: Person, job: Job) -> None:
    """Ask again for a job that failed. Raises Refusal when it did not, or was asked for already."""
    production = production_of(job)
    access.require(person, production, roles.SEE_INSIDE)
    if not failed(production).filter(id=job.id).exists():
        raise Refusal(f"The {job.kind} of {_subject(job)} was asked for again already; look at the page again.", "job")
    with transaction.atomic():
        _retry(person, job)


def retry_all_by(person: Person, production: Production) -> int:
    """Ask again for everything that failed, MOST_AT_ONCE at a time. Returns how many were asked for."""
    access.require(person, production, roles.SEE_INSIDE)
    found = list(failed(production)[:MOST_AT_ONCE])
    with transaction.atomic():
        for job in found:
            _retry(person, job)
    return len(found)


def _retry(person: Person, job: Job) -> None:
    if job.kind == Job.Kind.PROXY and job.clip.proxy_state != Clip.ProxyState.READY:
        proxying.ask_for_proxies(job.card, why=f"{person} asked again")  # it says of the clip that it waits, too
    else:
        jobs.retry(job)


def _subject(job: Job) -> str:
    return str(job.clip or job.card or job.stringout)
