"""The card's folder vanishes during a check and comes back, as where a cable is loose."""

import random
import shutil
import time

import pytest

from tests.faults.conftest import make_card, opened
from tests.faults.house import TIMES, House


@pytest.fixture
def slow_house(tmp_path):
    """A house that reads its cards slowly."""
    with opened(House(tmp_path / "house", RUSHLIGHT_CHECK_RATE="0.25")) as house:
        folder = make_card(house.cards, long=False)
        house.run("take_in", str(folder))
        yield house


def test_a_card_that_vanishes_is_never_verified_by_half(slow_house, tally):
    house, (folder,) = slow_house, slow_house.cards.iterdir()
    before = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in folder.rglob("*") if path.is_file()}
    away, took = house.folder / "away", house.took("work", house.run("ask", "check"))
    told = []
    for _ in range(TIMES):
        house.run("distrust")
        worker = house.start("work", house.run("ask", "check"))
        time.sleep(random.uniform(0, took))
        shutil.move(folder, away)
        time.sleep(random.uniform(0, took / 2))
        shutil.move(away, folder)
        worker.result()
        (state,) = house.run("counts")["cards"].values()
        told.append(state)
        assert state in ("verified", "held"), state
        if state == "held":
            stops = [each for each in house.run("findings") if each["severity"] == "stop"]
            assert stops and all(each["what"] and each["next"] for each in stops), stops
        else:
            assert house.run("at_rest") == []  # its files are all on record
        house.run("work", house.run("ask", "check"))
        house.run("work_off")
        assert set(house.run("counts")["cards"].values()) == {"verified"}
        house.run("forget_failed")
    assert house.run("at_rest") == []
    after = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in folder.rglob("*") if path.is_file()}
    assert before == after
    tally(
        f"a card vanishes and comes back ({told.count('held')} held, in words)",
        "its folder is moved away in the middle of a check",
        TIMES,
    )
