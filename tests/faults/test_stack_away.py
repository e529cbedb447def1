"""The many-machine form loses its queue, and its database, while people work and jobs wait (tests/stack/topology.py).

Only when RUSHLIGHT_TEST_FAULTS is set, because it takes minutes; 50 does it ten times.
"""

import json
import os
import random
import shutil
import time
from contextlib import suppress

import psycopg
import pytest

from tests.conftest import film
from tests.faults.clients import Marker, Script
from tests.faults.conftest import own
from tests.faults.house import TIMES
from tests.stack.topology import WORKERS, Topology

pytestmark = pytest.mark.skipif(
    "RUSHLIGHT_TEST_FAULTS" not in os.environ,
    reason="it takes minutes; RUSHLIGHT_TEST_FAULTS=5 asks for it",
)
TIMES_AWAY = max(1, TIMES // 5)
CARDS = ("KB04-261112-A01", "KB04-261112-A02", "KB04-261112-A03")
TOKEN = """
from review.crew import tokens
from review.models import Person
print(tokens.issue(Person.objects.get(), "a test", "write")[1])
"""
COUNT = """
import json, sys
from tests.faults import invariants
promised, sent = json.load(open(sys.argv[-1]))
print(json.dumps(invariants.of_marks(promised, set(sent)) + invariants.complaints(at_rest=False)))
"""


@pytest.fixture(scope="module")
def stack():
    with Topology() as stack:
        stack.manage("production", "KB04", "Kestrel Bay")
        stack.manage("member", "maren", "--production", "KB04", "--role", "owner")
        for name in CARDS:
            own(film(stack.folder / "A001C001.MOV", size=(160, 90)), name)
            (stack.cards / name).mkdir()
            (stack.folder / "A001C001.MOV").rename(stack.cards / name / "A001C001.MOV")
        comes_true(stack, "SELECT count(*) = 3 FROM review_job WHERE kind = 'pictures' AND state = 'done'")
        yield stack


@pytest.fixture(scope="module")
def script(stack) -> Script:
    return Script(stack.address, stack.manage("shell", "-c", TOKEN).strip().splitlines()[-1])


def rows(stack, query: str):
    with psycopg.connect(stack.database.url) as link:
        done = link.execute(query)
        return done.fetchall() if done.description else []


def comes_true(stack, query: str, seconds: float = 120) -> None:
    deadline = time.monotonic() + seconds
    while not rows(stack, query)[0][0]:
        if time.monotonic() > deadline:
            pytest.fail(f"not within {seconds} seconds: {query}\n{_left_undone(stack)}")
        time.sleep(0.2)


def _left_undone(stack) -> str:
    """The jobs that are not done, and what the workers wrote of them."""
    told = []
    for job, *about in rows(
        stack,
        "SELECT id, kind, state, attempts, created, sent_at, heartbeat, error FROM review_job WHERE state != 'done'",
    ):
        written = [line for part in WORKERS for line in stack.log(part).splitlines() if f"job={job} " in line]
        told += [f"job {job}: {' '.join(map(str, about))}", *written]
    return "\n".join(told)


ALL_DONE = "SELECT count(*) = 0 FROM review_job WHERE state != 'done'"


def test_the_queue_is_killed_with_jobs_waiting_and_none_is_lost(stack, script, tally):
    cards = [card["id"] for card in script.ask("/api/v1/cards/")[1]["results"]]
    waited = 0
    for number in range(TIMES_AWAY):
        comes_true(stack, ALL_DONE)
        stack.freeze("checks")  # so that the messages wait
        try:
            assert script.ask(f"/api/v1/cards/{cards[0]}/check/", "POST")[0] < 300
            assert script.ask(f"/api/v1/cards/{cards[1]}/check/", "POST")[0] < 300
            stack.kill("queue")
            lost_all = bool(number % 2) or TIMES_AWAY == 1
            if lost_all:
                shutil.rmtree(stack.folder / "redis" / "appendonlydir", ignore_errors=True)

            # meanwhile: what people ask for is written down, and the house says what is away
            began = time.monotonic()
            status, said = script.ask(f"/api/v1/cards/{cards[2]}/check/", "POST")
            assert status < 300, said
            assert time.monotonic() - began < 20
            assert stack.status("/healthz") == 200
            status, said = Script(stack.address, "").ask("/readyz")
            assert (status, said["queue"]["good"], said["database"]["good"]) == (503, False, True)
            assert "work waits in its rows" in said["queue"]["says"]
            waiting = rows(stack, "SELECT count(*) FROM review_job WHERE state = 'waiting'")[0][0]
            assert waiting == 3
            waited += waiting
        finally:
            if "queue" not in stack.running:
                stack.start("queue")
            stack.thaw("checks")
        if lost_all:  # ten minutes later
            rows(stack, "UPDATE review_job SET sent_at = sent_at - interval '11 minutes' WHERE state = 'waiting'")
        comes_true(stack, ALL_DONE)
        assert rows(stack, "SELECT count(*) FROM review_card WHERE state = 'verified'") == [(3,)]
    tally(
        f"the queue is killed ({waited} jobs waited)",
        "SIGKILL of Redis, its data kept or lost; started again",
        TIMES_AWAY,
    )


def test_the_database_is_killed_while_four_people_mark(stack, script, tally, tmp_path):
    (clip, *_) = [clip["id"] for clip in script.ask("/api/v1/clips/")[1]["results"]]
    cards = [card["id"] for card in script.ask("/api/v1/cards/")[1]["results"]]
    markers = [Marker(script, clip, pause=0.02) for _ in range(4)]
    for marker in markers:
        marker.start()
    shown = []
    for _ in range(TIMES_AWAY):
        comes_true(stack, ALL_DONE)
        for card in cards:
            script.ask(f"/api/v1/cards/{card}/check/", "POST")
        time.sleep(random.uniform(0, 1))
        stack.kill("db")
        _wait(lambda: script.ask("/api/v1/clips/")[0] >= 500)
        shown.append(script.ask("/cards/", Cookie="sessionid=somebody"))
        status, said = Script(stack.address, "").ask("/readyz")
        assert (status, said["database"]["says"]) == (503, "does not answer")
        assert stack.status("/healthz") == 200
        time.sleep(random.uniform(0, 1))
        _start_database(stack)
        _wait(lambda: script.ask("/api/v1/clips/")[0] == 200)
        time.sleep(3)  # those that live have been heard of; the others are given up, as after two minutes
        silent = "state = 'running' AND heartbeat < now() - interval '3 seconds'"
        rows(stack, f"UPDATE review_job SET heartbeat = heartbeat - interval '2 minutes' WHERE {silent}")
    for marker in markers:
        marker.stop()
    for marker in markers:
        marker.join(60)
        assert not marker.is_alive()
    comes_true(stack, ALL_DONE)
    promised = {name: said for marker in markers for name, said in marker.promised.items()}
    assert [marker.refused for marker in markers] == [[]] * 4
    assert len(promised) == len(set().union(*(marker.sent for marker in markers)))
    (tmp_path / "told").write_text(json.dumps([promised, [*promised]]))
    said = stack.manage("shell", "-c", COUNT.replace("sys.argv[-1]", repr(str(tmp_path / "told"))))
    assert said.strip().splitlines()[-1] == "[]"

    # meanwhile people, and their pages, were told in words
    assert all(status == 500 and "nothing you marked is lost" in page for status, page in shown), shown
    troubles = [said for marker in markers for said in marker.troubles]
    assert troubles and all(
        "nothing you marked is lost" in said["detail"] for said in troubles if isinstance(said, dict)
    )
    tally(
        f"the database is killed ({len(promised)} marks, {len(troubles)} sent again)",
        "SIGKILL of PostgreSQL while four people mark and cards are checked",
        TIMES_AWAY,
    )


def _wait(true, seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < deadline
        time.sleep(0.1)


def _start_database(stack) -> None:
    """What the killed one left behind may need a moment to end."""
    for _ in range(20):
        with suppress(RuntimeError):
            return stack.start("db")
        time.sleep(0.5)
    stack.start("db")
