"""The commands, as people and scripts use them."""

import csv
import json
import os
import subprocess
import sys
import uuid
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from rest_framework.test import APIClient

from review.crew import access
from review.desk import lists
from review.marking import selecting
from review.models import Card, Job, Person, Production
from tests.conftest import film

MANAGE = Path(__file__).parents[2] / "manage.py"
NAME = "KB04-261112-A01"


@pytest.fixture
def manage(capsys):
    """manage("intake", …) -> what the command printed."""

    def run(*words):
        call_command(*words)
        return capsys.readouterr().out

    return run


@pytest.fixture
def a_list(cast, a_clip):
    select = selecting.put(cast.logger, uuid.uuid4(), a_clip, selecting.Mark(5, 20, ("gull",)), 0)
    return lists.make(cast.editor, cast.kb04, "Day 1: best", [select.id])


@pytest.mark.parametrize(
    "name", ["demo", "up", "production", "member", "intake", "export", "seal", "recheck", "backup", "restore"]
)
def test_every_command_explains_itself(name, capsys):
    with pytest.raises(SystemExit) as ended:
        call_command(name, "--help")
    assert ended.value.code == 0
    assert f"{name} [-h]" in capsys.readouterr().out


# production and member -------------------------------------------------------------------------


def test_a_production_is_made_and_changed(db, manage):
    said = manage("production", "KB04", "Kestrel Bay", "--rate", "29.97DF")
    assert said.splitlines() == [
        "Made KB04 Kestrel Bay at 29.97 frames a second drop-frame.",
        "Next: manage.py member NAME --production KB04 --role owner",
    ]
    assert str(Production.objects.get().timebase.rate) == "29.97" and Production.objects.get().drop
    said = manage("production", "KB04", "Gull Rock")  # the rate stays
    assert said == "Changed KB04 Gull Rock at 29.97 frames a second drop-frame.\n"
    assert manage("production", "KB05", "Sea").startswith("Made KB05 Sea at 25 frames a second.\n")


@pytest.mark.parametrize(
    ("words", "refusal"),
    [
        (("kb4", "Title"), "'kb4' is not a production code"),
        (("KB04", " "), "needs a title"),
        (("KB04", "Title", "--rate", "24.5"), "24.500 frames a second is not a standard rate"),
        (("KB04", "Title", "--rate", "25DF"), "there is no drop-frame timecode at 25"),
    ],
)
def test_a_production_that_cannot_be_is_refused(db, manage, words, refusal):
    with pytest.raises(CommandError, match=refusal) as error:
        manage("production", *words)
    assert "\n" not in str(error.value)


def test_a_members_password_signs_in(cast, manage):
    password = manage("member", "maya", "--production", "kb04", "--role", "media-manager").strip()
    person = Person.objects.get(username="maya")
    assert person.check_password(password)
    assert access.roles_in(person, cast.kb04) == {"media manager"}
    again = manage("member", "maya", "--production", "KB04", "--role", "logger").strip()
    person.refresh_from_db()
    assert person.check_password(again)
    assert access.roles_in(person, cast.kb04) == {"media manager", "logger"}


def test_a_members_token_reads_the_api(cast, manage):
    token = manage("member", "robot", "--production", "KB04", "--role", "logger", "--token").strip()
    script = APIClient()
    script.credentials(HTTP_AUTHORIZATION=f"Token {token}")
    assert script.get("/api/v1/productions/").json()["results"][0]["code"] == "KB04"


@pytest.mark.parametrize(
    ("words", "refusal"),
    [
        (("maya", "--production", "ZZ99", "--role", "logger"), "no production 'ZZ99' .there is: KB04, NR07."),
        (("maya", "--production", "KB04", "--role", "boss"), "'boss' is not a role; the roles are"),
        (("maya b", "--production", "KB04", "--role", "logger"), "A sign-in name is letters"),
    ],
)
def test_a_member_that_cannot_be_is_refused(cast, manage, words, refusal):
    with pytest.raises(CommandError, match=refusal):
        manage("member", *words)


# intake ----------------------------------------------------------------------------------------


def test_intake_waits_and_reports(cast, root, manage):
    film(root / NAME / "A001C001.MOV")
    (card,) = json.loads(manage("intake", str(root / NAME), "--production", "KB04", "--wait", "--json"))
    (clip,) = card.pop("clips")
    assert [finding["code"] for finding in card.pop("findings")] == ["no-checksums"]
    wipe, (copy,) = card.pop("wipe"), card.pop("copies")
    assert wipe["may"] is False and "nothing made from the camera's own card" in wipe["line"]
    assert (copy["state"], copy["folder"]) == ("same", str(root / NAME))
    assert card == {
        "card": NAME,
        "production": "KB04",
        "folder": str(root / NAME),
        "state": "verified",
        "proof": "none",
        "layout": "Video files",
        "reel": "61112A01",
        "files": 1,
        "bytes": (root / NAME / "A001C001.MOV").stat().st_size,
        "manifests": [],
    }
    assert (clip["name"], clip["frames"], clip["rate"], clip["start"]) == ("A001C001", 50, "25", "10:00:00:00")
    assert (clip["proxy"], clip["proxy_problem"]) == ("ready", "")
    assert not Job.objects.exclude(state="done").exists()


