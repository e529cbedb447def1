"""/healthz, /readyz and /metrics tell the truth, and little of it to strangers."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families

from review.models import Job, WorkerSeen
from review.running import health
from review.work import jobs, workers
from tests.conftest import browser_of


@pytest.fixture(autouse=True)
def looked_at_now(monkeypatch):
    monkeypatch.setattr(health, "REMEMBERED", 0.0)


@pytest.fixture
def heard(db):
    workers.scheduler_heard()


def ready(status: int) -> dict:
    told = Client().get("/readyz")
    assert told.status_code == status, told.content
    assert told["Cache-Control"] == "no-store"
    return told.json()


def test_it_is_ready(heard):
    told = ready(200)
    assert told.pop("ready") is True
    assert {name: (each["good"], each["says"]) for name, each in told.items()} == {
        "database": (True, "answers"),
        "tables": (True, "are as this version wants them"),
        "queue": (True, "can be reached"),
        "home": (True, "can be written in"),
        "scheduler": (True, "was heard of lately"),
    }


def test_it_is_alive_whatever_else_is_not(monkeypatch):
    """No database: not even the fixture's."""
    told = Client().get("/healthz")
    assert (told.status_code, told.json()) == (200, {"alive": True})
    assert Client().post("/healthz").status_code == 405


def test_a_scheduler_that_is_not_heard_of_is_said(db):
    assert ready(503)["scheduler"] == {"good": False, "says": "has not been heard of yet"}
    workers.scheduler_heard()
    WorkerSeen.objects.update(heard_at=timezone.now() - timedelta(seconds=100))
    told = ready(503)
    assert told["ready"] is False
    assert told["scheduler"]["says"] == "was last heard of 100 seconds ago; nothing is scanned or swept meanwhile"


def test_tables_that_are_behind_are_said(heard):
    MigrationRecorder(connection).record_unapplied("review", "0014_stack")
    assert "run: manage.py migrate" in ready(503)["tables"]["says"]


def test_a_home_that_cannot_be_written_is_said_without_its_path(heard, settings, tmp_path):
    settings.MEDIA_HOME = tmp_path / "gone"
    told = ready(503)
    assert told["home"] == {"good": False, "says": "cannot be written in: it is full, read-only or not there"}
    assert str(tmp_path) not in str(told)


def test_a_database_that_is_away_is_said_without_its_address(heard, monkeypatch):
    def away():
        raise DatabaseError("connection to server at 10.1.2.3 failed: password for hidden")

    monkeypatch.setattr(health.connection, "cursor", away)
    told = ready(503)
    assert told["database"] == {"good": False, "says": "does not answer"}
    assert told["scheduler"]["says"] == told["tables"]["says"] == "not known while the database is away"
    assert "10.1.2.3" not in str(told) and "hidden" not in str(told)


def test_a_queue_that_is_away_is_said_at_once_without_its_address(heard, monkeypatch):
    from celery import Celery

    nowhere = Celery("nowhere", broker="redis://127.0.0.1:9/0")
    monkeypatch.setattr(health, "app", nowhere)
    began = timezone.now()
    told = ready(503)
    assert timezone.now() - began < timedelta(seconds=5)
    assert told["queue"]["good"] is False and "127.0.0.1" not in str(told)


def test_strangers_who_ask_often_are_answered_from_memory(heard, monkeypatch):
    monkeypatch.setattr(health, "REMEMBERED", 60.0)
    monkeypatch.setattr(health, "_last", None)
    looks = []
    real = health.look
    monkeypatch.setattr(health, "look", lambda: looks.append(1) or real())
    for _ in range(20):
        ready(200)
    assert len(looks) == 1


# Figures ---------------------------------------------------------------------------------------


def figures(**how) -> dict[tuple, float]:
    told = Client().get("/metrics", **how)
    assert told.status_code == 200
    assert told["Content-Type"] == "text/plain; version=0.0.4; charset=utf-8"  # Prometheus' "Exposition formats"
    return {
        (sample.name, *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(told.content.decode())
        for sample in family.samples
    }


def test_the_figures_are_those_of_the_rows(heard, job):
    workers.heard('odd "name"\\', ["proxy", "section"])
    Job.objects.update(created=timezone.now() - timedelta(seconds=90))
    found = figures()
    assert found["rushlight_jobs", "proxy", "waiting"] == 1
    assert 90 <= found["rushlight_job_oldest_waiting_seconds", "proxy"] < 100
    assert (found["rushlight_queue_workers", "proxy"], found["rushlight_queue_workers", "check"]) == (1, 0)
    assert found["rushlight_worker_heard_seconds", 'odd "name"\\'] < 10
    assert found["rushlight_cards", "verified"] == 1 and found["rushlight_clips", "waiting"] == 1
    assert found["rushlight_ready", "database"] == 1
    with jobs.ending(jobs.claim(job.id)):
        raise jobs.JobFailed("no")
    assert figures()["rushlight_jobs", "proxy", "failed"] == 1


def test_without_a_database_the_figures_say_that(heard, monkeypatch):
    def away():
        raise DatabaseError("gone")

    monkeypatch.setattr(health.connection, "cursor", away)
    found = figures()
    assert found["rushlight_ready", "database"] == 0 and not [name for name, *_ in found if name == "rushlight_jobs"]


def test_without_a_token_this_machine_alone_may_read_them(heard, cast):
    for how in (
        {"REMOTE_ADDR": "10.0.0.7"},
        {"headers": {"X-Forwarded-For": "127.0.0.1"}},  # nginx on this machine passes somebody on
        {"REMOTE_ADDR": ""},
    ):
        told = browser_of(cast.owner).get("/metrics", **how)
        assert told.status_code == 403 and b"RUSHLIGHT_METRICS_TOKEN" in told.content, how
    assert Client().get("/metrics", REMOTE_ADDR="::1").status_code == 200


def test_with_a_token_whoever_has_it_may_read_them(heard, settings):
    settings.METRICS_TOKEN = "tøken"
    assert figures(headers={"Authorization": "Bearer tøken", "X-Forwarded-For": "10.0.0.7"})
    for wrong in ("", "Bearer ", "Bearer token", "tøken", "Basic tøken"):
        assert Client().get("/metrics", headers={"Authorization": wrong}).status_code == 403, wrong
