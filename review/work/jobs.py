"""Jobs: rows that say what a worker must do.

    waiting --claim--> running --finish--> done
       ^                  |   +--fail----> failed
       +----- sweep ------+       (the run that held it went silent)

The row is the truth. A message only tells a worker to look at it: lost, it is sent again by the
sweep; delivered twice, the second claim finds nothing to claim. Only the run that holds the claim
can change the row, so a run that was given up for dead cannot overwrite its successor's work.
"""

import logging
import threading
import time
import uuid
from collections.abc import Callable
from contextlib import contextmanager
from datetime import datetime, timedelta
from functools import partial

from django.db import DatabaseError, IntegrityError, InterfaceError, OperationalError, connection, transaction
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from review.models import Card, Clip, Copy, Job, Stringout
from review.work import logs

SILENT_AFTER = timedelta(seconds=90)  # a run that is alive says so every PULSE_EVERY
OVERTAKEN_AFTER = timedelta(minutes=1)  # ... when one sent later has begun, this one's message is lost
RESEND_AFTER = timedelta(minutes=10)  # ... when nothing of its kind runs, all messages may be
MOST_ATTEMPTS = 4
PROGRESS_EVERY = 1.0  # seconds
PULSE_EVERY = 15.0  # seconds

log = logging.getLogger(__name__)

OPEN = (Job.State.WAITING, Job.State.RUNNING)
DATABASE_AWAY = (OperationalError, InterfaceError)  # or full, or locked for too long: it says nothing of the job

_courier: Callable[[Job], None] | None = None


class JobLost(Exception):
    """Another run holds this job now; what this one was doing is not wanted any more."""


class JobFailed(Exception):
    """The job cannot be done, for the reason given; trying again as it is would not help."""


def set_courier(send: Callable[[Job], None]) -> None:
    """Say how a worker is told of a job. Called once, by the queue's side."""
    global _courier
    _courier = send


def ask(
    kind: str,
    *,
    card: Card | None = None,
    clip: Clip | None = None,
    copy: Copy | None = None,
    stringout: Stringout | None = None,
    part: int = 0,
    why: str,
) -> Job:
    """Open a job, or return the one that is open for the same thing: a card or something of it, or a stringout."""
    about = {"kind": kind, "card": card, "clip": clip, "copy": copy, "stringout": stringout, "part": part}
    while True:
        try:
            with transaction.atomic():
                job = Job.objects.create(**about, why=why[:200])
        except IntegrityError:
            job = Job.objects.filter(**about, state__in=OPEN).first()
            if job is None:
                continue  # it ended in this very moment
            return job
        log.info("job %s asked for: %s, because %s", job.id, job, job.why)
        transaction.on_commit(partial(send, job.id))
        return job


def send(job_id: int) -> None:
    """Tell a worker. A queue that is away loses nothing: the sweep sends again."""
    waiting = Job.objects.filter(id=job_id, state=Job.State.WAITING)
    job = waiting.first()
    if job is None or not waiting.update(sent_at=timezone.now()) or not _courier:
        return
    try:
        _courier(job)
    except Exception as problem:  # whatever ails the queue, the job is safe in its row
        log.warning("job %s could not be sent (%s); it is sent again when the queue is back", job_id, problem)
        waiting.update(sent_at=None)


class Run:
    """One worker's hold on one job."""

    def __init__(self, job: Job, claim: uuid.UUID):
        self.job = job
        self.claim = claim
        self._last_written = 0.0

    def progress(self, done: int, total: int) -> None:
        """Say how far the job is, at most once a second. Raises JobLost when it is held by another run. While the
        database is away the work goes on: it is needed again when there is something to write."""
        now = time.monotonic()
        if now - self._last_written < PROGRESS_EVERY:
            return
        self._last_written = now
        try:
            self._update(done=done, total=total, heartbeat=timezone.now())
        except DATABASE_AWAY as problem:
            if connection.in_atomic_block:
                raise
            log.warning("how far job %s is could not be written: %s", self.job.id, problem)
            connection.close_if_unusable_or_obsolete()

    def resume(self, done: int) -> None:
        """Say that an earlier run had done so much already, so that what is left can be told from the rest."""
        self._update(done=done, resumed=done, heartbeat=timezone.now())

    def finish(self) -> None:
        self._update(state=Job.State.DONE, error="", finished_at=timezone.now())

    def fail(self, reason: str, said: str = "") -> None:
        """`said`: the last lines that the run wrote, for those who look into it."""
        self._update(state=Job.State.FAILED, error=reason, log=said, finished_at=timezone.now())

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
    taken = Job.objects.filter(id=job_id, state=Job.State.WAITING).update(
        state=Job.State.RUNNING,
        claim=mine,
        attempts=F("attempts") + 1,
        heartbeat=timezone.now(),
        started_at=timezone.now(),
        done=0,
        resumed=0,
        total=0,
        error="",
        log="",
        finished_at=None,
    )
    if not taken:
        return None
    return Run(Job.objects.select_related("card__production", "clip", "copy__medium", "stringout").get(id=job_id), mine)