def test_intake_says_it_in_words_too(cast, root, manage):
    film(root / NAME / "A001C001.MOV")
    said = manage("intake", str(root / NAME), "--production", "KB04", "--wait")
    assert said.startswith("KB04-261112-A01: verified (no checksums came: read through once, not proven)\n  caution: ")
    assert "\n  May this card be wiped? Not yet, because " in said
    assert said.endswith("Rushlight never wipes anything and has only counted copies.\n")


def test_intake_of_a_second_folder_of_a_card_proves_the_copy(cast, root, manage):
    film(root / NAME / "A001C001.MOV")
    film(root / "copies" / NAME / "A001C001.MOV")
    manage("intake", str(root / NAME), "--production", "KB04", "--wait")
    said = manage("intake", str(root / "copies" / NAME), "--production", "KB04", "--wait")
    assert f"the same, byte for byte ({root / 'copies' / NAME})" in said


def test_intake_of_a_card_that_is_held_ends_with_3(cast, root, capsys):
    film(root / NAME / "A001C001.MOV")
    (root / "KB04-261112-A02").mkdir()
    (root / "KB04-261112-A02" / "A.MOV").write_text("not footage\x1b[2J")
    with pytest.raises(SystemExit) as ended:
        call_command("intake", *map(str, sorted(root.iterdir())), "--production", "KB04", "--wait", "--json")
    assert ended.value.code == 3
    states = {card["card"]: card["state"] for card in json.loads(capsys.readouterr().out)}
    assert states == {NAME: "verified", "KB04-261112-A02": "held"}


def test_intake_without_waiting_leaves_the_work_to_a_worker(cast, root, manage):
    film(root / NAME / "A001C001.MOV")
    assert manage("intake", str(root / NAME), "--production", "KB04") == "KB04-261112-A01: found\n"
    assert Job.objects.get().why == "manage.py intake"


def test_intake_refuses_all_before_it_begins_any(cast, root, tmp_path, manage):
    film(root / NAME / "A001C001.MOV")
    with pytest.raises(CommandError, match="is not under a card root"):
        manage("intake", str(root / NAME), str(tmp_path), "--production", "KB04")
    assert not Card.objects.exists()


# export ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["edl", "csv", "otio"])
def test_export_writes_the_file(a_list, tmp_path, manage, kind):
    said = manage("export", "Day 1: best", "--format", kind, "--output", str(tmp_path / "new" / "folder"))
    written = Path(said.strip())
    assert written == tmp_path / "new" / "folder" / f"Day 1- best.{kind}"
    assert written.read_bytes() == lists.export(a_list, kind).content
    assert [path.name for path in written.parent.iterdir()] == [written.name]


def test_export_takes_the_lists_number_too(a_list, tmp_path, manage):
    said = manage("export", str(a_list.id), "--format", "csv", "--output", str(tmp_path / "out"))
    (row,) = csv.DictReader(Path(said.strip()).read_text("utf-8-sig").splitlines())
    assert row["source in"] == "10:00:00:05"


def test_export_of_what_is_not_there_names_what_is(cast, a_list, tmp_path, manage):
    with pytest.raises(CommandError, match=f"There is no list 'worst'; there is: {a_list.id} 'Day 1: best'"):
        manage("export", "worst", "--format", "csv", "--output", str(tmp_path))
    lists.make(cast.stranger, cast.nr07, "Day 1: best")
    with pytest.raises(CommandError, match=r"Several productions have a list .*\(KB04, NR07\); say which"):
        manage("export", "Day 1: best", "--format", "csv", "--output", str(tmp_path))
    assert manage("export", "Day 1: best", "--production", "kb04", "--format", "csv", "--output", str(tmp_path))


def test_export_of_an_empty_list_is_refused(cast, tmp_path, manage):
    lists.make(cast.editor, cast.kb04, "empty")
    with pytest.raises(CommandError, match="has no selects: add some first, then export"):
        manage("export", "empty", "--format", "edl", "--output", str(tmp_path))


def test_export_to_where_nothing_can_be_written_is_refused(a_list, tmp_path, manage):
    (tmp_path / "file").touch()
    with pytest.raises(CommandError, match=r"file: (Not a directory|File exists)"):
        manage("export", str(a_list.id), "--format", "csv", "--output", str(tmp_path / "file"))


# As real programs ------------------------------------------------------------------------------


def test_a_refusal_is_one_line_and_a_failing_exit(tmp_path):
    environment = os.environ | {"RUSHLIGHT_HOME": str(tmp_path / "home")}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    done = subprocess.run(
        [sys.executable, MANAGE, "intake", "/nowhere", "--production", "KB04"],
        capture_output=True,
        text=True,
        env=environment,
        timeout=60,
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert len(done.stderr.strip().splitlines()) == 1
    assert "There is no production 'KB04' (there is: none yet); make it with: manage.py production" in done.stderr
