"""What Celery runs: a few lines over the use cases.

Each kind of job has a queue of its own, which workers take turns at: a night of proxies does not
delay a check. Scans and sweeps have another, so that they run whatever waits.
"""

from celery import shared_task

from review.custody import card_checks, copy_proofs, intake
from review.derived import proxying, sectioning
from review.desk import stringouts
from review.models import Job
from review.record import findables
from review.work import jobs, workers

_DOING = {
    Job.Kind.CHECK: card_checks.run_check,
    Job.Kind.COPY: copy_proofs.run_copy,
    Job.Kind.PROXY: proxying.run_proxy,
    Job.Kind.SECTION: proxying.run_section,
    Job.Kind.PICTURES: proxying.run_pictures,
    Job.Kind.STRINGOUT: stringouts.run_stringout,
}


def carry_jobs() -> None:
    """Let the jobs send their messages through Celery."""
    jobs.set_courier(lambda job: run_job.apply_async([job.id], queue=job.kind))


def work(job_id: int) -> bool:
    """Do a job here and now; False when another run has it or it is done."""
    run = jobs.claim(job_id)
    if run is None:
        return False
    with jobs.ending(run):
        _DOING[run.job.kind](run)
    return True


@shared_task
def run_job(job_id: int) -> None:
    work(job_id)


@shared_task
def scan() -> None:
    workers.scheduler_heard()
    intake.scan()


@shared_task
def sweep() -> None:
    workers.scheduler_heard()
    jobs.sweep()
    card_checks.hold_abandoned()
    proxying.fail_abandoned()
    sectioning.bring_on()
    proxying.tidy()
    sectioning.tidy()
    workers.tidy()
    stringouts.tidy()
    findables.catch_up()
