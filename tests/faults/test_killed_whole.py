"""The one-machine form is killed whole at random moments, while people mark and cards are checked.

RUSHLIGHT_TEST_FAULTS=50 kills it fifty times; the usual run once.
"""

import os
import random
import signal
import socket
import subprocess
import sys
import time
from contextlib import suppress

from tests.faults.clients import Marker, Script
from tests.faults.house import ROOT, TIMES, House

READY = 90.0  # seconds in which it answers, on a machine that has much to do


class Whole:
    """`manage.py up` in a house, killed and started again."""

    def __init__(self, house: House):
        self._house = house
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self._program = None

    def start(self) -> None:
        more = {"RUSHLIGHT_SCAN_EVERY": "1", "RUSHLIGHT_SETTLE": "0.1"}
        with (self._house.folder / "up-log").open("ab") as log:
            self._program = subprocess.Popen(
                [sys.executable, ROOT / "manage.py", "up", "--port", str(self.port)],
                env=self._house.environment | more,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )

    def answers(self, seconds: float = READY) -> bool:
        """Until it answers; False when it ended or did not in this time."""
        deadline = time.monotonic() + seconds
        while time.monotonic() < deadline and self._program.poll() is None:
            if Script(self.address, "").ask("/healthz")[0] == 200:
                return True
            time.sleep(0.1)
        return False

    def kill(self) -> None:
        """Every process of it at once, as when the machine goes."""
        for pid in self._house.pids():
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        self._program.wait()

    def stop(self) -> None:
        self._program.terminate()
        self._program.wait(30)


def test_killed_whole_it_comes_back_with_every_mark(house, tally):
    whole, script = Whole(house), None
    script = Script(whole.address, house.run("token"))
    clip, card = house.run("first_clip")
    before = house.run("marks_there_are")
    marker = Marker(script, clip, pause=0.05)
    marker.start()
    killed = midway = 0
    try:
        while killed < TIMES:
            whole.start()
            if random.random() < 0.5:  # while it starts
                time.sleep(random.uniform(0, 6))
            else:
                assert whole.answers(), (house.folder / "up-log").read_text()[-3000:]
                assert script.ask(f"/api/v1/cards/{card}/check/", "POST")[0] in (200, 201, 202, 0, 500)
                time.sleep(random.uniform(0, 2))
            whole.kill()
            killed += 1
            assert house.left_running(30) == []  # what was forked in that very moment ends by itself
            midway += house.run("under_way") > 0
            assert house.run("integrity") == []
        whole.start()
        assert whole.answers(), (house.folder / "up-log").read_text()[-3000:]
        marker.stop()
        marker.join(60)
        assert not marker.is_alive()
        _, said = Script(whole.address, "").ask("/readyz")
        assert said["database"]["good"] and said["home"]["good"] and said["tables"]["good"]
        whole.stop()
    finally:
        marker.stop()
        whole.kill()
    assert marker.refused == []
    assert house.run("complaints_of_marks", marker.promised, [*marker.sent, *before]) == []
    assert set(marker.promised) == marker.sent
    assert house.run("after_a_kill") == []
    house.run("retry_failed")
    house.run("work_off")
    assert house.run("at_rest") == []
    assert set(house.run("counts")["cards"].values()) == {"verified"}
    tally(
        f"the one-machine form is killed whole ({midway} in the middle of jobs; {len(marker.promised)} marks)",
        "SIGKILL of all its processes at a random moment, starting included; somebody marks, a card is checked",
        killed,
    )
