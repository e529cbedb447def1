"""The database is away for a moment while a job runs: the work goes on, or another run does it; nobody is blamed."""

from datetime import timedelta

import pytest
from django.db import InterfaceError, OperationalError

from review import tasks
from review.derived import proxying
from review.models import Clip, Job
from review.work import jobs
from tests.conftest import long_ago

pytestmark = pytest.mark.django_db(transaction=True)
TOLD = "the database is away while a job runs", "for a moment, or every time; as it is read, written, given back"


def away(*words, **more):
    raise OperationalError("the connection is lost")


def test_the_work_goes_on_while_how_far_it_is_cannot_be_written(job, monkeypatch, tally):
    run = jobs.claim(job.id)
    with monkeypatch.context() as meanwhile:
        meanwhile.setattr(jobs.Run, "_update", away)
        run.progress(1, 2)
    run.finish()
    job.refresh_from_db()
    assert job.state == "done"
    tally(*TOLD)


@pytest.mark.parametrize("problem", [OperationalError, InterfaceError])
def test_a_run_that_needed_it_gives_the_job_back_and_the_clip_is_not_blamed(job, sent, monkeypatch, problem, tally):
    def lose(run):
        with proxying._failing_the_clip(run):
            raise problem("the connection is lost")

    monkeypatch.setitem(tasks._DOING, Job.Kind.PROXY, lose)
    tasks.work(job.id)
    job.refresh_from_db()
    assert (job.state, job.error, sent) == ("waiting", "", [])
    long_ago(job, created=timedelta(seconds=11))
    jobs.sweep()
    assert sent == [job.id]
    assert job.clip.proxy_state == Clip.ProxyState.WAITING
    tally(*TOLD)


def test_one_that_loses_it_every_time_fails_in_words(job, sent, monkeypatch, tally):
    monkeypatch.setitem(tasks._DOING, Job.Kind.PROXY, away)
    for _ in range(jobs.MOST_ATTEMPTS):
        tasks.work(job.id)
    job.refresh_from_db()
    assert job.state == "failed" and "The worker stopped 4 times" in job.error
    tally(*TOLD)


def test_when_it_is_still_away_the_sweep_gives_the_job_back(job, sent, monkeypatch, tally):
    monkeypatch.setitem(tasks._DOING, Job.Kind.PROXY, away)
    with monkeypatch.context() as meanwhile:
        meanwhile.setattr(jobs, "_free", away)
        tasks.work(job.id)
    job.refresh_from_db()
    assert job.state == "running"
    Job.objects.update(heartbeat=job.heartbeat - 2 * jobs.SILENT_AFTER)
    jobs.sweep()
    assert sent == [job.id]
    tally(*TOLD)
