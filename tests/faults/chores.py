"""What a House's processes do, each in a fork of its own (tests/faults/nursery.py). Words and answers are JSON."""

import json
import os
import signal
import time
import uuid
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations import Migration
from django.db.migrations.loader import MigrationLoader
from django.test import Client

from review import roles, tasks
from review.crew import people, tokens
from review.custody import copies, intake
from review.derived import proxying
from review.desk import lists, stringouts
from review.management.plainly import bring_tables_up_to_date
from review.marking import selecting
from review.models import (
    Activity,
    Card,
    Clip,
    Copy,
    Findable,
    Job,
    ListEntry,
    ListExport,
    Person,
    Production,
    SeenBy,
    Select,
    SelectsList,
    WatchedRange,
)
from review.running import health
from review.work import jobs
from tests.faults import invariants
from tests.faults.clients import Marker

# The house -------------------------------------------------------------------------------------


def open_house() -> None:
    """Tables, a production and its owner."""
    bring_tables_up_to_date()
    settings.MEDIA_HOME.mkdir(parents=True, exist_ok=True)
    production, _ = people.make_production("KB04", "Kestrel Bay", people.read_timebase("25"))
    people.add_member("maren", production, roles.OWNER)


def take_in(*folders: str) -> None:
    """Take folders in, and do everything that this asks for."""
    for folder in folders:
        card = intake.take_in(folder, Production.objects.get())
        intake.ask_for_check(card, why="a test")
    work_off()


def prove_copy(folder: str) -> None:
    """Know a folder as a copy of the card of its name, and compare it."""
    copy = copies.add(Card.objects.get(name=Path(folder).name), Path(folder))
    tasks.work(copies.ask_for_proof(copy, why="a test").id)


# Jobs ------------------------------------------------------------------------------------------


def ask(kind: str) -> int:
    """Have the house lose what a job of this kind makes, and ask for it (again)."""
    card, clip = Card.objects.order_by("name").first(), Clip.objects.order_by("name").first()
    if kind == Job.Kind.CHECK:
        return intake.ask_for_check(card, why="a test").id
    if kind == Job.Kind.COPY:
        return copies.ask_for_proof(Copy.objects.exclude(folder=card.folder).get(), why="a test").id
    if kind == Job.Kind.STRINGOUT:
        if waiting := Job.objects.filter(kind=kind, state__in=jobs.OPEN).first():
            return waiting.id
        return stringouts.job_of(stringouts.ask(Person.objects.get(), SelectsList.objects.get())).id
    if kind == Job.Kind.SECTION:
        return _ask_for_section()
    if not Job.objects.filter(kind=kind, clip=clip, state__in=jobs.OPEN).exists():
        work_off()  # nobody's pictures wait for the proxy that is lost now
        _lose(clip, [proxying.PROXY] if kind == Job.Kind.PROXY else clip.filmstrip["files"])
        proxying.ask_for_proxies(card, why="a test")
    return Job.objects.get(kind=kind, clip=clip, state__in=jobs.OPEN).id


def _ask_for_section() -> int:
    long = Clip.objects.order_by("frames").last()
    if not Job.objects.filter(kind=Job.Kind.SECTION, clip=long, state__in=jobs.OPEN).exists():
        if not Job.objects.filter(kind=Job.Kind.PROXY, clip=long, state__in=jobs.OPEN).exists():
            work_off()
            _lose(long, [proxying.PROXY])
            proxying.ask_for_proxies(long.card, why="a test")
        tasks.work(Job.objects.get(kind=Job.Kind.PROXY, clip=long, state__in=jobs.OPEN).id)
    return Job.objects.filter(kind=Job.Kind.SECTION, clip=long, state__in=jobs.OPEN).latest("part").id


def _lose(clip: Clip, names: list[str]) -> None:
    for name in names:
        (proxying.media_folder(clip.id) / name).unlink(missing_ok=True)


def make_list() -> None:
    """A list of two selects, for stringouts and exports."""
    maren, clip = Person.objects.get(), Clip.objects.order_by("name").first()
    marks = [selecting.Mark(5, 30, ("gull",), "it lands"), selecting.Mark(32, 45)]
    made = [selecting.put(maren, uuid.uuid4(), clip, mark, 0) for mark in marks]
    lists.make(maren, clip.card.production, "best", [each.id for each in made])


def work(job_id: int) -> bool:
    return tasks.work(job_id)


def work_at(job_id: int, moment: float) -> bool:
    """Do a job, from this moment on: several processes do it at once."""
    Job.objects.count()  # the connection is there
    time.sleep(max(0.0, moment - time.time()))
    return tasks.work(job_id)


