"""Starting, finding and ending the system's programs."""

import os
import pwd
import shutil
import signal
import socket
import subprocess
from contextlib import ExitStack, suppress
from pathlib import Path

GRACE = 10.0  # seconds to stop by itself


class Missing(Exception):
    """A program of the stack is not installed."""


def find(name: str) -> str:
    """Where a program is; Debian keeps PostgreSQL's out of the way, by version."""
    versions = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), key=lambda path: int(path.parts[4]))
    found = str(versions[-1]) if versions else shutil.which(name, path=f"{os.environ['PATH']}:/usr/sbin")
    if not found:
        raise Missing(f"{name} is not installed: apt-get install postgresql redis-server nginx-light")
    return found


def another(name: str) -> str | None:
    """The user that a program runs as when we are root, which PostgreSQL and nginx's containers are not."""
    return name if os.getuid() == 0 else None


def owned(folder: Path, user: str | None) -> Path:
    """Make a folder that this user alone may enter."""
    folder.mkdir(mode=0o700)
    if user:
        os.chown(folder, pwd.getpwnam(user).pw_uid, -1)
    return folder


def run_as(user: str | None) -> dict:
    """The arguments with which subprocess takes on a user and the user's own group."""
    return {"user": user, "group": pwd.getpwnam(user).pw_gid, "extra_groups": []} if user else {}


def spawn(command: list[str], log: Path, **how) -> subprocess.Popen:
    """Start a program in a group of its own, so that all its processes can be ended with it."""
    with log.open("ab") as file:
        return subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=file, stderr=subprocess.STDOUT, start_new_session=True, **how
        )


def ask_to_stop(program: subprocess.Popen, which: signal.Signals = signal.SIGTERM) -> None:
    with suppress(ProcessLookupError):
        program.send_signal(which)


def ended(program: subprocess.Popen) -> None:
    """Wait until a program that was asked to stop has, then insist."""
    with suppress(subprocess.TimeoutExpired):
        program.wait(GRACE)
    destroy(program)


def destroy(program: subprocess.Popen) -> None:
    """End a program and its processes as a power cut would."""
    with suppress(ProcessLookupError):
        os.killpg(program.pid, signal.SIGKILL)
    program.wait()


def free_ports(count: int) -> list[int]:
    """Ports of loopback that nothing listens on, all different."""
    with ExitStack() as held:
        sockets = [held.enter_context(socket.socket()) for _ in range(count)]
        for each in sockets:
            each.bind(("127.0.0.1", 0))
        return [each.getsockname()[1] for each in sockets]
