"""What Celery runs: a few lines over the use cases."""

from celery import shared_task

from review import intake, jobs, proxying
from review.models import Job

_DOING = {
    Job.Kind.CHECK: intake.run_check,
    Job.Kind.PROXY: proxying.run_proxy,
    Job.Kind.PICTURES: proxying.run_pictures,
}


def carry_jobs() -> None:
    """Let the jobs send their messages through Celery."""
    jobs.set_courier(lambda job_id: run_job.delay(job_id))


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
    intake.scan()


@shared_task
def sweep() -> None:
    jobs.sweep()
    intake.hold_abandoned()
    proxying.tidy()