def work_slowly(job_id: int, rate: float = 0.0, ffmpeg: str = "") -> bool:
    """Do a job with a card that is read at `rate` megabytes a second, or with this ffmpeg."""
    settings.CHECK_RATE = rate
    if ffmpeg:
        os.environ["FFMPEG"] = ffmpeg
    return tasks.work(job_id)


def work_off() -> int:
    """Do every job that waits, and what they ask for. Returns how many."""
    done = 0
    while job := Job.objects.filter(state=Job.State.WAITING).order_by("id").first():
        done += tasks.work(job.id)
    return done


def try_to_work(job_id: int) -> str:
    """Do a job, and say what went wrong where a worker would log it."""
    try:
        tasks.work(job_id)
    except Exception as problem:
        return f"{type(problem).__name__}: {problem}"
    return ""


def empty_log() -> None:
    """Have SQLite's write-ahead log need room again; what it has taken it would go on using on a full disk."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def distrust() -> None:
    """As if the cards had just been found."""
    Card.objects.update(state=Card.State.FOUND, checked_at=None, findings=[])
    for card in Card.objects.all():
        card.files.all().delete()


def export(key: str, kind: str) -> list:
    """Ask for the list as a script does: [status, what was said]."""
    script = Client(raise_request_exception=False, headers={"Authorization": f"Token {key}"})
    answer = script.get(f"/api/v1/lists/{SelectsList.objects.get().id}/export/?as={kind}")
    return [answer.status_code, answer.content.decode()]


def page() -> list:
    """What a browser is shown: [status, page]."""
    answer = Client(raise_request_exception=False).get("/sign-in/")
    return [answer.status_code, answer.content.decode()]


def ready() -> dict:
    return {answer.name: answer.good for answer in health.look()}


def exports() -> list[str]:
    """Complaints about the exports that were kept."""
    kept = ListExport.objects.all()
    return [
        f"export {each.number} is not what it was"
        for each in kept
        if sha256(bytes(each.content)).hexdigest() != each.sha256
    ]


def forget_failed() -> None:
    """Failures that were made good."""
    Job.objects.filter(state=Job.State.FAILED).delete()


def findings() -> list[dict]:
    return [finding for card in Card.objects.all() for finding in card.findings]


def state_of(job_id: int) -> dict:
    job = Job.objects.get(id=job_id)
    return {"state": job.state, "attempts": job.attempts, "error": job.error}


def under_way() -> int:
    """How many jobs are held by a run."""
    return Job.objects.filter(state=Job.State.RUNNING).count()


def after_a_kill() -> list[str]:
    """What holds right after a worker was killed; then what the start of the one-machine form does."""
    found = invariants.complaints(at_rest=False)
    jobs.restart()
    tasks.sweep()
    return found


def at_rest() -> list[str]:
    tasks.sweep()
    return invariants.complaints(at_rest=True)


def counts() -> dict:
    """What there is of each thing."""
    states = Job.objects.values_list("kind", "state")
    return {
        "cards": dict(Card.objects.values_list("name", "state")),
        "proxies": list(Clip.objects.order_by("name").values_list("proxy_state", flat=True)),
        "copies": dict(Copy.objects.values_list("folder", "state")),
        "done": {kind: sum(each == (kind, "done") for each in states) for kind in Job.Kind.values},
        "failed": [job.error for job in Job.objects.filter(state=Job.State.FAILED)],
        "found": Activity.objects.filter(did="found").count(),
        "found a copy": Activity.objects.filter(did="found a copy of").count(),
    }


def retry_failed() -> None:
    for job in Job.objects.filter(state=Job.State.FAILED):
        jobs.retry(job)


# Many at once ----------------------------------------------------------------------------------


def scan_and_sweep(times: int, moment: float) -> None:
    """What a scheduler asks for, over and over."""
    Job.objects.count()
    time.sleep(max(0.0, moment - time.time()))
    for _ in range(times):
        tasks.scan()
        tasks.sweep()


class Inside:
    """Asks the JSON surface within this process, as a script with a token does."""

    def __init__(self, key: str):
        self._client = Client(raise_request_exception=False, headers={"Authorization": f"Token {key}"})

    def ask(self, path: str, method: str, body: dict) -> tuple[int, object]:
        answer = self._client.generic(method, path, json.dumps(body), content_type="application/json")
        return answer.status_code, json.loads(answer.content)


def mark(key: str, number: int, times: int, moment: float, patience: float | None = None) -> dict:
    """Mark a clip `times`, changing every other mark once; what is refused for a while is sent again, as the page does.
    `patience`: seconds that SQLite waits for other writers, where not those of the settings."""
    if patience is not None:
        connection.settings_dict["OPTIONS"]["timeout"] = patience
    marker = Marker(Inside(key), Clip.objects.order_by("name").first().id, most=times, tag=f"writer {number}")
    time.sleep(max(0.0, moment - time.time()))
    marker.run()
    return {
        "promised": marker.promised,
        "refused": marker.refused,
        "troubles": marker.troubles,
        "wishes": marker.wishes,
        "resent": marker.resent,
        "answers": marker.answers.total(),
    }


def complaints_of_marks(promised: dict, sent: list[str]) -> list[str]:
    return invariants.of_marks(promised, set(sent) | set(promised))


def marks_there_are() -> list[str]:
    return [str(each) for each in Select.objects.values_list("id", flat=True)]


def token() -> str:
    return tokens.issue(Person.objects.get(), "a test", tokens.Scope.WRITE)[1]


def first_clip() -> tuple[int, int]:
    """It, and its card."""
    clip = Clip.objects.order_by("name").first()
    return clip.id, clip.card_id


# Tables ----------------------------------------------------------------------------------------

OLD = "0004_looked_at"


def fill_old_tables() -> None:
    """The tables as they were some versions ago, with a clip that was marked and watched, and a list."""
    bring_tables(OLD)
    old = MigrationLoader(connection).project_state(("review", OLD)).apps.get_model
    person = old("review", "Person").objects.create(username="maren", is_active=True)
    production = old("review", "Production").objects.create(
        code="KB04", title="Kestrel Bay", rate_numerator=25, rate_denominator=1
    )
    card = old("review", "Card").objects.create(
        production=production, name="KB04-261112-A01", folder="/nowhere", reel="61112A01", state="verified"
    )
    kept = {
        "rate_numerator": 25,
        "rate_denominator": 1,
        "drop": False,
        "channels": 2,
        "frames": 500,
        "start_frame": 900_000,
        "probe": {},
        "files": [],
    }
    made = []
    for number in range(20):
        clip = old("review", "Clip").objects.create(card=card, name=f"A{number:03}", kind="video", **kept)
        for first in range(0, 200, 20):
            select = old("review", "Select").objects.create(
                id=uuid.uuid4(), clip=clip, in_frame=first, out_frame=first + 9, note=f"gull {first}", logger=person
            )
            old("review", "WatchedRange").objects.create(
                clip=clip, person=person, manner="watched", in_frame=first, out_frame=first + 15
            )
            made.append(select)
    best = old("review", "SelectsList").objects.create(production=production, name="best", made_by=person)
    old("review", "ListEntry").objects.create(list=best, select=made[0], position=0)


def bring_tables(to: str = "", dies_after: str = "") -> None:
    """Migrate; `dies_after` kills this process when that migration's transaction has ended."""
    settings.HOME.mkdir(parents=True, exist_ok=True)
    if dies_after:
        told = BaseDatabaseSchemaEditor.__exit__

        def end(editor, *why):
            told(editor, *why)
            if dies_after in editor.connection.doing:
                os.kill(os.getpid(), signal.SIGKILL)

        BaseDatabaseSchemaEditor.__exit__ = end
        doing = Migration.apply

        def begin(migration, *words, **more):
            connection.doing = migration.name
            return doing(migration, *words, **more)

        Migration.apply = begin
    call_command("migrate", *(["review", to] if to else []), interactive=False, verbosity=0)


