"""The one-machine form: a web server and a worker as children of one command, stopped together."""

import ctypes
import fcntl
import http.client
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path

from django.conf import settings

from review.refusals import Refusal
from review.work import jobs

_PR_SET_PDEATHSIG = 1
_GRACE = 5.0  # seconds to stop by itself
_MOST_REVIVALS = 5  # of one child, a minute


class Children:
    """Processes in groups of their own, so that what they start can be stopped with them."""

    def __init__(self):
        self._running: dict[str, subprocess.Popen] = {}
        self._arguments: dict[str, tuple[str, ...]] = {}
        self._revivals: dict[str, list[float]] = {}  # when; by the monotonic clock

    def start(self, name: str, *arguments: str) -> None:
        self._arguments[name] = arguments
        environment = {**os.environ, "RUSHLIGHT_HOME": str(settings.HOME)}
        environment["RUSHLIGHT_CARDS"] = os.pathsep.join(map(str, settings.CARD_ROOTS))
        self._running[name] = subprocess.Popen(
            [sys.executable, "-m", *arguments],
            cwd=settings.BASE_DIR,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,  # banners; what matters comes on stderr
            start_new_session=True,
            preexec_fn=partial(_die_with_parent, os.getpid()),
        )

    def ended(self) -> str | None:
        """The name of a child that has ended, if one has."""
        return next((name for name, child in self._running.items() if child.poll() is not None), None)

    def revive(self, name: str) -> bool:
        """Start a child that has ended again, unless that has happened too often in the last minute."""
        now = time.monotonic()
        recent = [each for each in self._revivals.get(name, ()) if now - each < 60] + [now]
        self._revivals[name] = recent
        if len(recent) > _MOST_REVIVALS:
            return False
        with suppress(ProcessLookupError):
            os.killpg(self._running[name].pid, signal.SIGKILL)  # what it started goes with it
        self.start(name, *self._arguments[name])
        return True

    def stop(self) -> None:
        """Ask, wait, then insist; nothing that they started is left."""
        for child in self._running.values():
            with suppress(ProcessLookupError):
                child.terminate()
        deadline = time.monotonic() + _GRACE
        for child in self._running.values():
            with suppress(subprocess.TimeoutExpired):
                child.wait(max(0.0, deadline - time.monotonic()))
        for child in self._running.values():
            with suppress(ProcessLookupError):
                os.killpg(child.pid, signal.SIGKILL)
            child.wait()
        self._running.clear()


def _die_with_parent(parent: int) -> None:
    """In a child of this command: when `parent` is killed outright, the kernel stops it (Linux; elsewhere nothing
    happens). One whose parent was gone before it could ask for that ends by itself."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGTERM)
    if os.getppid() != parent:
        os._exit(1)


@contextmanager
def only_one():
    """Hold the home folder: two of these on one database would both believe that they are alone."""
    settings.HOME.mkdir(parents=True, exist_ok=True)
    with open(settings.HOME / "up.lock", "w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise Refusal(f"Rushlight is running already with the home {settings.HOME}; stop it first.") from None
        yield


def check_port(host: str, port: int) -> None:
    try:
        with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((host, port))
    except (OSError, OverflowError) as problem:
        raise Refusal(f"Cannot serve on {host}:{port} ({problem}); choose another with --port.") from None


def prepare_home() -> None:
    """Folders, and every open job free and sent anew: nobody else is alive."""
    if not settings.EMBEDDED:
        raise Refusal(
            "RUSHLIGHT_QUEUE is set: with a queue of its own, the web server and the workers are started apart "
            "(see docker/compose.yaml)."
        )
    shutil.rmtree(settings.HOME / "queue", ignore_errors=True)
    make_queue()
    for folder in (settings.MEDIA_HOME, Path(settings.STATIC_ROOT)):
        folder.mkdir(parents=True, exist_ok=True)
    if settings.HOME / "cards" in settings.CARD_ROOTS:
        (settings.HOME / "cards").mkdir(exist_ok=True)
    jobs.restart()


def make_queue() -> None:
    """The folders that messages are passed in; any command may be the first to send one."""
    for name in ("messages", "control", "processed"):
        (settings.HOME / "queue" / name).mkdir(parents=True, exist_ok=True)


def start_workers(children: Children) -> None:
    """A worker with a process a core for checks and encodes, one for what somebody is looking at, and a small one that
    scans, sweeps and keeps the time."""
    quiet = ("--loglevel", "WARNING", "--without-gossip", "--without-mingle", "--without-heartbeat")
    app = ("celery", "--app", "logging_app", "--quiet", "worker")
    quick = settings.JOB_QUEUES["quick"]
    slow = [queue for queues in settings.JOB_QUEUES.values() for queue in queues if queue not in quick]
    children.start(
        "worker",
        *(*app, "--hostname", "jobs@%h", "--queues", ",".join(slow)),
        *("--concurrency", str(os.cpu_count() or 1), *quiet),
    )
    children.start(
        "quick worker", *app, "--hostname", "quick@%h", "--queues", ",".join(quick), "--pool", "solo", *quiet
    )
    children.start(
        "upkeep worker",
        *(*app, "--hostname", "upkeep@%h", "--queues", settings.UPKEEP_QUEUE, "--pool", "solo"),
        *("--beat", "--scheduler", "logging_app.steady:Steady"),
        *("--schedule", str(settings.HOME / "queue" / "schedule"), *quiet),
    )


def start_web(children: Children, host: str, port: int) -> None:
    bind = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    children.start(
        "web server",
        *("gunicorn", "logging_app.wsgi", "--bind", bind, "--worker-class", "gthread", "--workers", "2"),
        *("--threads", "16", "--timeout", "120", "--graceful-timeout", "2", "--log-level", "warning"),
    )


def wait_until_answering(children: Children, host: str, port: int) -> None:
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline:
        if ended := children.ended():
            raise Refusal(f"The {ended} did not start; its own words are above.")
        # A page, and not only a connection: the port is open before what answers on it is loaded.
        asked = http.client.HTTPConnection(host if host not in ("0.0.0.0", "::") else "127.0.0.1", port, timeout=30)
        try:
            asked.request("GET", "/sign-in/")
            asked.getresponse().read()
            return
        except (OSError, http.client.HTTPException):
            time.sleep(0.1)
        finally:
            asked.close()
    raise Refusal(f"The web server did not answer on {host}:{port} within 30 seconds.")


def until_stopped(children: Children) -> None:
    """Wait for Ctrl-C or a request to end. A child that ends by itself is started again; one that cannot stay
    up raises Refusal. Its jobs are freed by the sweep."""
    while True:
        if (ended := children.ended()) and not children.revive(ended):
            raise Refusal(f"The {ended} keeps stopping; its own words are above. Nothing is lost: start again.")
        time.sleep(0.5)


@contextmanager
def stopping(children: Children):
    """Stop the children whatever ends the block; Ctrl-C and SIGTERM end it quietly."""

    def end(signum, frame):
        raise KeyboardInterrupt

    # Set for Ctrl-C too: a shell starts its background commands with it ignored.
    before = {which: signal.signal(which, end) for which in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    except KeyboardInterrupt:
        pass
    finally:
        for which in before:  # a second Ctrl-C must not leave half of them behind
            signal.signal(which, signal.SIG_IGN)
        children.stop()
        for which, handler in before.items():
            signal.signal(which, handler)
