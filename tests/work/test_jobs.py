"""Jobs: the row is the truth, a message only its courier (the house's own law 5)."""

from datetime import timedelta
from pathlib import Path

import pytest

from review import tasks
from review.models import Job
from review.work import jobs
from tests.conftest import long_ago

ROOT = Path(__file__).parents[2]


# Claiming --------------------------------------------------------------------------------------


def test_it_works(job):
    run = jobs.claim(job.id)
    run.progress(10, 50)
    job.refresh_from_db()
    assert (job.state, job.attempts, job.done, job.total, job.claim) == ("running", 1, 10, 50, run.claim)
    run.finish()
    job.refresh_from_db()
    assert job.state == "done" and job.finished_at


def test_a_job_is_claimed_once(job):
    assert jobs.claim(job.id)
    assert jobs.claim(job.id) is None
    assert jobs.claim(10**9) is None


def test_asking_twice_while_it_is_open_is_asking_once(job):
    again = jobs.ask(job.kind, card=job.card, clip=job.clip, why="somebody else")
    assert (again.id, again.why) == (job.id, "a test")
    jobs.claim(job.id).finish()
    assert jobs.ask(job.kind, card=job.card, clip=job.clip, why="once more").id != job.id


def test_a_message_is_sent_when_the_row_is_safe(a_clip, sent, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        job = jobs.ask(Job.Kind.PROXY, card=a_clip.card, clip=a_clip, why="a test")
        assert sent == []
    assert sent == [job.id]


def test_a_message_that_comes_twice_does_the_work_once(job, monkeypatch):
    done = []
    monkeypatch.setitem(tasks._DOING, Job.Kind.PROXY, lambda run: done.append(run.job.id))
    assert [tasks.work(job.id), tasks.work(job.id)] == [True, False]
    assert done == [job.id]


# Sweeping --------------------------------------------------------------------------------------


def test_a_lost_message_is_sent_again(job, sent):
    jobs.send(job.id)
    jobs.sweep()
    assert sent == [job.id]  # it may be on its way still
    long_ago(job, sent_at=jobs.RESEND_AFTER + timedelta(seconds=1))
    jobs.sweep()
    assert sent == [job.id, job.id]


def test_a_message_that_a_later_one_has_overtaken_is_sent_again_soon(job, sent, make_clip):
    jobs.send(job.id)
    other = make_clip("OTHER")
    later = jobs.ask(job.kind, card=other.card, clip=other, why="a test")
    jobs.send(later.id)
    jobs.claim(later.id)
    jobs.sweep()
    assert sent == [job.id, later.id]
    long_ago(job, sent_at=jobs.OVERTAKEN_AFTER + timedelta(seconds=1))
    jobs.sweep()
    assert sent == [job.id, later.id, job.id]


def test_a_message_waits_its_turn_while_others_of_its_kind_run(job, sent, make_clip):
    other = make_clip("OTHER")
    before = jobs.ask(job.kind, card=other.card, clip=other, why="a test")
    jobs.send(before.id)
    jobs.claim(before.id)
    jobs.send(job.id)
    long_ago(before, sent_at=timedelta(hours=2))
    long_ago(job, sent_at=timedelta(hours=1))
    jobs.sweep()
    assert sent == [before.id, job.id]


def test_a_message_that_was_never_sent_is_sent(job, sent):
    jobs.sweep()
    assert sent == []
    long_ago(job, created=timedelta(seconds=11))
    jobs.sweep()
    assert sent == [job.id]


def test_a_queue_that_is_away_loses_nothing(job, sent, caplog):
    def away(job):
        raise OSError("connection refused")

    jobs.set_courier(away)
    jobs.send(job.id)
    assert f"job {job.id} could not be sent (connection refused)" in caplog.text
    jobs.set_courier(lambda job: sent.append(job.id))
    long_ago(job, created=timedelta(seconds=11))
    jobs.sweep()
    assert sent == [job.id]


def test_a_run_that_speaks_is_left_alone(job, sent):
    run = jobs.claim(job.id)
    long_ago(job, heartbeat=timedelta(seconds=89))
    jobs.sweep()
    run.finish()
    assert sent == []


def test_a_silent_run_is_freed_and_its_successor_counts(job, sent):
    first = jobs.claim(job.id)
    long_ago(job, heartbeat=jobs.SILENT_AFTER + timedelta(seconds=1))
    jobs.sweep()
    assert sent == [job.id]
    second = jobs.claim(job.id)
    for late in (first.finish, first.hold, lambda: first.fail("too late"), lambda: first.progress(1, 2)):
        with pytest.raises(jobs.JobLost):
            late()
    second.finish()
    job.refresh_from_db()
    assert (job.state, job.error, job.attempts) == ("done", "", 2)


def test_a_lost_run_just_stops_however_it_ends(job):
    for ending in (None, jobs.JobFailed("no"), RuntimeError("no"), jobs.JobLost("no")):
        Job.objects.filter(id=job.id).update(state=Job.State.WAITING)
        run = jobs.claim(job.id)
        Job.objects.filter(id=job.id).update(claim="6f1c8a52-27b0-4c2c-8f53-1a2b3c4d5e6f")
        with jobs.ending(run):
            if ending:
                raise ending
        job.refresh_from_db()
        assert (job.state, job.error) == ("running", "")


def test_too_many_silent_runs_fail_the_job_in_words(job, sent):
    for _ in range(jobs.MOST_ATTEMPTS):
        assert jobs.claim(job.id)
        long_ago(job, heartbeat=jobs.SILENT_AFTER + timedelta(seconds=1))
        jobs.sweep()
    job.refresh_from_db()
    assert job.state == "failed" and job.finished_at
    assert job.error.startswith("The worker stopped 4 times while doing this. Look at the clip's file")
    assert sent == [job.id] * (jobs.MOST_ATTEMPTS - 1)


def test_at_the_start_every_open_job_is_free(job, sent):
    jobs.claim(job.id)  # by a worker that is gone
    jobs.restart()
    assert set(sent) == {job.id}
    assert jobs.claim(job.id)


# Failing ---------------------------------------------------------------------------------------


def test_a_job_that_cannot_be_done_says_why_and_can_be_asked_for_again(job):
    with jobs.ending(jobs.claim(job.id)):
        raise jobs.JobFailed("the drive is away")
    job.refresh_from_db()
    assert (job.state, job.error) == ("failed", "the drive is away")
    again = jobs.retry(job)
    assert (again.state, again.kind, again.clip) == ("waiting", job.kind, job.clip)


def test_a_fault_of_ours_is_called_one(job, caplog):
    with jobs.ending(jobs.claim(job.id)):
        raise ZeroDivisionError("division by zero")
    job.refresh_from_db()
    assert job.error == "This is a fault in Rushlight, not in the card: ZeroDivisionError: division by zero"
    assert "Traceback" in caplog.text