def steps() -> list[str]:
    """The names of the migrations after OLD."""
    return sorted(name for app, name in MigrationLoader(None).disk_migrations if app == "review" and name > OLD)


def schema() -> list[str]:
    """Every table, column, index and rule that there is, in words."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL")
            return sorted(row[0] for row in cursor.fetchall())
        found = []
        for question in (
            "SELECT table_name, column_name, data_type, is_nullable FROM information_schema.columns "
            "WHERE table_schema = 'public'",
            "SELECT tablename, indexdef FROM pg_indexes WHERE schemaname = 'public'",
            "SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid) FROM pg_constraint "
            "WHERE conrelid != 0",
        ):
            cursor.execute(question)
            found += [" ".join(row) for row in cursor.fetchall() if not row[0].startswith(("pg_", "sql_"))]
        return sorted(found)


def rows() -> dict[str, int]:
    """How many there are of what was there before, and of what is derived from it."""
    kinds = (Production, Person, Card, Clip, Select, WatchedRange, SeenBy, SelectsList, ListEntry, Findable)
    tasks.findables.catch_up()
    return {kind.__name__: kind.objects.count() for kind in kinds}


def integrity() -> list:
    """What the database itself says of itself; nothing is good."""
    if connection.vendor != "sqlite":
        return []
    with connection.cursor() as cursor:
        told = [row[0] for row in cursor.execute("PRAGMA integrity_check").fetchall()]
        return [*(each for each in told if each != "ok"), *cursor.execute("PRAGMA foreign_key_check").fetchall()]
