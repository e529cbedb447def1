"""What must happen once is asked for many times at once, by processes of their own."""

import time

import pytest

from tests.faults.conftest import make_card
from tests.faults.house import TIMES

SOON = 0.4  # seconds, in which every process is ready to begin


@pytest.mark.parametrize("kind", ["check", "proxy", "stringout"])
def test_the_same_message_five_times_is_the_work_once(house, tally, kind):
    for _ in range(TIMES):
        before = house.run("counts")["done"][kind]
        job = house.run("ask", kind)
        workers = [house.start("work_at", job, time.time() + SOON) for _ in range(5)]
        assert sorted(worker.result() for worker in workers) == [False] * 4 + [True]
        assert house.run("state_of", job) == {"state": "done", "attempts": 1, "error": ""}
        assert house.run("counts")["done"][kind] == before + 1
    house.run("work_off")
    assert house.run("at_rest") == []
    tally(f"one message five times: {kind}", "five workers take it up at one moment", TIMES)


def test_two_schedulers_find_each_card_and_ask_for_each_job_once(bare_house, tally):
    house = bare_house
    for number in range(1, TIMES + 1):
        name = f"KB04-261112-B{number:02}"
        make_card(house.cards, name, long=False)
        two = [house.start("scan_and_sweep", 3, time.time() + SOON) for _ in range(2)]
        for scheduler in two:
            scheduler.result()
        two = [house.start("work_off") for _ in range(2)]  # while both go on
        two += [house.start("scan_and_sweep", 3, time.time() + SOON) for _ in range(2)]
        for each in two:
            each.result()
    house.run("scan_and_sweep", 2, 0)
    house.run("work_off")
    counts = house.run("counts")
    assert counts["cards"] == {f"KB04-261112-B{number:02}": "verified" for number in range(1, TIMES + 1)}
    assert counts["found"] == TIMES and counts["failed"] == []
    assert house.run("at_rest") == []
    tally("two schedulers by mistake", "both scan and sweep while two workers work; a new card each time", TIMES)


@pytest.mark.parametrize(
    ("patience", "said"), [(None, "as long as it is set to"), (0.01, "10 ms at most")], ids=["patient", "hasty"]
)
def test_eight_writing_processes_on_one_database(house, tally, patience, said):
    """Through the JSON surface. Hasty, many are refused at first: what is sent again is there once."""
    each, before, key = max(6, 2 * TIMES), house.run("marks_there_are"), house.run("token")
    began = time.monotonic()
    writers = [house.start("mark", key, number, each, time.time() + SOON, patience) for number in range(8)]
    told = [writer.result(900) for writer in writers]
    seconds = time.monotonic() - began - SOON
    promised = dict(mark for writer in told for mark in writer["promised"].items())
    assert [writer["refused"] for writer in told] == [[]] * 8
    assert len(promised) == 8 * each
    assert house.run("complaints_of_marks", promised, before) == []
    assert house.run("integrity") == []
    assert all("nothing you marked is lost" in answer["detail"] for writer in told for answer in writer["troubles"])
    wishes, resent, answers = (sum(writer[name] for writer in told) for name in ("wishes", "resent", "answers"))
    assert wishes == 8 * each * 1.5 and answers == wishes + sum(len(writer["troubles"]) for writer in told)
    if patience:
        assert resent  # or nothing was tried
    tally(
        f"eight processes write, each waits for the others {said} ({wishes} writes, {wishes / seconds:.0f} a second; "
        f"{resent} not taken at the first try, {answers - wishes} sent again)",
        "each marks and changes",
        len(promised),
    )