@contextmanager
def ending(run: Run):
    """Finish the job when the block ends, or fail it with the reason. A run that lost its claim just stops."""
    with logs.about_job(run.job.id) as lines_so_far, _pulse(run):
        log.info("begun: %s, try %s", run.job, run.job.attempts)
        began = time.monotonic()
        try:
            try:
                yield
                run.finish()
                log.info("done in %.1f seconds", time.monotonic() - began)
            except JobLost:
                raise
            except JobFailed as reason:
                log.warning("failed: %s", reason)
                run.fail(str(reason), lines_so_far())
            except DATABASE_AWAY as problem:
                log.warning("the database does not answer: %s", problem)
                _give_back(run)
            except Exception as fault:
                log.exception("job %s (%s) ran into a fault", run.job.id, run.job)
                run.fail(
                    f"This is a fault in Rushlight, not in the card: {type(fault).__name__}: {fault}", lines_so_far()
                )
        except JobLost:
            log.info("given up: another run has it, or nobody wants it any more")


def _give_back(run: Run) -> None:
    """Leave the job to another run, which the next sweep sends for: by then the database may be well again."""
    connection.close_if_unusable_or_obsolete()
    try:
        _free(Job.objects.filter(id=run.job.id, claim=run.claim, state=Job.State.RUNNING), at_once=False)
    except DATABASE_AWAY as problem:
        log.warning("job %s could not be given back (%s); the sweep does it", run.job.id, problem)


@contextmanager
def _pulse(run: Run):
    """Say now and then, from a thread, that the run is alive, however long a step of it says nothing."""
    ended = threading.Event()

    def beat():
        while not ended.wait(PULSE_EVERY):
            held = Job.objects.filter(id=run.job.id, claim=run.claim, state=Job.State.RUNNING)
            try:
                if not held.update(heartbeat=timezone.now()):
                    return
            except DatabaseError as problem:  # it is away; a beat that comes late is better than none ever again
                log.warning("the heartbeat of job %s could not be written: %s", run.job.id, problem)
            finally:
                connection.close()

    threading.Thread(target=beat, daemon=True).start()
    try:
        yield
    finally:
        ended.set()


def retry(job: Job) -> Job:
    """Ask again for a job that failed."""
    return ask(
        job.kind,
        card=job.card,
        clip=job.clip,
        copy=job.copy,
        stringout=job.stringout,
        part=job.part,
        why=f"asked again after job {job.id} failed",
    )


def sweep() -> None:
    """Give jobs of silent runs to others (or fail them after too many tries) and send lost messages again."""
    now = timezone.now()
    _forget_the_future(now)
    _free(Job.objects.filter(state=Job.State.RUNNING, heartbeat__lt=now - SILENT_AFTER))
    begun = Job.objects.exclude(state=Job.State.WAITING).filter(kind=OuterRef("kind"))
    lost = (
        Q(sent_at=None, created__lt=now - timedelta(seconds=10))
        | Q(Exists(begun.filter(sent_at__gt=OuterRef("sent_at"))), sent_at__lt=now - OVERTAKEN_AFTER)
        | Q(~Exists(begun.filter(state=Job.State.RUNNING)), sent_at__lt=now - RESEND_AFTER)
    )
    for job_id in Job.objects.filter(lost, state=Job.State.WAITING).order_by("id").values_list("id", flat=True)[:500]:
        send(job_id)


def _forget_the_future(now: datetime) -> None:
    """After the clock was set back, what was written by the clock as it was counts as of now: a silent run, or a lost
    message, is waited for no longer than any other."""
    opened = Job.objects.filter(state__in=OPEN)
    for field in ("heartbeat", "sent_at", "created"):
        opened.filter(**{f"{field}__gt": now + SILENT_AFTER}).update(**{field: now})


def restart() -> None:
    """At the start of the one-machine form: nobody else is alive, so every open job is free and is sent anew."""
    _free(Job.objects.filter(state=Job.State.RUNNING))
    for job_id in Job.objects.filter(state=Job.State.WAITING).order_by("id").values_list("id", flat=True):
        send(job_id)


def begin_anew() -> None:
    """After the rows were put back from a backup: whoever ran or carried the open jobs is not there any more. The next
    sweep sends them."""
    Job.objects.filter(state__in=OPEN).update(state=Job.State.WAITING, claim=None, sent_at=None)


def _free(silent, *, at_once: bool = True) -> None:
    for job in silent:
        held = Job.objects.filter(id=job.id, claim=job.claim, state=Job.State.RUNNING)
        if job.attempts >= MOST_ATTEMPTS:
            held.update(
                state=Job.State.FAILED,
                finished_at=timezone.now(),
                error=f"The worker stopped {job.attempts} times while doing this. Look at the clip's file and at the "
                "worker's memory and disk, then ask for it again.",
            )
        elif held.update(state=Job.State.WAITING, claim=None, sent_at=None) and at_once:
            send(job.id)
