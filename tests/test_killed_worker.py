"""A worker is killed half-way (the house's own law 5): with a real process, its own database and a real SIGKILL."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import av

from review.media.ffmpeg import ffmpeg_binary
from tests.conftest import film

ROOT = Path(__file__).parents[1]
SET_UP = "import json, sys, django; django.setup()\n"
TAKE_IN = """
from pathlib import Path
from review import intake, people, tasks
from review.management.plainly import bring_tables_up_to_date
from review.models import Job
bring_tables_up_to_date()
production, _ = people.make_production("KB04", "Kestrel Bay", people.read_timebase("25"))
card = intake.take_in(Path(sys.argv[1]), production)
tasks.work(intake.ask_for_check(card, why="a test").id)
print(Job.objects.get(kind="proxy").id)
"""
WORK = "from review import tasks; tasks.work(int(sys.argv[1]))"
LOOK = "from review.models import Job; print(json.dumps(list(Job.objects.order_by('id').values_list('kind', 'state'))))"
START_AGAIN = """
from review import jobs, proxying
from review.models import Clip, Job
from tests.conftest import work_off
jobs.restart()
work_off()
proxying.tidy()
clip = Clip.objects.get()
print(json.dumps({"clip": clip.id, "proxy": clip.proxy_state, "attempts": Job.objects.get(kind="proxy").attempts}))
"""


def test_a_worker_killed_half_way_leaves_no_half_file_and_the_job_is_finished_by_another(tmp_path):
    """With a real process, its own database and a real SIGKILL; -re makes ffmpeg read as slowly as the clip plays."""
    home, card = tmp_path / "home", tmp_path / "cards" / "KB04-261112-A01"
    film(card / "A001C001.MOV", frames=250)
    slow = tmp_path / "slow-ffmpeg"
    slow.write_text(f'#!/bin/sh\nexec "{ffmpeg_binary()}" -re "$@"\n')
    slow.chmod(0o755)
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "logging_app.settings",
        "RUSHLIGHT_HOME": str(home),
        "RUSHLIGHT_CARDS": str(card.parent),
    }

    def start(program, *arguments, **more):
        command = [sys.executable, "-c", SET_UP + program, *arguments]
        return subprocess.Popen(command, cwd=ROOT, env=environment | more, stdout=subprocess.PIPE, text=True)

    def run(program, *arguments):
        said, _ = start(program, *arguments).communicate(timeout=60)
        return said

    job_id = run(TAKE_IN, str(card)).strip()
    worker = start(WORK, job_id, FFMPEG=str(slow))
    deadline = time.monotonic() + 20
    while not (half := list((home / "media" / "making").glob("*/proxy.mp4"))) and time.monotonic() < deadline:
        time.sleep(0.05)
    worker.send_signal(signal.SIGKILL)
    worker.wait()
    worker.stdout.close()
    assert half, "the worker had not begun"
    assert json.loads(run(LOOK)) == [["check", "done"], ["proxy", "running"]]
    assert not (home / "media" / "clips").exists()
    assert not [pid for pid in _processes() if str(home) in pid], "ffmpeg outlived its worker"

    told = json.loads(run(START_AGAIN))
    assert told == {"clip": told["clip"], "proxy": "ready", "attempts": 2}
    assert list((home / "media" / "making").iterdir()) == []
    with av.open(str(home / "media" / "clips" / str(told["clip"]) / "proxy.mp4")) as proxy:
        assert sum(1 for _ in proxy.decode(video=0)) == 250


def _processes() -> list[str]:
    """The command lines of everything that runs."""
    lines = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            lines.append(path.read_bytes().replace(b"\0", b" ").decode(errors="replace"))
        except OSError:
            continue
    return lines
