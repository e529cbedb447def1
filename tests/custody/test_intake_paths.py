"""Folders that try to lead somewhere else. That nothing outside the card roots is read is the house's own law."""

import os
import shutil

import pytest

from review.custody import intake
from review.models import Card, Clip
from review.refusals import Refusal
from review.work import jobs
from tests.conftest import api_of, check, film, work_off

NAME = "KB04-261112-A01"


@pytest.fixture
def outside(tmp_path):
    """A card that is not under the card root."""
    film(tmp_path / "private" / NAME / "A001C001.MOV")
    return tmp_path / "private" / NAME


def refusal(path, cast):
    with pytest.raises(Refusal) as refused:
        intake.take_in(path, cast.kb04)
    assert refused.value.field == "folder"
    assert not Card.objects.exists()
    return refused.value.message


def test_it_works_below_a_shelf(cast, root):
    film(root / "day 1" / NAME / "A001C001.MOV")
    assert check(root / "day 1" / NAME, cast.kb04).state == "verified"


def test_dots_that_lead_up_are_refused(cast, root, outside):
    assert "leads out of the card roots" in refusal(root / ".." / "private" / NAME, cast)
    (root / "KB04-261112-A02").mkdir()
    assert "leads out of" in refusal(f"{root}/KB04-261112-A02/../KB04-261112-A02", cast)


def test_a_folder_elsewhere_is_refused(cast, root, outside):
    words = refusal(outside, cast)
    assert f"is not under a card root ({root}); set RUSHLIGHT_CARDS" in words


def test_the_root_itself_is_no_card(cast, root):
    assert "is not under a card root" in refusal(root, cast)


def test_a_neighbour_whose_name_begins_like_the_root_is_refused(cast, root, outside):
    shutil.copytree(outside, root.with_name("cards-2") / NAME)
    assert "is not under a card root" in refusal(root.with_name("cards-2") / NAME, cast)


def test_a_link_for_a_folder_is_refused(cast, root, outside):
    (root / NAME).symlink_to(outside)
    assert "is reached through a link; copy the card itself" in refusal(root / NAME, cast)


def test_a_link_above_the_folder_is_refused(cast, root, outside):
    (root / "shelf").symlink_to(outside.parent)
    assert "is reached through a link" in refusal(root / "shelf" / NAME, cast)


def test_a_relative_path_is_taken_from_here(cast, root, monkeypatch):
    film(root / NAME / "A001C001.MOV")
    monkeypatch.chdir(root)
    assert intake.take_in(NAME, cast.kb04).folder == str(root / NAME)


@pytest.mark.parametrize(
    "name", ["\0", "KB04\0", "x" * 300, "/".join(["x" * 200] * 30), "nobody\udcff", "two\nlines", "", "."]
)
def test_a_name_that_cannot_be_is_refused_in_words(cast, root, name):
    assert refusal(f"{root}/{name}", cast)


def test_a_name_that_is_not_text_is_refused(cast, root):
    os.mkdir(os.fsencode(root) + b"/KB04-\xff")
    assert "has a name that is not UTF-8 text" in refusal(root / os.fsdecode(b"KB04-\xff"), cast)
    intake.scan()  # which meets it too
    assert not Card.objects.exists()


def test_a_file_is_no_card(cast, root):
    (root / NAME).write_text("a card, honestly")
    assert "is not a folder that is there now" in refusal(root / NAME, cast)


def test_a_folder_swapped_for_a_link_before_its_check_is_held(cast, root, outside):
    film(root / NAME / "A001C001.MOV")
    card = intake.take_in(root / NAME, cast.kb04)
    intake.ask_for_check(card, why="a test")
    shutil.rmtree(root / NAME)
    (root / NAME).symlink_to(outside)
    work_off()
    card.refresh_from_db()
    assert (card.state, card.clips.count()) == ("held", 0)
    assert "is reached through a link" in card.findings[0]["what"]


def test_a_recording_swapped_for_a_link_before_its_proxy_is_not_followed(make_card, outside):
    taken = make_card()
    original = taken.folder / "CLIP" / "A001C001.MOV"
    original.unlink()
    original.symlink_to(outside / "A001C001.MOV")
    work_off()
    clip = Clip.objects.get()
    assert clip.proxy_state == "failed"
    assert "is not what was checked; check KB04-261112-A01 again" in clip.proxy_problem


def test_the_api_refuses_the_same(cast, root, outside):
    script = api_of(cast.media_manager)
    for folder in (str(outside), f"{root}/../private/{NAME}", f"{root}/{'x' * 300}", "/etc", "\0", "", "x" * 5000):
        answer = script.post("/api/v1/cards/", {"production": "KB04", "folder": folder})
        assert answer.status_code == 400, folder
        assert answer.json()["folder"]
    assert not Card.objects.exists()
    assert jobs.Job.objects.count() == 0
