"""A backup: one file, of one moment, from either kind of database into either."""

import json
import os
import subprocess
import sys
import threading
import uuid
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper

from review.desk import lists
from review.marking import selecting
from review.models import Activity, Card, Clip, Job, Select, Tag
from review.record import seen_sums
from review.refusals import Refusal
from review.running import backing_up
from tests.conftest import PASSWORD
from tests.stack import cluster

ROOT = Path(__file__).parents[2]
MOMENT = datetime(2026, 11, 12, 9, 30, 0, 123457, tzinfo=UTC)


@pytest.fixture
def connecting(monkeypatch):
    """Django's tests connect to the databases that the settings name only; a backup makes connections of its own."""
    real = BaseDatabaseWrapper.ensure_connection

    def ensure(self):
        if self.alias in ("snapshot", "scratch") and self.connection is None:
            with self.wrap_database_errors:
                self.connect()
        else:
            real(self)

    monkeypatch.setattr(BaseDatabaseWrapper, "ensure_connection", ensure)


@pytest.fixture
def house(transactional_db, connecting, cast, make_clip, tmp_path, settings):
    """A production with what is hard to carry: fractions of a second, words in every script, JSON, many to many."""
    settings.HOME.mkdir(exist_ok=True)
    clip = make_clip("A001C001", probe={"tags": {"título": "Ñandú 🐦", "n": [1, 2.5, None, True]}, "b": 1, "a": 2})
    Card.objects.update(checked_at=MOMENT, folder="/mnt/rushes/a 'quoted'\n\"name\"")
    mark = selecting.Mark(5, 20, ("gull", "sea"), "Lands — 海鷗 — on the rail.\nThen\u2028leaves", 4)
    select = selecting.put(cast.logger, uuid.uuid4(), clip, mark, 0)
    lists.make(cast.editor, cast.kb04, "best", [select.id])
    clip.watched_ranges.create(person=cast.logger, manner="watched", in_frame=5, out_frame=20)
    seen_sums.keep(clip, seen_sums.seen_of(clip))
    Job.objects.create(kind="check", card=clip.card, state="running", claim=uuid.uuid4(), sent_at=MOMENT, why="a test")
    return cast


def contents(path: Path) -> dict[str, tuple]:
    manifest = json.loads(zipfile.ZipFile(path).read("manifest.json"))
    return {table["label"]: (table["rows"], table["sha256"]) for table in manifest["tables"]}


def lose_everything() -> None:
    call_command("flush", interactive=False, verbosity=0)


def test_what_was_written_down_comes_back(house, tmp_path):
    select, before = Select.objects.get(), tmp_path / "before.zip"
    made = backing_up.back_up(before)
    assert made.rows > 20 and before.stat().st_mode & 0o777 == 0o600
    lose_everything()
    assert not Select.objects.exists()
    backing_up.restore(before)
    again = Select.objects.get()
    assert (again.id, again.note, sorted(again.tags.values_list("name", flat=True))) == (
        select.id,
        "Lands — 海鷗 — on the rail.\nThen\u2028leaves",
        ["gull", "sea"],
    )
    assert Card.objects.get().checked_at == MOMENT  # to the microsecond
    assert Select.objects.get().created == select.created  # not the day of the restore
    assert Clip.objects.get().probe["tags"]["n"] == [1, 2.5, None, True]
    assert house.logger.__class__.objects.get(username="logger").check_password(PASSWORD)
    # numbers go on where they were, and whoever did a job is gone
    assert Tag.objects.create(production=house.kb04, name="net").id > max(
        Tag.objects.exclude(name="net").values_list("id", flat=True)
    )
    job = Job.objects.get()
    assert (job.state, job.claim, job.sent_at) == ("waiting", None, None)


ELSEWHERE = """
import sys, django
django.setup()
from pathlib import Path
from review.crew import people
from review.running import backing_up
from review.work import jobs
jobs.begin_anew = lambda: None  # the job is left as it was, so that everything can be compared
backing_up.restore(Path(sys.argv[1]))
backing_up.back_up(Path(sys.argv[2]))
people.make_production("NR09", "Another", people.read_timebase("25"))
"""


def test_it_goes_to_the_other_kind_of_database_and_back_unchanged(house, tmp_path, monkeypatch):
    """SQLite, PostgreSQL, SQLite, or the other way round when the tests run on PostgreSQL."""
    here, there, back = (tmp_path / name for name in ("here.zip", "there.zip", "back.zip"))
    backing_up.back_up(here)
    if connection.vendor == "sqlite":
        with cluster.throwaway() as other:
            do_elsewhere(tmp_path, here, there, RUSHLIGHT_DATABASE=other.url)
    else:
        do_elsewhere(tmp_path, here, there)
    assert contents(there) == contents(here)
    monkeypatch.setattr("review.work.jobs.begin_anew", lambda: None)
    backing_up.restore(there, replace=True)
    backing_up.back_up(back)
    assert contents(back) == contents(here)


