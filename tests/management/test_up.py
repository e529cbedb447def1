"""`manage.py up` as a real program: it serves, it works, and it leaves nothing behind."""

import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest

from review.management import serving
from tests.conftest import film

MANAGE = Path(__file__).parents[2] / "manage.py"


class Room:
    """A home of its own, and the programs that run in it."""

    def __init__(self, folder: Path):
        self._started: list[subprocess.Popen] = []
        self._serving: subprocess.Popen | None = None
        self.home, self.cards = folder / "home", folder / "cards"
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.environment = os.environ | {
            "RUSHLIGHT_HOME": str(self.home),
            "RUSHLIGHT_CARDS": str(self.cards),
            "RUSHLIGHT_SCAN_EVERY": "0.5",
            "RUSHLIGHT_SETTLE": "0.1",
        }
        self.environment.pop("DJANGO_SETTINGS_MODULE", None)

    def start(self, *words) -> subprocess.Popen:
        program = subprocess.Popen(
            [sys.executable, MANAGE, *map(str, words)],
            env=self.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        self._started.append(program)
        return program

    def run(self, *words) -> tuple[int, str, str]:
        program = self.start(*words)
        out, err = program.communicate(timeout=60)
        return program.returncode, out, err

    def up(self) -> subprocess.Popen:
        """The program that serves this room; started, unless it runs. `said`: the lines that it began with."""
        if not self._serving or self._serving.poll() is not None:
            self._serving = self.start("up", "--port", self.port)
            self.said = [self._serving.stdout.readline() for _ in range(3)]
            assert self.said[0].startswith("Rushlight is at "), self._serving.stderr.read()
        return self._serving

    def get(self, path: str) -> tuple[int, str]:
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=30) as answer:
            return answer.status, answer.read().decode()

    def comes_true(self, query: str, seconds: float = 60) -> bool:
        deadline = time.monotonic() + seconds
        with closing(sqlite3.connect(f"file:{self.home}/rushlight.sqlite3?mode=ro", uri=True, timeout=20)) as rows:
            while not (true := rows.execute(query).fetchone()[0]) and time.monotonic() < deadline:
                time.sleep(0.2)
        return bool(true)

    def alive(self) -> list[str]:
        return [command for _, command in self._processes()]

    def _processes(self) -> list[tuple[int, str]]:
        """Every process that has this home in its environment, and its command."""
        mine = f"RUSHLIGHT_HOME={self.home}".encode()
        found = []
        for process in Path("/proc").glob("[0-9]*"):
            try:
                if mine in (process / "environ").read_bytes().split(b"\0"):
                    command = (process / "cmdline").read_bytes().replace(b"\0", b" ").decode()
                    found.append((int(process.name), command))
            except OSError:
                continue
        return found

    def workers(self) -> list[int]:
        """The processes of this home that do jobs, scan or sweep."""
        return [pid for pid, command in self._processes() if "celery" in command]

    def all_gone(self, seconds: float = 5) -> bool:
        deadline = time.monotonic() + seconds
        while self.alive() and time.monotonic() < deadline:
            time.sleep(0.1)
        return not self.alive()

    def close(self) -> None:
        for program in self._started:
            if program.poll() is None:
                program.terminate()
                program.wait(15)
            program.stdout.close()
            program.stderr.close()


@pytest.fixture(scope="module")
def room(tmp_path_factory):
    """A room with a production, lent to one test after the other: what serves it is started when one asks for it and
    nothing does, so that few are."""
    with closing(Room(tmp_path_factory.mktemp("room"))) as room:
        assert room.run("production", "KB04", "Kestrel Bay")[0] == 0
        yield room


def appears(room: Room, card: str, frames: int) -> None:
    """A card appears, and is found, checked and made watchable by itself."""
    film(room.cards / card / "A001C001.MOV", frames=frames)
    made = "select count(*) from review_job j join review_card c on c.id = j.card_id where c.name = '{}' and {}"
    assert room.comes_true(made.format(card, "j.kind = 'pictures' and j.state = 'done'"))


def test_it_serves_and_works(room):
    room.up()
    assert room.said == [
        f"Rushlight is at http://127.0.0.1:{room.port}/   (Ctrl-C stops it)\n",
        f"Data: {room.home}\n",
        f"Cards are looked for under: {room.cards}\n",
    ]
    status, page = room.get("/sign-in/")
    assert (status, "Sign in" in page) == (200, True)
    style = page.split('rel="stylesheet" href="')[1].split('"')[0]
    assert room.get(style)[0] == 200
    with pytest.raises(urllib.error.HTTPError, match="401"):
        room.get("/api/v1/clips/")
    appears(room, "KB04-261112-A01", 50)


def test_a_worker_that_dies_is_started_again(room):
    room.up()
    before = set(room.workers())
    assert before
    for pid in before:
        os.kill(pid, signal.SIGKILL)
    appears(room, "KB04-261112-A02", 40)
    assert room.workers() and not before & set(room.workers())


def test_only_one_runs_in_a_home_and_on_a_port(room, tmp_path):
    room.up()
    with closing(Room(tmp_path / "other")) as other:
        other.home.mkdir(parents=True)
        with closing(sqlite3.connect(room.home / "rushlight.sqlite3")) as rows:
            rows.execute("vacuum into ?", [str(other.home / "rushlight.sqlite3")])
        again = room.start("up", "--port", room.port + 1)
        code, _, words = other.run("up", "--port", room.port)
        assert code == 1 and f"Cannot serve on 127.0.0.1:{room.port}" in words and "choose another with --port" in words
        _, words = again.communicate(timeout=60)
        assert f"Rushlight is running already with the home {room.home}; stop it first." in words
        assert again.returncode == 1
        assert room.get("/sign-in/")[0] == 200

        code, _, words = other.run("up", "--port", "99999")
        assert code == 1 and "choose another with --port" in words and "Traceback" not in words
        assert other.all_gone()


def test_it_stops_with_ctrl_c(room):
    program = room.up()
    assert len(room.alive()) > 2
    program.send_signal(signal.SIGINT)
    code, words = program.wait(15), program.stderr.read()
    assert (code, "Traceback" in words) == (0, False), words
    assert program.stdout.read().endswith("Stopped.\n")
    assert room.all_gone(), room.alive()


def test_sigterm_stops_everything_and_it_starts_again(room):
    program = room.up()
    program.send_signal(signal.SIGTERM)
    assert program.wait(15) == 0
    assert room.all_gone(), room.alive()
    assert room.up() is not program
    assert room.get("/sign-in/")[0] == 200


def test_killed_outright_it_leaves_nothing_running(room):
    program = room.up()
    program.kill()
    program.wait(15)
    assert room.all_gone(15), room.alive()


def test_a_child_whose_parent_is_gone_before_it_begins_ends_by_itself():
    somebody_else = os.getpid() + 1
    child = subprocess.Popen(["sleep", "60"], preexec_fn=partial(serving._die_with_parent, somebody_else))
    assert child.wait(15) == 1
