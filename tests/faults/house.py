"""A house to be hurt: a home with its database and its cards, and processes that are killed in it."""

import json
import os
import select
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing, suppress
from itertools import count
from pathlib import Path

from django.db import connection

ROOT = Path(__file__).parents[2]
# How often each fault is done: once in the usual run, RUSHLIGHT_TEST_FAULTS=50 to be sure.
TIMES = int(os.environ.get("RUSHLIGHT_TEST_FAULTS", "1"))


def lay_tables(home: Path) -> None:
    """Put empty tables into a home that is not there yet: those of this run's own database, because making them takes
    longer than many a test. When that is a PostgreSQL, the first program in the home makes them."""
    if connection.vendor == "sqlite":
        home.mkdir(parents=True)
        with closing(sqlite3.connect(connection.settings_dict["NAME"])) as rows:
            rows.execute("VACUUM INTO ?", [str(home / "rushlight.sqlite3")])


class Child:
    """A process that does one chore."""

    def __init__(self, pid: int, reply: Path):
        self._pid, self._reply = pid, reply
        try:
            self._handle = os.pidfd_open(pid)
        except ProcessLookupError:
            self._handle = None  # it has ended already

    def kill(self) -> bool:
        """SIGKILL. False when it had come to its end before."""
        if self._handle is not None:
            with suppress(ProcessLookupError):
                signal.pidfd_send_signal(self._handle, signal.SIGKILL)
        self._wait(10)
        return not self._reply.exists()

    def killed_itself(self, seconds: float = 60) -> bool:
        """Whether it ended without an answer."""
        return self._wait(seconds) and not self._reply.exists()

    def result(self, seconds: float = 180):
        """What the chore returned."""
        assert self._wait(seconds), f"process {self._pid} did not end within {seconds} seconds"
        assert self._reply.exists(), f"process {self._pid} was killed"
        said = json.loads(self._reply.read_text())
        assert "trouble" not in said, said["trouble"]
        return said["said"]

    def _wait(self, seconds: float) -> bool:
        if self._handle is None:
            return True
        ended = bool(select.select([self._handle], [], [], seconds)[0])
        if ended:
            os.close(self._handle)
            self._handle = None
        return ended


class House:
    def __init__(self, folder: Path, *, database: str = "", home: Path | None = None, like: "House | None" = None):
        """`database`: the address of a PostgreSQL that is empty; a SQLite in the home otherwise. `like`: a house whose
        cards and copies these are too."""
        self.folder = folder
        self.home = home or folder / "home"
        self.cards, self.copies = (like.cards, like.copies) if like else (folder / "cards", folder / "copies")
        self._replies = folder / "replies"
        for each in (self.cards, self.copies, self._replies):
            each.mkdir(parents=True, exist_ok=True)
        self._numbers = count()
        here = {name: value for name, value in os.environ.items() if not name.startswith(("RUSHLIGHT_", "DJANGO_"))}
        self.environment = here | {
            "RUSHLIGHT_HOME": str(self.home),
            "RUSHLIGHT_CARDS": os.pathsep.join(map(str, (self.cards, self.copies))),
            "RUSHLIGHT_SETTLE": "0",
            "RUSHLIGHT_LOG_LEVEL": "ERROR",
        }
        if database:
            self.environment["RUSHLIGHT_DATABASE"] = database
        self._log = (folder / "log").open("ab")
        self._nursery = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.nursery"],
            cwd=ROOT,
            env=self.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._log,
            text=True,
            start_new_session=True,
        )

    def start(self, chore: str, *words) -> Child:
        reply = self._replies / str(next(self._numbers))
        self._nursery.stdin.write(json.dumps({"chore": chore, "words": words, "reply": str(reply)}) + "\n")
        self._nursery.stdin.flush()
        answer = self._nursery.stdout.readline()
        assert answer, self.said()
        return Child(int(answer), reply)

    def run(self, chore: str, *words):
        """What a chore returns."""
        return self.start(chore, *words).result()

    def took(self, chore: str, *words) -> float:
        """How many seconds a chore takes when nothing happens to it."""
        began = time.monotonic()
        self.run(chore, *words)
        return time.monotonic() - began

    def said(self) -> str:
        return (self.folder / "log").read_text(errors="replace")[-4000:]

    def left_running(self, seconds: float = 5) -> list[str]:
        """The programs of this house that are still there, the nursery apart: what a killed worker started."""
        deadline = time.monotonic() + seconds
        while (left := list(self._programs().values())) and time.monotonic() < deadline:
            time.sleep(0.05)
        return left

    def pids(self) -> list[int]:
        return list(self._programs())

    def _programs(self) -> dict[int, str]:
        mine, found = f"RUSHLIGHT_HOME={self.home}".encode(), {}
        for process in Path("/proc").glob("[0-9]*"):
            try:
                if int(process.name) != self._nursery.pid and mine in (process / "environ").read_bytes().split(b"\0"):
                    found[int(process.name)] = (process / "cmdline").read_bytes().replace(b"\0", b" ").decode()
            except OSError:
                continue
        return found

    def close(self) -> None:
        self._nursery.stdin.close()
        with suppress(subprocess.TimeoutExpired):
            self._nursery.wait(5)
        self._nursery.kill()
        self._nursery.wait()
        self._nursery.stdout.close()
        self._log.close()
