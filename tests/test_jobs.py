"""Jobs: the row is the truth, a message only its courier (the house's own law 5)."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import av
import pytest
from django.utils import timezone

from review import jobs, proxying, tasks
from review.media.errors import MediaFailed
from review.media.ffmpeg import ffmpeg_binary
from review.models import Clip, Job
from tests.conftest import check, film, work_off

ROOT = Path(__file__).parents[1]


@pytest.fixture
def sent():
    """The job numbers that the courier was given, in place of the queue."""
    carried = []
    jobs.set_courier(lambda job: carried.append(job.id))
    yield carried
    tasks.carry_jobs()


@pytest.fixture
def job(a_clip) -> Job:
    return jobs.ask(Job.Kind.PROXY, card=a_clip.card, clip=a_clip, why="a test")


def long_ago(job, **ago):
    Job.objects.filter(id=job.id).update(**{field: timezone.now() - delta for field, delta in ago.items()})


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


def test_a_lost_runs_proxy_is_not_kept(make_card, settings, monkeypatch):
    taken = make_card()
    proxy = Job.objects.get(kind="proxy")
    real = proxying.make_proxy

    def slow(*arguments, **more):
        facts = real(*arguments, **more)
        Job.objects.filter(id=proxy.id).update(state=Job.State.WAITING, claim=None)  # given up for dead meanwhile
        return facts

    monkeypatch.setattr(proxying, "make_proxy", slow)
    tasks.work(proxy.id)
    proxy.refresh_from_db()
    assert (proxy.state, taken.clip.proxy_state) == ("waiting", "waiting")
    assert not proxying.media_folder(taken.clip.id).exists()
    assert list((settings.MEDIA_HOME / "making").iterdir()) == []


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


def test_a_clip_that_cannot_be_proxied_is_named_and_the_others_go_on(cast, root, monkeypatch):
    film(root / "KB04-261112-A01" / "GOOD.MOV")
    film(root / "KB04-261112-A01" / "BAD.MOV", size=(160, 90))
    check(root / "KB04-261112-A01", cast.kb04)
    real = proxying.make_proxy

    def make(files, probe, timebase, destination, **more):  # ffmpeg itself must refuse this one
        if files[0].name == "BAD.MOV":
            destination = destination.parent / "no such folder" / destination.name
        return real(files, probe, timebase, destination, **more)

    monkeypatch.setattr(proxying, "make_proxy", make)
    work_off()
    good, bad = Clip.objects.get(name="GOOD"), Clip.objects.get(name="BAD")
    assert (good.proxy_state, bad.proxy_state) == ("ready", "failed")
    assert "ffmpeg failed:" in bad.proxy_problem and "No such file or directory" in bad.proxy_problem
    assert Job.objects.get(clip=bad).error == f"BAD: {bad.proxy_problem}"
    monkeypatch.undo()
    proxying.ask_for_proxies(bad.card, why="asked again")
    work_off()
    bad.refresh_from_db()
    assert (bad.proxy_state, bad.proxy_problem) == ("ready", "")


def test_proxies_are_not_made_of_a_card_that_is_not_trusted(make_card):
    taken = make_card()
    taken.card.state = "held"
    taken.card.save()
    work_off()
    assert Job.objects.get(kind="proxy").error.endswith(
        "KB04-261112-A01 is held: proxies are made of verified or accepted cards only."
    )


def test_a_drive_that_is_away_is_named(make_card):
    taken = make_card()
    taken.folder.rename(taken.folder.with_name("away"))
    work_off()
    assert "connect the drive with KB04-261112-A01 and ask again" in Job.objects.get(kind="proxy").error


def test_a_proxy_that_was_thrown_away_is_made_again(make_card):
    taken = make_card(proxied=True)
    folder = proxying.media_folder(taken.clip.id)
    made = {path.name for path in folder.iterdir()}
    shutil.rmtree(folder)
    jobs.ask(Job.Kind.PICTURES, card=taken.card, clip=taken.clip, why="a test")
    work_off()
    assert "has no proxy any more; it is being made again" in Job.objects.get(state="failed").error
    assert {path.name for path in folder.iterdir()} == made
    assert taken.clip.proxy_state == "ready"


def test_what_is_lost_of_a_clip_is_made_again(make_card):
    taken = make_card(proxied=True)
    folder = proxying.media_folder(taken.clip.id)
    for name in (proxying.PROXY, proxying.PEAKS, taken.clip.filmstrip["files"][0]):
        (folder / name).unlink()
        proxying.ask_for_proxies(taken.card, why="a test")
        work_off()
        assert (folder / name).is_file(), name
    before = Job.objects.count()
    proxying.ask_for_proxies(taken.card, why="a test")
    assert Job.objects.count() == before  # there is nothing to make


def test_a_lost_run_that_fails_does_not_fail_its_clip(make_card, monkeypatch):
    taken = make_card()
    proxy = Job.objects.get(kind="proxy")

    def fail(*arguments, **more):
        Job.objects.filter(id=proxy.id).update(claim="6f1c8a52-27b0-4c2c-8f53-1a2b3c4d5e6f")  # another run's now
        raise MediaFailed("ffmpeg failed: killed")

    monkeypatch.setattr(proxying, "make_proxy", fail)
    tasks.work(proxy.id)
    assert (taken.clip.proxy_state, taken.clip.proxy_problem) == ("waiting", "")


def test_a_clip_whose_proxy_was_given_up_says_so(make_card, sent):
    taken = make_card()
    proxy = Job.objects.get(kind="proxy")
    for _ in range(jobs.MOST_ATTEMPTS):
        jobs.claim(proxy.id)
        long_ago(proxy, heartbeat=jobs.SILENT_AFTER + timedelta(seconds=1))
        tasks.sweep()
    assert taken.clip.proxy_state == "failed"
    assert taken.clip.proxy_problem.startswith("The worker stopped 4 times while doing this.")


# Leftovers -------------------------------------------------------------------------------------


def test_what_killed_runs_left_is_removed_and_what_is_being_made_stays(job, settings):
    run = jobs.claim(job.id)
    making = settings.MEDIA_HOME / "making"
    for name in (str(run.claim), "0f0f0f0f-dead"):
        (making / name).mkdir(parents=True)
        (making / name / "proxy.mp4").write_bytes(b"half")
    tasks.sweep()
    assert [path.name for path in making.iterdir()] == [str(run.claim)]
    run.finish()
    proxying.tidy()
    assert list(making.iterdir()) == []


def test_there_may_be_nothing_to_tidy(db):
    proxying.tidy()


SET_UP = "import json, sys, django; django.setup()\n"
TAKE_IN = """
from pathlib import Path
from review import intake, people, tasks
from review.management.plainly import bring_tables_up_to_date
from review.models import Job
bring_tables_up_to_date()
production, _ = people.make_production("KB04", "Kestrel Bay", people.read_timebase("25"))
card = intake.take_in(Path(sys.argv[1]), production)
tasks.work(intake.ask_for_check(card, why="a test").id)
print(Job.objects.get(kind="proxy").id)
"""
WORK = "from review import tasks; tasks.work(int(sys.argv[1]))"
LOOK = "from review.models import Job; print(json.dumps(list(Job.objects.order_by('id').values_list('kind', 'state'))))"
START_AGAIN = """
from review import jobs, proxying
from review.models import Clip, Job
from tests.conftest import work_off
jobs.restart()
work_off()
proxying.tidy()
clip = Clip.objects.get()
print(json.dumps({"clip": clip.id, "proxy": clip.proxy_state, "attempts": Job.objects.get(kind="proxy").attempts}))
"""


def test_a_worker_killed_half_way_leaves_no_half_file_and_the_job_is_finished_by_another(tmp_path):
    """With a real process, its own database and a real SIGKILL; -re makes ffmpeg read as slowly as the clip plays."""
    home, card = tmp_path / "home", tmp_path / "cards" / "KB04-261112-A01"
    film(card / "A001C001.MOV", frames=250)
    slow = tmp_path / "slow-ffmpeg"
    slow.write_text(f'#!/bin/sh\nexec "{ffmpeg_binary()}" -re "$@"\n')
    slow.chmod(0o755)
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "logging_app.settings",
        "RUSHLIGHT_HOME": str(home),
        "RUSHLIGHT_CARDS": str(card.parent),
    }

    def start(program, *arguments, **more):
        command = [sys.executable, "-c", SET_UP + program, *arguments]
        return subprocess.Popen(command, cwd=ROOT, env=environment | more, stdout=subprocess.PIPE, text=True)

    def run(program, *arguments):
        said, _ = start(program, *arguments).communicate(timeout=60)
        return said

    job_id = run(TAKE_IN, str(card)).strip()
    worker = start(WORK, job_id, FFMPEG=str(slow))
    deadline = time.monotonic() + 20
    while not (half := list((home / "media" / "making").glob("*/proxy.mp4"))) and time.monotonic() < deadline:
        time.sleep(0.05)
    worker.send_signal(signal.SIGKILL)
    worker.wait()
    worker.stdout.close()
    assert half, "the worker had not begun"
    assert json.loads(run(LOOK)) == [["check", "done"], ["proxy", "running"]]
    assert not (home / "media" / "clips").exists()
    assert not [pid for pid in _processes() if str(home) in pid], "ffmpeg outlived its worker"

    told = json.loads(run(START_AGAIN))
    assert told == {"clip": told["clip"], "proxy": "ready", "attempts": 2}
    assert list((home / "media" / "making").iterdir()) == []
    with av.open(str(home / "media" / "clips" / str(told["clip"]) / "proxy.mp4")) as proxy:
        assert sum(1 for _ in proxy.decode(video=0)) == 250


def _processes() -> list[str]:
    """The command lines of everything that runs."""
    lines = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            lines.append(path.read_bytes().replace(b"\0", b" ").decode(errors="replace"))
        except OSError:
            continue
    return lines
