"""Checks that go on after their worker was killed (the house's own law 5)."""

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from review.cards import checking, hashing
from review.custody import card_checks, intake, resuming
from review.models import Card, Job, ReadFile
from review.tasks import work
from review.work import jobs
from tests.conftest import check, film
from tests.faults.house import lay_tables

ROOT = Path(__file__).parents[2]
NAME = "KB04-261112-A01"


@pytest.fixture
def folder(root):
    film(root / NAME / "CLIP" / "A001C001.MOV")
    for number in range(30):
        (root / NAME / f"{number:02}.XML").write_bytes(bytes([number]) * 1000)
    return root / NAME


@pytest.fixture
def opened(monkeypatch):
    paths = []
    real = hashing._read_through
    monkeypatch.setattr(hashing, "_read_through", lambda path, *more: (paths.append(path), real(path, *more))[1])
    return paths


def cut_short(card, monkeypatch, after):
    """A check whose worker dies when it has written down so many files."""
    monkeypatch.setattr(hashing, "_TELL_BYTES", 1)
    monkeypatch.setattr(resuming, "_MOST_UNWRITTEN", 1)
    job = intake.ask_for_check(card, why="a test")

    def die(done, total):
        if ReadFile.objects.filter(job=job).count() >= after:
            raise KeyboardInterrupt

    run = jobs.claim(job.id)
    monkeypatch.setattr(run, "progress", die)
    with pytest.raises(KeyboardInterrupt):
        card_checks.run_check(run)
    Job.objects.filter(id=job.id).update(state=Job.State.WAITING, claim=None)  # as the sweep frees it
    return job


def test_the_next_run_of_the_job_reads_only_the_rest(cast, folder, opened, monkeypatch):
    card = intake.take_in(folder, cast.kb04)
    job = cut_short(card, monkeypatch, 10)
    kept = set(ReadFile.objects.filter(job=job).values_list("path", flat=True))
    assert 10 <= len(kept) < 31
    opened.clear()
    assert work(job.id)
    assert {path.removeprefix(f"{folder}/") for path in opened}.isdisjoint(kept)
    assert len(opened) == 31 - len(kept)
    card.refresh_from_db()
    assert (card.state, card.files.count()) == ("verified", 31)
    assert not ReadFile.objects.exists()
    assert card.files.get(path="07.XML").hashes["xxh128"] == hashing.hash_bytes(bytes([7]) * 1000, "xxh128")


def test_progress_goes_on_from_the_bytes_already_read(cast, folder, monkeypatch):
    card = intake.take_in(folder, cast.kb04)
    job = cut_short(card, monkeypatch, 20)
    size = sum(ReadFile.objects.filter(job=job).values_list("size", flat=True))
    told = []
    real = jobs.Run.progress
    monkeypatch.setattr(jobs.Run, "progress", lambda run, done, total: (told.append(done), real(run, done, total)))
    work(job.id)
    assert told[0] == size


def test_a_file_that_changed_in_between_is_read_again(cast, folder, monkeypatch):
    card = intake.take_in(folder, cast.kb04)
    job = cut_short(card, monkeypatch, 25)
    (folder / "07.XML").write_bytes(b"another")
    work(job.id)
    assert card.files.get(path="07.XML").hashes["xxh128"] == hashing.hash_bytes(b"another", "xxh128")


def test_rows_of_checks_that_were_given_up_are_removed_by_the_next(cast, folder, monkeypatch):
    card = intake.take_in(folder, cast.kb04)
    job = cut_short(card, monkeypatch, 10)
    Job.objects.filter(id=job.id).update(state=Job.State.FAILED)
    check(folder, cast.kb04)
    assert not ReadFile.objects.exists()


def test_rows_are_written_in_batches(cast, folder, django_assert_max_num_queries):
    job = intake.ask_for_check(intake.take_in(folder, cast.kb04), why="a test")
    reading = resuming.Reading(job)
    with django_assert_max_num_queries(3 * 2):  # each in a savepoint
        for number in range(1200):
            reading.read(f"{number}.XML", checking.ReadFile(1, 1.5, {"xxh128": "0"}))
    assert ReadFile.objects.count() == 1000
    assert resuming.Reading(job).already["7.XML"] == (1, 1.5, {"xxh128": "0"})


def test_a_setting_holds_checks_to_a_rate(cast, folder, settings):
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    settings.CHECK_RATE = size / 1_000_000  # a second's worth
    start = time.monotonic()
    assert check(folder, cast.kb04).state == Card.State.VERIFIED
    assert time.monotonic() - start > 0.85


def test_manage_intake_killed_half_way_goes_on_where_it_was(tmp_path, django_db_setup):
    """With a real process, its own database and a real SIGKILL; the rate makes the synthetic card take its time."""
    folder = tmp_path / "cards" / NAME
    film(folder / "CLIP" / "A001C001.MOV", frames=5)
    for number in range(40):
        with open(folder / f"{number:02}.BIN", "wb") as file:
            file.write(os.urandom(1_000_000))
    total = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "logging_app.settings",
        "RUSHLIGHT_HOME": str(tmp_path / "home"),
        "RUSHLIGHT_CARDS": str(folder.parent),
    }

    def start(*words, **more):
        command = [sys.executable, "manage.py", *words]
        pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
        return subprocess.Popen(command, cwd=ROOT, env=environment | more, **pipes)

    def ask(program):
        set_up = "import json, django; django.setup()\nfrom review.models import Job, ReadFile\n"
        command = [sys.executable, "-c", set_up + program]
        done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=True)
        return json.loads(done.stdout or "null")

    lay_tables(tmp_path / "home")
    start("production", "KB04", "Kestrel Bay").communicate(timeout=60)
    intake_words = ("intake", str(folder), "--production", "KB04", "--wait", "--json")
    first = start(*intake_words, RUSHLIGHT_CHECK_RATE="8")
    database = f"file:{tmp_path}/home/rushlight.sqlite3?mode=ro"
    with closing(sqlite3.connect(database, uri=True, timeout=20)) as rows:
        while rows.execute("select coalesce(sum(size), 0) from review_readfile").fetchone()[0] < 0.2 * total:
            assert first.poll() is None, "it came to its end before it could be killed"
            time.sleep(0.05)
    first.send_signal(signal.SIGKILL)
    first.communicate()

    kept = ask(
        "from django.utils import timezone; from datetime import timedelta\n"
        "Job.objects.update(heartbeat=timezone.now() - timedelta(minutes=5))\n"  # it has been silent for a while
        "print(json.dumps(dict(ReadFile.objects.values_list('path', 'size'))))"
    )
    assert 0.2 * total < sum(kept.values()) < 0.9 * total
    second = start(*intake_words, RUSHLIGHT_CHECK_RATE="12")
    out, told = second.communicate(timeout=120)
    assert second.returncode == 0, told
    (card,) = json.loads(out)
    assert (card["state"], card["bytes"]) == ("verified", total)
    assert f"check {NAME}: goes on from" in told
    assert ask(
        "print(json.dumps([ReadFile.objects.count(), *Job.objects.filter(kind='check')"
        ".values_list('attempts', 'state')]))"
    ) == [0, [2, "done"]]
