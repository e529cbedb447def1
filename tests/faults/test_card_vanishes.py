"""The card's folder vanishes during a check and comes back, as where a cable is loose."""

import random
import shutil
import time

from tests.faults.house import TIMES

RATE = 1.5  # megabytes a second at which the card is read, so that there is time for it to vanish


def test_a_card_that_vanishes_is_never_verified_by_half(house, tally):
    (folder,) = house.cards.iterdir()
    before = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in folder.rglob("*") if path.is_file()}
    away, took = house.folder / "away", house.took("work_slowly", house.run("ask", "check"), RATE)
    told = []
    for _ in range(TIMES):
        house.run("distrust")
        worker = house.start("work_slowly", house.run("ask", "check"), RATE)
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
    house.run("work", house.run("ask", "copy"))
    assert set(house.run("counts")["copies"].values()) == {"same"}
    assert house.run("at_rest") == []
    after = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in folder.rglob("*") if path.is_file()}
    assert before == after
    tally(
        f"a card vanishes and comes back ({told.count('held')} held, in words)",
        "its folder is moved away in the middle of a check",
        TIMES,
    )
