"""A worker's process without its starting time: Django is set up once, and each chore runs in a fork of it, as the jobs
of a Celery worker do. A chore is a function of tests/faults/chores.py.

    python -m tests.faults.nursery      reads orders as JSON lines, and answers each with a process id
"""

import json
import os
import signal
import sys
import traceback
from importlib import import_module
from pathlib import Path

import django


def main() -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "logging_app.settings"
    django.setup()
    from review.media import sections
    from tests.faults import chores

    import_module("logging_app.urls")  # every view, once for all forks
    sections.plan.__defaults__ = (2, 3)  # seconds: long clips would take long
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # the kernel buries them
    for line in sys.stdin:
        order = json.loads(line)
        child = os.fork()
        if child == 0:
            _do(getattr(chores, order["chore"]), order["words"], Path(order["reply"]))
        print(child, flush=True)


def _do(chore, words: list, reply: Path) -> None:
    """Run a chore, write what it returns, and end this process whatever happens."""
    code = 1
    try:
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        os.setsid()
        nowhere = os.open(os.devnull, os.O_RDWR)
        os.dup2(nowhere, 0)
        os.dup2(nowhere, 1)
        try:
            said = {"said": chore(*words)}
            code = 0
        except BaseException:
            said = {"trouble": traceback.format_exc()}
        half = reply.with_suffix(".half")
        half.write_text(json.dumps(said))
        half.replace(reply)
    finally:
        os._exit(code)


if __name__ == "__main__":
    main()