def do_elsewhere(tmp_path, here, there, **variables):
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "logging_app.settings",
        "RUSHLIGHT_HOME": str(tmp_path / "other"),
    }
    (tmp_path / "other").mkdir()
    command = [sys.executable, "-c", ELSEWHERE, here, there]
    done = subprocess.run(command, cwd=ROOT, env=environment | variables, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_it_is_of_one_moment_and_holds_nobody_up(house, tmp_path, monkeypatch):
    """Somebody marks all the while: each mark is in it whole (select, tags, what happened), or not at all."""
    clip, ended, written, slowest = Clip.objects.get(), threading.Event(), [], []

    def mark():
        while not ended.is_set():
            began = datetime.now()
            written.append(
                selecting.put(house.logger, uuid.uuid4(), clip, selecting.Mark(1, 9, ("gull",), "x" * 50), 0)
            )
            slowest.append((datetime.now() - began).total_seconds())
        connection.close()

    someone = threading.Thread(target=mark)
    someone.start()
    real = backing_up.lines

    def slowly(model, alias):
        before = len(written)
        yield from real(model, alias)
        while model in (Select, Tag, Card) and len(written) < before + 3 and someone.is_alive():
            ended.wait(0.01)  # three more marks, while this table is being read

    monkeypatch.setattr(backing_up, "lines", slowly)
    try:
        made = backing_up.back_up(tmp_path / "while.zip")
    finally:
        ended.set()
        someone.join()
    rows = {table.label: table.rows for table in made.tables}
    assert len(written) >= 9 and 1 <= rows["review.select"] <= Select.objects.count() - 9 + 3
    assert rows["review.select_tags"] == rows["review.select"] + 1  # the first has two
    assert max(slowest) < 5
    backing_up.restore(tmp_path / "while.zip", replace=True)
    assert Select.objects.count() == rows["review.select"]


def test_the_command_checks_what_it_wrote(house, tmp_path, capsys):
    call_command("backup", str(tmp_path / "a.zip"), "--check")
    said = capsys.readouterr().out
    assert "Checked: restored into a scratch database, every table came out the same." in said
    assert sorted(path.name for path in tmp_path.glob("*.zip*")) == ["a.zip"]
    assert not list(tmp_path.glob(".*.part"))
    with pytest.raises(CommandError, match=r"a\.zip is there already; give another name"):
        call_command("backup", str(tmp_path / "a.zip"))


def test_a_check_changes_nothing_in_the_house(house, tmp_path):
    backing_up.back_up(tmp_path / "before.zip")
    call_command("backup", str(tmp_path / "a.zip"), "--check")
    backing_up.back_up(tmp_path / "after.zip")
    assert contents(tmp_path / "after.zip") == contents(tmp_path / "before.zip")


def test_a_database_that_holds_something_is_not_written_over(house, tmp_path):
    path = tmp_path / "a.zip"
    backing_up.back_up(path)
    Card.objects.update(layout="changed")
    with pytest.raises(CommandError, match=r"The database is not empty\. Restore into a new one, or give --replace"):
        call_command("restore", str(path))
    assert Card.objects.get().layout == "changed"
    call_command("restore", str(path), "--replace")
    assert Card.objects.get().layout != "changed"
    assert Activity.objects.exists()


def changed(path: Path, member: str, change) -> Path:
    """A copy of a backup in which one member is another; None leaves it out."""
    other = path.with_name("changed.zip")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(other, "w") as new:
        for name in old.namelist():
            content = change(old.read(name)) if name == member else old.read(name)
            if content is not None:
                new.writestr(name, content)
    return other


def in_the_manifest(**changes):
    return "manifest.json", lambda content: json.dumps(json.loads(content) | changes)


SELECTS = "tables/review.select.jsonl"


DAMAGE = [
    (SELECTS, lambda rows: rows.replace(b"Lands", b"Lends"), "cannot be put back .its rows are not those"),
    (SELECTS, lambda rows: b"", "its rows are not those that were written"),
    (SELECTS, lambda rows: b"[1]\n", "does not have the table's columns"),
    (SELECTS, lambda rows: rows[:-1], "has no end"),
    (SELECTS, lambda rows: None, "is damaged"),
    (*in_the_manifest(form=2), "of a form .2. that this Rushlight does not know"),
    (
        *in_the_manifest(migrations=[["review", "9999_later"]], version="7.0"),
        "by Rushlight 7.0, and this one cannot make its tables",
    ),
    (*in_the_manifest(migrations=[["review", "0001_initial"]]), "tables are newer than the backup's"),
    (*in_the_manifest(tables=[]), "does not hold the tables that its own manifest says"),
    ("manifest.json", lambda content: b"{}", "no manifest that can be read"),
    ("manifest.json", lambda content: None, "no manifest that can be read"),
]


def test_what_is_not_whole_is_refused_and_changes_nothing(house, tmp_path):
    path = tmp_path / "a.zip"
    backing_up.back_up(path)
    for member, change, words in DAMAGE:
        with pytest.raises(Refusal, match=words):
            backing_up.restore(changed(path, member, change), replace=True)
        assert Select.objects.get().note.startswith("Lands"), words


def test_a_file_that_is_no_backup_is_refused(transactional_db, tmp_path):
    (tmp_path / "a.zip").write_bytes(b"PK\x03\x04 not a zip")
    with pytest.raises(CommandError, match=r"a\.zip is no backup: it cannot be opened, or is cut short"):
        call_command("restore", str(tmp_path / "a.zip"))
    with pytest.raises(CommandError, match=r"b\.zip: No such file or directory"):
        call_command("restore", str(tmp_path / "b.zip"))
