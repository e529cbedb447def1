"""Fifty loggers at once, and more, until it is too much: against the whole stack, or against the one-machine form.

    .venv-tests/bin/python -m tests.bench.bench_load stack [--loggers 10,25,50,75,100] [--seconds 60]
    .venv-tests/bin/python -m tests.bench.bench_load embedded --loggers 10

fills a database with 60,000 clips, 500,000 selects and 2,000,000 watched ranges (--size team: fewer), starts what
answers, and drives it with simulated loggers (loggers.py). --database names a PostgreSQL that is filled already, --home
a home whose SQLite is (tests.bench.room fills them); what the loggers do stays in those. Everything is on this one
machine: the loggers take their share of its processors, which is said beside the times.
"""

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from urllib.request import Request, urlopen

from tests.bench.loggers import WARM
from tests.bench.ranged import compare_reads
from tests.stack import programs
from tests.stack.topology import ROOT, Topology

TOO_LONG = 300.0  # ms of the 95th percentile: the knee
FILES, BYTES = 10, 32 << 20  # of proxies: of noise, as only their bytes matter
CLIPS_EACH = 6  # of each logger


def in_django(code: str, environment: dict[str, str], *words: str) -> str:
    """Run a few lines with the site's settings; what they printed."""
    begin = "import django, json, sys; django.setup()\n"
    environment = environment | {"DJANGO_SETTINGS_MODULE": "logging_app.settings"}
    command = [sys.executable, "-c", begin + code, *words]
    return subprocess.run(command, env=environment, cwd=ROOT, check=True, capture_output=True, text=True).stdout


PEOPLE = """
from importlib import import_module
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from review.models import Clip, Job, Person, Production
many, each = int(sys.argv[1]), int(sys.argv[2])
Job.objects.exclude(state="done").update(state="done")  # there are no cards to do them on
store, people = import_module(settings.SESSION_ENGINE).SessionStore, []
production = Production.objects.get(code="KB04")
clips = list(Clip.objects.filter(card__production=production).order_by("id").values("id", "frames"))
known = list(Person.objects.filter(username__startswith="logger").order_by("id"))
for at in range(many):
    person, session = known[at % len(known)], store()
    session.update({SESSION_KEY: str(person.pk), BACKEND_SESSION_KEY: "django.contrib.auth.backends.ModelBackend",
                    HASH_SESSION_KEY: person.get_session_auth_hash(), "production": "KB04"})
    session.create()
    mine = [clips[(at * 577 + step * 31) % len(clips)] for step in range(each)]
    people.append({"session": session.session_key, "clips": mine})
print(json.dumps(people))
"""
FOUND = """
from review.models import Select
marks = json.load(sys.stdin)
print(sum(Select.objects.filter(id__in=marks[at:at + 500], deleted=None).count() for at in range(0, len(marks), 500)))
"""


def people(environment: dict[str, str], many: int, media: Path) -> list[dict]:
    """Signed-in loggers with clips of their own, whose proxies are there."""
    media.mkdir(parents=True, exist_ok=True)
    files = []
    for at in range(FILES):
        file = media / f"noise-{at}"
        if not file.exists():
            file.write_bytes(random.Random(at).randbytes(BYTES))
        files.append(file)
    found = json.loads(in_django(PEOPLE, environment, str(many), str(CLIPS_EACH)))
    for person in found:
        person["csrf"] = "b" * 32
        person["cookies"] = f"sessionid={person.pop('session')}; csrftoken={person['csrf']}"
        for clip in person["clips"]:
            folder = media / "clips" / str(clip["id"])
            folder.mkdir(parents=True, exist_ok=True)
            (folder / "proxy.mp4").unlink(missing_ok=True)
            os.link(files[clip["id"] % FILES], folder / "proxy.mp4")
            clip["bytes"] = BYTES
    return found


# Driving ----------------------------------------------------------------------------------------


