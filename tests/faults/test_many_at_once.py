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


def test_eight_writing_processes_on_one_database(house, tally):
    each, before = max(10, 5 * TIMES), house.run("marks_there_are")
    began = time.monotonic()
    writers = [house.start("mark", number, each, time.time() + SOON) for number in range(8)]
    told = dict(made for writer in writers for made in writer.result())
    seconds = time.monotonic() - began - SOON
    assert len(told) == 8 * each
    assert house.run("complaints_of_marks", told, before) == []
    assert house.run("integrity") == []
    tally(f"eight processes write ({8 * each * 1.5 / seconds:.0f} writes a second)", "each marks and changes", 8 * each)
