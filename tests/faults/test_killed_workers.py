"""A worker is killed outright in every kind of job, at random moments (law 5).

RUSHLIGHT_TEST_FAULTS=50 kills fifty in each; the usual run one.
"""

import random
import time

import pytest

from review.media.ffmpeg import ffmpeg_binary
from tests.faults.house import TIMES

KINDS = ("check", "copy", "proxy", "section", "pictures", "stringout")


@pytest.mark.parametrize("kind", KINDS)
def test_a_killed_worker_leaves_nothing_half_and_another_does_the_job(house, tally, kind):
    took = house.took("work", house.run("ask", kind))
    killed = midway = 0
    while killed < TIMES:
        job = house.run("ask", kind)
        worker = house.start("work", job)
        time.sleep(random.uniform(0, took))
        if not worker.kill():
            house.run("work_off")  # it was faster; what it asked for is done too
            continue
        killed += 1
        assert house.left_running() == []
        midway += house.run("state_of", job)["state"] == "running"
        assert house.run("after_a_kill") == []
        told = house.run("state_of", job)
        assert told["state"] in ("waiting", "done") or "The worker stopped 4 times" in told["error"], told
        if told["attempts"] >= 3:
            house.run("work_off")
    house.run("work_off")
    assert house.run("at_rest") == []
    counts = house.run("counts")
    assert counts["proxies"] == ["ready", "ready"] and set(counts["cards"].values()) == {"verified"}
    assert set(counts["copies"].values()) == {"same"} and counts["failed"] == []
    tally(f"a worker is killed: {kind} ({midway} had begun)", "SIGKILL at a random moment of the job", killed)


def test_a_job_whose_every_worker_is_killed_fails_in_words_and_can_be_asked_for_again(house, tally):
    job = house.run("ask", "proxy")
    early = house.took("work", job) / 5  # killed before it is taken, it is tried again: only what was begun counts
    job = house.run("ask", "proxy")
    while (told := house.run("state_of", job))["state"] == "waiting":
        worker = house.start("work", job)
        time.sleep(early)
        worker.kill()
        assert house.run("after_a_kill") == []
    assert told["state"] == "failed" and told["attempts"] == 4
    assert told["error"].startswith("The worker stopped 4 times while doing this. Look at the clip's file")
    assert "failed" in house.run("counts")["proxies"]
    house.run("retry_failed")
    house.run("work_off")
    assert house.run("counts")["proxies"] == ["ready", "ready"]
    assert house.run("at_rest") == []
    tally("every worker of one job is killed", "four deaths, failed in words, asked for again", 1)


def test_killed_in_the_middle_of_an_encode_its_ffmpeg_ends_too(house, tmp_path, tally):
    slow = tmp_path / "slow-ffmpeg"
    slow.write_text(f'#!/bin/sh\nexec "{ffmpeg_binary()}" -re "$@"\n')  # reads as slowly as the clip plays
    slow.chmod(0o755)
    job = house.run("ask", "proxy")
    worker = house.start("work_slowly", job, 0, str(slow))
    deadline = time.monotonic() + 30
    while not (half := list(house.home.glob("media/making/*/proxy.mp4"))) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert worker.kill() and half, "the worker had not begun, or was done"
    assert house.left_running() == []
    told = house.run("state_of", job)
    assert (told["state"], told["attempts"]) == ("running", 1)
    assert house.run("counts")["proxies"].count("ready") == 1  # and not the one that is half there
    assert house.run("after_a_kill") == []
    assert house.run("work_off")
    assert house.run("state_of", job) == {"state": "done", "attempts": 2, "error": ""}
    assert house.run("counts")["proxies"] == ["ready", "ready"]
    assert house.run("at_rest") == []
    tally("a worker is killed in the middle of an encode", "its ffmpeg ends with it, the half proxy goes", 1)