def busy() -> tuple[float, float]:
    """Seconds that all processors of the machine have worked, and that they could have."""
    ticks = [int(each) for each in Path("/proc/stat").read_text().split("\n")[0].split()[1:9]]
    return (sum(ticks) - ticks[3] - ticks[4]) / os.sysconf("SC_CLK_TCK"), sum(ticks) / os.sysconf("SC_CLK_TCK")


def worked_by(roots: list[int]) -> float:
    """Seconds of processor time that these processes and all below them have worked, as far as they still run."""
    below: dict[int, list[int]] = {}
    ticks: dict[int, int] = {}
    for folder in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            facts = (folder / "stat").read_text().rpartition(")")[2].split()
            below.setdefault(int(facts[1]), []).append(int(folder.name))
            ticks[int(folder.name)] = int(facts[11]) + int(facts[12])
    total, left = 0, [*roots]
    while left:
        one = left.pop()
        total += ticks.get(one, 0)
        left += below.get(one, [])
    return total / os.sysconf("SC_CLK_TCK")


def drive(address: str, some: list[dict], seconds: float, servers: list[int]) -> dict:
    """What came of the loggers working for so long, and how busy that kept whom once all had come."""
    plan = json.dumps({"address": address, "people": some, "seconds": seconds})
    command = [sys.executable, "-m", "tests.bench.loggers"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT) as loggers:
        loggers.stdin.write(plan)
        loggers.stdin.close()
        time.sleep(WARM)
        (worked, could), ours = busy(), worked_by(servers)
        time.sleep(seconds)
        (worked_then, could_then), ours_then = busy(), worked_by(servers)
        result = json.loads(loggers.stdout.read())
    machine = (worked_then - worked) / (could_then - could)
    return result | {"machine": machine, "servers": ours_then - ours}


def percentile(times: list[float], share: float) -> float:
    return sorted(times)[min(len(times) - 1, int(share * len(times)))]


def report(many: int, result: dict, found: int) -> float:
    """Print what a number of loggers met; the 95th percentile of all requests."""
    kinds: dict[str, list[float]] = {}
    for kind, ms in result["times"]:
        kinds.setdefault(kind, []).append(ms)
    seconds, everything = result["seconds"], [ms for times in kinds.values() for ms in times]
    counted = result["counted"]
    print(f"\n**{many} loggers**, {counted:.0f} s: {len(everything) / counted:.1f} requests a second\n")
    print("| request | how many | median, ms | 95th | 99th |\n| --- | ---: | ---: | ---: | ---: |")
    for kind, times in [*sorted(kinds.items()), ("all", everything)]:
        shares = " | ".join(f"{percentile(times, share):.0f}" for share in (0.5, 0.95, 0.99))
        print(f"| {kind} | {len(times)} | {shares} |")
    servers = result["servers"]
    print(
        f"\nMarks sent {len(result['marks'])}, found {found}; faults {len(result['faults'])}. What answers took "
        f"{100 * servers / counted:.0f} % of one processor, {1000 * servers / len(everything):.0f} ms a request; "
        f"the loggers themselves {100 * result['cpu'] / seconds:.0f} %; the machine was "
        f"{100 * result['machine']:.0f} % busy with everything, its load {os.getloadavg()[0]:.1f}.",
        flush=True,
    )
    for fault in result["faults"][:3]:
        print(f"  {fault}")
    return percentile(everything, 0.95)


