"""The many-machine form without containers: what docker/ describes, from the system's own programs on loopback.

PostgreSQL, Redis, nginx, the web server, three kinds of worker and the scheduler, each to be killed and started again.

    .venv-tests/bin/python -m tests.stack.topology        starts it, prints its address, and stops it with Ctrl-C
"""

import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from contextlib import closing, suppress
from pathlib import Path

from tests.stack import cluster, programs
from tests.stack.compose import Compose, nginx_conf

ROOT = Path(__file__).parents[2]
WORKERS = ("checks", "quick", "encodes", "upkeep")
PARTS = ("db", "queue", "web", *WORKERS, "nginx")  # in the order in which they start


class Topology:
    """Every part of the stack, in a folder of its own. Start it with `with`."""

    def __init__(self, folder: Path | None = None, **settings: str):
        """`settings` are added to the environment of our own programs."""
        self._own_folder = folder is None
        self.folder = folder or Path(tempfile.mkdtemp(prefix="rushlight-stack-"))
        self.home, self.cards = self.folder / "home", self.folder / "cards"
        self.ports = dict(zip(("db", "queue", "web", "nginx"), programs.free_ports(4), strict=True))
        self.address = f"http://127.0.0.1:{self.ports['nginx']}"
        self.database = cluster.Cluster(self.folder / "postgresql", self.ports["db"])
        self.metrics_token = secrets.token_hex(16)
        self.running: dict[str, subprocess.Popen] = {}
        self._compose = Compose({"CARDS": str(self.cards), "HOST": "127.0.0.1"})
        self._settings = settings
        self._nginx_user = programs.another("nobody")

    # The whole of it ---------------------------------------------------------------------------

    def __enter__(self) -> "Topology":
        try:
            self._lay_out()
            for part in PARTS:
                self.start(part)
                if part == "db":
                    self.database.make_database()
                    self.manage("migrate", "--noinput", "--verbosity", "0")
            self.wait_for("nginx")
        except BaseException:
            self.stop()
            raise
        return self

    def __exit__(self, *about) -> None:
        self.stop()

    def stop(self) -> None:
        """Stop everything, the database when all who use it have ended, and remove what was made for it."""
        parts = {part: program for part, program in self.running.items() if part != "db"}
        for part, program in parts.items():
            self.thaw(part)
            programs.ask_to_stop(program)
        for program in parts.values():
            programs.ended(program)
        if "db" in self.running:
            self.thaw("db")
            cluster.stop(self.running["db"])
        self.running.clear()
        if self._own_folder:
            shutil.rmtree(self.folder, ignore_errors=True)

    def _lay_out(self) -> None:
        self.folder.chmod(0o755)  # other users' programs work in it: nginx, and PostgreSQL
        for folder in (self.home / "media", self.home / "static", self.cards, self.folder / "logs"):
            folder.mkdir(parents=True)
        programs.owned(self.folder / "redis", None)
        programs.owned(self.folder / "nginx", self._nginx_user)
        self.database.make()
        (self.folder / "secrets").mkdir(mode=0o700)
        kept = {"database": self.database.url, "key": secrets.token_urlsafe(48), "metrics-token": self.metrics_token}
        for name, secret in kept.items():
            (self.folder / "secrets" / name).write_text(secret)

    # Part by part ------------------------------------------------------------------------------

    def start(self, part: str) -> None:
        """Start a part. The database and the queue answer when this returns; for the others there is wait_for."""
        log = self.folder / "logs" / f"{part}.log"
        starts = {"db": self.database.start, "queue": self._start_queue, "nginx": self._start_nginx}
        self.running[part] = starts[part](log) if part in starts else self._start_ours(part, log)
        if part == "queue":
            self.wait_for(part)

    def kill(self, part: str) -> None:
        """End a part as a power cut would, with all its processes."""
        programs.destroy(self.running.pop(part))

    def restart(self, part: str) -> None:
        if part in self.running:
            self.kill(part)
        self.start(part)

    def freeze(self, part: str) -> None:
        """Let a part hang: it keeps its connections and answers nothing."""
        os.killpg(self.running[part].pid, signal.SIGSTOP)

    def thaw(self, part: str) -> None:
        with suppress(ProcessLookupError):
            os.killpg(self.running[part].pid, signal.SIGCONT)

    def log(self, part: str) -> str:
        """What a part has written."""
        return (self.folder / "logs" / f"{part}.log").read_text(errors="replace")

    def wait_for(self, part: str, seconds: float = 60) -> None:
        """Until a part answers. Raises when it ends, or does not answer in time."""
        deadline = time.monotonic() + seconds
        while not self.answers(part):
            if self.running[part].poll() is not None:
                raise RuntimeError(f"{part} ended: {self.log(part)[-2000:]}")
            if time.monotonic() > deadline:
                raise TimeoutError(f"{part} does not answer: {self.log(part)[-2000:]}")
            time.sleep(0.1)

    def answers(self, part: str) -> bool:
        """Whether the database, the queue, the web server or nginx (and the web server through it) answers now."""
        if part == "db":
            return self.database.answers()
        if part in ("web", "nginx"):
            return self.status("/healthz", part) == 200
        with suppress(OSError), closing(socket.create_connection(("127.0.0.1", self.ports[part]), 1)) as link:
            link.sendall(b"PING\r\n")
            return link.recv(16).startswith(b"+PONG")
        return False

    def status(self, path: str, part: str = "nginx") -> int:
        """What a GET of a path is answered with; 0 when nothing answers."""
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.ports[part]}{path}", timeout=10) as answer:
                return answer.status
        except urllib.error.HTTPError as refused:
            refused.close()
            return refused.code
        except OSError:
            return 0

    # Our own programs, by compose.yaml ---------------------------------------------------------

    def manage(self, *words: str) -> str:
        """Run one of the commands, as `docker compose exec web python manage.py` would; what it printed."""
        command, environment = [sys.executable, ROOT / "manage.py", *words], self.environment("web")
        done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=300, check=False)
        if done.returncode:
            raise RuntimeError(f"manage.py {words[0]}: {done.stderr}")
        return done.stdout

    def environment(self, service: str) -> dict[str, str]:
        """A service's environment as compose.yaml has it, with the places that are elsewhere here."""
        given = {
            name: value.replace("queue:6379", f"127.0.0.1:{self.ports['queue']}").replace(
                "/run/secrets", str(self.folder / "secrets")
            )
            for name, value in self._compose.environment(service).items()
        }
        quick = {"RUSHLIGHT_SCAN_EVERY": "1", "RUSHLIGHT_SETTLE": "0.5", "RUSHLIGHT_HOME": str(self.home)}
        here = {name: value for name, value in os.environ.items() if not name.startswith(("RUSHLIGHT_", "DJANGO_"))}
        return here | given | quick | {"HOSTNAME": "here"} | self._settings

    def _start_ours(self, part: str, log: Path) -> subprocess.Popen:
        here = {"0.0.0.0:8000": f"127.0.0.1:{self.ports['web']}", "/tmp/schedule": str(self.folder / "schedule")}
        words = self._compose.command(part)
        for there, instead in here.items():
            words = [word.replace(there, instead) for word in words]
        environment = self.environment(part)
        environment["PATH"] = f"{Path(sys.executable).parent}:{environment['PATH']}"
        return programs.spawn(words, log, env=environment, cwd=ROOT)

    # What they stand on ------------------------------------------------------------------------

    def _start_queue(self, log: Path) -> subprocess.Popen:
        name, *words = self._compose.command("queue")
        command = [programs.find(name), *words, "--port", str(self.ports["queue"]), "--bind", "127.0.0.1"]
        return programs.spawn(command, log, cwd=self.folder / "redis")

    def _start_nginx(self, log: Path) -> subprocess.Popen:
        folder = self.folder / "nginx"
        conf = nginx_conf(
            {
                "web:8000": f"127.0.0.1:{self.ports['web']}",
                "listen 8080": f"listen 127.0.0.1:{self.ports['nginx']}",
                "/var/lib/rushlight/media/": f"{self.home}/media/",
                "/tmp/nginx": f"{folder}/nginx",
                "worker_processes auto": "worker_processes 1",
            }
        )
        (self.folder / "nginx.conf").write_text(conf)
        command = [programs.find("nginx"), "-c", str(self.folder / "nginx.conf"), "-p", str(folder), "-e", "stderr"]
        return programs.spawn([*command, "-g", "daemon off;"], log, cwd=folder, **programs.run_as(self._nginx_user))


def main() -> None:
    with Topology() as stack:
        stack.wait_for("web")
        print(f"Rushlight is at {stack.address}/   (Ctrl-C stops it)")
        print(f"Card folders go under {stack.cards}; everything else is in {stack.folder}, logs too.")
        print(f"Metrics: curl -H 'Authorization: Bearer {stack.metrics_token}' {stack.address}/metrics")
        with suppress(KeyboardInterrupt):
            signal.pause()


if __name__ == "__main__":
    try:
        main()
    except programs.Missing as missing:
        sys.exit(str(missing))
