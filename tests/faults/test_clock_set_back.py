"""The clock is set back by an hour while work is under way: nothing waits for the hour to pass again."""

import time
from datetime import timedelta

import pytest
from django.utils import timezone

from logging_app.celery import app
from logging_app.steady import Steady
from review.custody import intake
from review.models import Card, Job
from review.work import jobs

HOUR = timedelta(hours=1)
TOLD = "the clock is set back an hour", "jobs, messages, cards, the scheduler"


@pytest.fixture
def clock(monkeypatch):
    """The clock of this process; `clock(delta)` moves it."""
    real, moved = timezone.now, [timedelta(0)]
    monkeypatch.setattr("django.utils.timezone.now", lambda: real() + moved[0])

    def move(by: timedelta) -> None:
        moved[0] += by

    return move


def test_a_run_that_died_before_is_given_to_another_in_its_time(job, sent, clock, tally):
    jobs.claim(job.id)  # and dies
    clock(-HOUR)
    jobs.sweep()
    clock(jobs.SILENT_AFTER + timedelta(seconds=5))
    jobs.sweep()
    assert sent == [job.id]
    jobs.claim(job.id).finish()
    tally(*TOLD)


def test_a_run_that_lives_keeps_its_job(job, sent, clock, tally):
    run = jobs.claim(job.id)
    clock(-HOUR)
    jobs.sweep()
    clock(timedelta(seconds=60))
    jobs.sweep()
    run.finish()
    assert sent == []
    tally(*TOLD)


def test_a_lost_message_is_sent_again_in_its_time(job, sent, clock, tally):
    jobs.send(job.id)
    clock(-HOUR)
    jobs.sweep()
    assert sent == [job.id]
    clock(jobs.RESEND_AFTER + timedelta(seconds=5))
    jobs.sweep()
    assert sent == [job.id, job.id]
    tally(*TOLD)


def test_a_message_that_was_never_sent_is_sent(job, sent, clock, tally):
    clock(-HOUR)
    jobs.sweep()
    clock(timedelta(seconds=15))
    jobs.sweep()
    assert sent == [job.id]
    tally(*TOLD)


def test_a_card_that_was_found_before_is_checked(make_card, settings, clock, tally):
    settings.SETTLE = 30
    card = make_card().card
    Card.objects.update(state=Card.State.FOUND, settled_since=timezone.now(), checked_at=None)
    clock(-HOUR)
    intake.scan()
    clock(timedelta(seconds=31))
    intake.scan()
    assert Job.objects.filter(kind="check", card=card, state="waiting").count() == 1
    tally(*TOLD)


def test_a_card_that_was_checked_before_and_is_altered_is_checked_again(make_card, settings, clock, tally):
    settings.SETTLE = 30
    taken = make_card()
    clock(-HOUR)
    intake.scan()
    clock(timedelta(seconds=31))
    intake.scan()
    assert not Job.objects.filter(kind="check", state="waiting").exists()  # it is as it was
    (taken.folder / "CLIP" / "MORE.TXT").write_text("came later")
    intake.scan()
    clock(timedelta(seconds=31))
    intake.scan()
    assert Job.objects.filter(kind="check", card=taken.card, state="waiting").count() == 1
    tally(*TOLD)


def test_the_scheduler_goes_on(tmp_path, monkeypatch, tally):
    real, wall, moved, sent = app.now, time.time, [timedelta(0)], []
    monkeypatch.setattr(app, "now", lambda: real() + moved[0])
    monkeypatch.setattr("time.time", lambda: wall() + moved[0].total_seconds())
    scheduler = Steady(app=app, schedule_filename=str(tmp_path / "schedule"))
    monkeypatch.setattr(scheduler, "apply_async", lambda entry, **_: sent.append(entry.name))
    try:
        scheduler.tick()
        moved[0] = -HOUR
        scheduler.tick()
        sent.clear()
        moved[0] += timedelta(seconds=16)  # every interval has passed
        for _ in range(3):
            scheduler.tick()
        assert {"scan", "sweep"} <= set(sent)
    finally:
        scheduler.close()
    tally(*TOLD)