def ramp(
    address: str, environment: dict[str, str], media: Path, given: argparse.Namespace, servers: list[int]
) -> list[dict]:
    """Ever more loggers, until the 95th percentile of all requests is past TOO_LONG. Returns the people."""
    steps, seconds = given.loggers, given.seconds
    everybody, reached, sent, there = people(environment, max(steps), media), None, 0, 0
    for many in steps:
        result = drive(address, everybody[:many], seconds, servers)
        code = {"env": environment | {"DJANGO_SETTINGS_MODULE": "logging_app.settings"}, "cwd": ROOT, "text": True}
        begin = "import django, json, sys; django.setup()\n"
        asked = subprocess.run([sys.executable, "-c", begin + FOUND], input=json.dumps(result["marks"]), check=True,
                               capture_output=True, **code)  # fmt: skip
        found = int(asked.stdout)
        sent, there = sent + len(result["marks"]), there + found
        if report(many, result, found) > TOO_LONG:
            reached = reached or many
            if not given.past:
                break
    print(f"\nOf {sent} marks {there} were found. The 95th percentile passed {TOO_LONG:.0f} ms at "
          f"{f'{reached} loggers' if reached else f'more than {max(steps)} loggers'}.")  # fmt: skip
    return everybody


# The two forms ----------------------------------------------------------------------------------


def fill(environment: dict[str, str], size: str) -> None:
    subprocess.run([sys.executable, "-m", "tests.bench.room", size], env=environment, cwd=ROOT, check=True)


def on_stack(given: argparse.Namespace, folder: Path) -> None:
    rare = {"RUSHLIGHT_SCAN_EVERY": "3600"}  # there is nothing to scan
    with Topology(**rare, **({"RUSHLIGHT_DATABASE": given.database} if given.database else {})) as stack:
        environment, media = stack.environment("web"), stack.home / "media"
        if not given.database:
            fill(environment, given.size)
        servers = [program.pid for program in stack.running.values()]
        everybody = ramp(stack.address, environment, media, given, servers)
        compare_reads(stack.address, everybody[0], media, folder / "nginx")


def on_one_machine(given: argparse.Namespace, folder: Path) -> None:
    home, port = Path(given.home or folder / "home"), programs.free_ports(1)[0]
    home.mkdir(parents=True, exist_ok=True)
    kept = {name: value for name, value in os.environ.items() if not name.startswith("RUSHLIGHT_")}
    environment = kept | {"RUSHLIGHT_HOME": str(home), "RUSHLIGHT_SCAN_EVERY": "3600"}
    manage = [sys.executable, str(ROOT / "manage.py")]
    subprocess.run([*manage, "migrate", "--noinput", "--verbosity", "0"], env=environment, check=True)
    if not given.home:
        fill(environment, given.size)
    everybody = people(environment, max(given.loggers), home / "media")  # before it starts: it ends the jobs
    program = programs.spawn([*manage, "up", "--port", str(port)], folder / "log", env=environment)
    try:
        address, deadline = f"http://127.0.0.1:{port}", time.monotonic() + 90
        while not _answers(address):
            if time.monotonic() > deadline:
                raise TimeoutError((folder / "log").read_text()[-2000:])
            time.sleep(0.5)
        everybody = ramp(address, environment, home / "media", given, [program.pid])
        compare_reads(address, everybody[0], home / "media", folder / "nginx")
    finally:
        programs.ask_to_stop(program)
        programs.ended(program)


def _answers(address: str) -> bool:
    try:
        with urlopen(Request(f"{address}/healthz"), timeout=5) as answer:
            return answer.status == 200
    except OSError:
        return False


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("form", choices=["stack", "embedded"])
    words.add_argument("--loggers", type=lambda text: [int(each) for each in text.split(",")], default=None)
    words.add_argument("--seconds", type=float, default=60)
    words.add_argument("--size", default="series")
    words.add_argument("--past", action="store_true", help="go on when it is too much")
    words.add_argument("--database", help="the URL of a PostgreSQL that is filled already")
    words.add_argument("--home", help="a home whose SQLite is filled already")
    given = words.parse_args()
    given.loggers = given.loggers or ([10] if given.form == "embedded" else [10, 25, 50, 75, 100, 150, 200])
    folder = Path(tempfile.mkdtemp(prefix="rushlight-load-"))
    folder.chmod(0o755)
    try:
        (on_stack if given.form == "stack" else on_one_machine)(given, folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
