"""Jobs: rows that say what a worker must do.

    waiting --claim--> running --finish--> done
       ^                  |   +--fail----> failed
       +----- sweep ------+       (the run that held it went silent)

The row is the truth. A message only tells a worker to look at it: lost, it is sent again by the
sweep; delivered twice, the second claim finds nothing to claim. Only the run that holds the claim
can change the row, so a run that was given up for dead cannot overwrite its successor's work.
"""

import logging
import time
import uuid
from collections.abc import Callable
from contextlib import contextmanager
from datetime import timedelta

from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils import timezone

from review.models import Card, Clip, Job

SILENT_AFTER = timedelta(seconds=90)  # a run says something every second or two
RESEND_AFTER = timedelta(minutes=10)  # a message not acted upon since may be lost
MOST_ATTEMPTS = 4
HEARTBEAT_EVERY = 1.0  # seconds

log = logging.getLogger(__name__)

_courier: Callable[[int], None] | None = None


class JobLost(Exception):
    """Another run holds this job now; what this one was doing is not wanted any more."""


class JobFailed(Exception):
    """The job cannot be done, for the reason given; trying again as it is would not help."""


def set_courier(send: Callable[[int], None]) -> None:
    """Say how a worker is told of a job. Called once, by the queue's side."""
    global _courier
    _courier = send


def ask(kind: str, *, card: Card, clip: Clip | None = None, why: str) -> Job:
    """Open a job, or return the one that is open for the same thing."""
    try:
        with transaction.atomic():
            job = Job.objects.create(kind=kind, card=card, clip=clip, why=why)
    except IntegrityError:
        job = Job.objects.filter(kind=kind, card=card, clip=clip, state__in=["waiting", "running"]).first()
        if job is None:  # it ended in this very moment
            return ask(kind, card=card, clip=clip, why=why)
        return job
    transaction.on_commit(lambda: send(job.id))
    return job


def send(job_id: int) -> None:
    """Tell a worker. A queue that is away loses nothing: the sweep sends again."""
    if Job.objects.filter(id=job_id, state=Job.State.WAITING).update(sent_at=timezone.now()) and _courier:
        _courier(job_id)


class Run:
    """One worker's hold on one job."""

    def __init__(self, job: Job, claim: uuid.UUID):
        self.job = job
        self.claim = claim
        self._last_written = 0.0

    def progress(self, done: int, total: int) -> None:
        """Say how far the job is, at most once a second. Raises JobLost when it is held by another run."""
        now = time.monotonic()
        if now - self._last_written < HEARTBEAT_EVERY:
            return
        self._last_written = now
        self._update(done=done, total=total, heartbeat=timezone.now())

    def finish(self) -> None:
        self._update(state=Job.State.DONE, error="", finished_at=timezone.now())

    def fail(self, reason: str) -> None:
        self._update(state=Job.State.FAILED, error=reason, finished_at=timezone.now())

    def hold(self) -> None:
        """Inside a transaction: make sure that what follows is still this run's to write."""
        self._update(heartbeat=timezone.now())

    def _update(self, **values) -> None:
        held = Job.objects.filter(id=self.job.id, claim=self.claim, state=Job.State.RUNNING)
        if not held.update(**values):
            raise JobLost(str(self.job))


def claim(job_id: int) -> Run | None:
    """Take a waiting job; None when another got there first or it is no longer wanted."""
    mine = uuid.uuid4()
    now = timezone.now()
    taken = Job.objects.filter(id=job_id, state=Job.State.WAITING).update(
        state=Job.State.RUNNING, claim=mine, heartbeat=now, done=0, total=0, error="", finished_at=None
    )
    if not taken:
        return None
    job = Job.objects.select_related("card__production", "clip").get(id=job_id)
    Job.objects.filter(id=job_id, claim=mine).update(attempts=job.attempts + 1)
    job.attempts += 1
    return Run(job, mine)


@contextmanager
def ending(run: Run):
    """Finish the job when the block ends, or fail it with the reason. A run that lost its claim just stops."""
    try:
        yield
        run.finish()
    except JobLost:
        return
    except JobFailed as reason:
        run.fail(str(reason))
    except Exception as fault:
        log.exception("job %s (%s) ran into a fault", run.job.id, run.job)
        run.fail(f"This is a fault in Rushlight, not in the card: {type(fault).__name__}: {fault}")


def retry(job: Job) -> Job:
    """Ask again for a job that failed."""
    return ask(job.kind, card=job.card, clip=job.clip, why=f"asked again after job {job.id} failed")


def sweep() -> None:
    """Give jobs of silent runs to others (or fail them after too many tries) and send lost messages again."""
    now = timezone.now()
    _free(Job.objects.filter(state=Job.State.RUNNING, heartbeat__lt=now - SILENT_AFTER))
    unsent = Q(sent_at=None, created__lt=now - timedelta(seconds=10)) | Q(sent_at__lt=now - RESEND_AFTER)
    for job_id in Job.objects.filter(unsent, state=Job.State.WAITING).values_list("id", flat=True)[:500]:
        send(job_id)


def restart() -> None:
    """At the start of the one-machine form: nobody else is alive, so every open job is free and is sent anew."""
    _free(Job.objects.filter(state=Job.State.RUNNING))
    for job_id in Job.objects.filter(state=Job.State.WAITING).order_by("id").values_list("id", flat=True):
        send(job_id)


def _free(silent) -> None:
    for job in silent:
        held = Job.objects.filter(id=job.id, claim=job.claim, state=Job.State.RUNNING)
        if job.attempts >= MOST_ATTEMPTS:
            held.update(
                state=Job.State.FAILED,
                finished_at=timezone.now(),
                error=f"The worker stopped {job.attempts} times while doing this. Look at the clip's file and at the "
                "worker's memory and disk, then ask for it again.",
            )
        elif held.update(state=Job.State.WAITING, claim=None, sent_at=None):
            send(job.id)
