"""Workers' heartbeats: who is at work, who went silent, who stopped because it was asked to."""

import time
from datetime import timedelta

import pytest
from django.conf import settings
from django.db import DatabaseError
from django.utils import timezone

from logging_app.celery import app
from review import tasks
from review.models import Job, WorkerSeen
from review.work import workers


def seen(name: str = "jobs@here", queues: str = "check,copy", *, ago: timedelta = timedelta(0)) -> WorkerSeen:
    now = timezone.now()
    return WorkerSeen.objects.create(name=name, queues=queues, started_at=now - ago, heard_at=now - ago)


def test_a_worker_says_that_it_lives_until_it_says_goodbye(transactional_db):
    beat = workers.Heartbeat("jobs@here", ["check", "copy"], every=0.02)
    beat.start()
    first = _heard_again()
    assert [(each.name, each.queues) for each in workers.alive()] == [("jobs@here", "check,copy")]
    assert _heard_again(first) > first
    beat.stop()
    row = WorkerSeen.objects.get()
    assert row.stopped_at and workers.alive() == [] and not workers.silent(row, timezone.now() + timedelta(days=1))


def _heard_again(after=None):
    deadline = time.monotonic() + 10
    while time.monotonic() < deadline:
        row = WorkerSeen.objects.first()
        if row and row.heard_at != after:
            return row.heard_at
        time.sleep(0.02)
    raise AssertionError("no heartbeat was written")


def test_a_worker_that_begins_again_takes_what_it_is_told_now(db):
    row = seen(ago=timedelta(hours=1))
    workers.said_goodbye(row.name)
    workers.heard(row.name, ["pictures"], started_at=timezone.now())
    row.refresh_from_db()
    assert (row.queues, row.stopped_at) == ("pictures", None)
    assert timezone.now() - row.started_at < timedelta(minutes=1)


def test_a_database_that_is_away_does_not_end_the_heartbeat(transactional_db, monkeypatch, caplog):
    real, tries = workers.heard, []

    def heard(*arguments, **more):
        tries.append(arguments)
        if len(tries) < 3:
            raise DatabaseError("server closed the connection")
        real(*arguments, **more)

    monkeypatch.setattr(workers, "heard", heard)
    beat = workers.Heartbeat("jobs@here", ["check"], every=0.01)
    beat.start()
    _heard_again()
    beat.stop()
    assert "the heartbeat of jobs@here could not be written: server closed the connection" in caplog.text


def test_a_silent_worker_does_not_count_and_is_forgotten_after_days(db):
    silent, old = seen("a", ago=timedelta(seconds=46)), seen("b", ago=timedelta(days=3))
    assert workers.alive() == [] and workers.silent(silent, timezone.now())
    workers.tidy()
    assert list(WorkerSeen.objects.all()) == [silent] and old not in WorkerSeen.objects.all()


@pytest.mark.parametrize("task", [tasks.scan, tasks.sweep])
def test_the_scheduler_is_heard_when_what_it_asks_for_is_done(db, task):
    task()
    row = WorkerSeen.objects.get(name=workers.SCHEDULER)
    assert not workers.silent(row, timezone.now())
    assert workers.alive() == []  # it is no worker


def test_every_kind_of_job_has_a_worker_and_pictures_wait_for_nothing_else():
    kinds = [kind for taken in settings.JOB_QUEUES.values() for kind in taken]
    assert sorted(kinds) == sorted(Job.Kind.values)
    (with_pictures,) = [taken for taken in settings.JOB_QUEUES.values() if Job.Kind.PICTURES in taken]
    assert with_pictures == [Job.Kind.PICTURES]
    (with_checks,) = [taken for taken in settings.JOB_QUEUES.values() if Job.Kind.CHECK in taken]
    assert not {Job.Kind.PROXY, Job.Kind.SECTION, Job.Kind.STRINGOUT} & set(with_checks)
    assert {"review.tasks.scan", "review.tasks.sweep"} == {each["task"] for each in app.conf.beat_schedule.values()}
