"""New cards are found by themselves, once their folders have stopped changing."""

import os
import shutil
from datetime import timedelta

import pytest

from review.custody import intake, wiping
from review.models import Card, Job
from tests.conftest import film, work_off

NAME = "KB04-261112-A01"


@pytest.fixture(autouse=True)
def settle(settings):
    settings.SETTLE = 30


def later(seconds=31):
    """As if the folders had last been seen to change this much longer ago."""
    for card in Card.objects.exclude(settled_since=None):
        card.settled_since -= timedelta(seconds=seconds)
        card.checked_at = card.checked_at and card.checked_at - timedelta(seconds=seconds)
        card.save(update_fields=["settled_since", "checked_at"])


def scan_and_settle():
    intake.scan()
    later()
    intake.scan()
    work_off()


def test_it_works(cast, root):
    film(root / NAME / "A001C001.MOV")
    intake.scan()
    card = Card.objects.get()
    assert (card.state, card.production, card.jobs.count()) == ("found", cast.kb04, 0)
    later()
    intake.scan()
    assert card.jobs.get().why == "its folder was found and has stopped changing"
    work_off()
    card.refresh_from_db()
    assert (card.state, card.clips.get().proxy_state) == ("verified", "ready")


def test_a_folder_that_is_still_being_copied_is_not_checked(cast, root):
    film(root / NAME / "A001C001.MOV")
    intake.scan()
    later(29)
    intake.scan()
    assert not Job.objects.exists()
    (root / NAME / "A001C002.MOV").write_bytes(b"the first half of")
    later()
    intake.scan()  # it has changed: the clock starts again
    intake.scan()
    assert not Job.objects.exists()
    later()
    intake.scan()
    assert Job.objects.count() == 1


def test_a_file_that_grows_counts_as_change(cast, root):
    path = film(root / NAME / "A001C001.MOV")
    intake.scan()
    with path.open("ab") as file:
        file.write(b"more")
    later()
    intake.scan()
    assert not Job.objects.exists()


def test_scanning_again_and_again_checks_once(cast, root):
    film(root / NAME / "A001C001.MOV")
    for _ in range(3):
        scan_and_settle()
    assert Job.objects.filter(kind="check").count() == 1


def test_a_held_card_is_checked_again_after_it_was_mended_and_not_before(cast, root):
    film(root / NAME / "A001C001.MOV")
    (root / NAME / "A001C002.MOV").touch()
    scan_and_settle()
    card = Card.objects.get()
    assert card.state == "held"
    scan_and_settle()
    assert card.jobs.filter(kind="check").count() == 1  # nothing changed: nothing to check
    film(root / NAME / "A001C002.MOV")
    scan_and_settle()
    card.refresh_from_db()
    assert (card.state, card.jobs.filter(kind="check").count()) == ("verified", 2)


def test_a_card_whose_drive_was_away_is_checked_when_it_is_back(cast, root):
    film(root / NAME / "A001C001.MOV")
    intake.scan()
    later()
    intake.scan()
    (root / NAME).rename(root.with_name("unplugged"))
    work_off()
    assert Card.objects.get().state == "held"
    root.with_name("unplugged").rename(root / NAME)
    scan_and_settle()
    assert Card.objects.get().state == "verified"


def test_a_verified_card_that_changes_is_in_doubt_and_checked_again(make_card, root):
    taken = make_card(proxied=True)
    intake.scan()
    assert Job.objects.filter(kind="check").count() == 1, "as long as nothing changes it is left alone"
    (taken.folder / "notes.txt").write_text("a person's")
    intake.scan()
    assert "its folder has changed since it was checked" in wiping.answer(Card.objects.get()).line
    scan_and_settle()
    assert Job.objects.filter(kind="check").count() == 2


def test_a_shelf_is_looked_into_and_a_misfit_is_taken_for_what_it_is_nearest_to(cast, root):
    film(root / "wednesday" / "NR07-261112-B02" / "A.MOV")
    film(root / "wednesday" / "kb04-261112-a3" / "A.MOV")
    intake.scan()
    assert {(card.name, card.production.code) for card in Card.objects.all()} == {
        ("NR07-261112-B02", "NR07"),
        ("kb04-261112-a3", "KB04"),
    }


def test_folders_that_nobody_can_place_wait_to_be_claimed(cast, root):
    for name in ("stills", "ZZ99-261112-A01", ".hidden", "System Volume Information", ".Trashes"):
        (root / name).mkdir()
    (root / "a-file.txt").touch()
    intake.scan()
    assert not Card.objects.exists()
    assert [path.name for path in intake.unclaimed()] == ["ZZ99-261112-A01", "stills"]
    intake.take_in(root / "stills", cast.kb04)
    assert [path.name for path in intake.unclaimed()] == ["ZZ99-261112-A01"]


def test_a_name_that_says_nothing_goes_to_the_only_production(cast, root):
    cast.nr07.delete()
    (root / "stills").mkdir()
    intake.scan()
    assert Card.objects.get().production == cast.kb04


def test_a_second_folder_of_one_name_is_a_copy(make_card, root):
    taken = make_card()
    shutil.copytree(taken.folder, root / "copies" / NAME)
    intake.scan()
    assert Card.objects.count() == 1
    assert intake.unclaimed() == []
    assert {copy.folder for copy in taken.card.copies.all()} == {str(taken.folder), str(root / "copies" / NAME)}


def test_links_under_the_root_are_not_followed(cast, root, tmp_path):
    film(tmp_path / "private" / NAME / "A001C001.MOV")
    (root / NAME).symlink_to(tmp_path / "private" / NAME)
    (root / "shelf").symlink_to(tmp_path / "private")
    intake.scan()
    assert not Card.objects.exists() and intake.unclaimed() == []


def test_a_root_that_is_away_finds_nothing_and_breaks_nothing(make_card, root):
    taken = make_card()
    os.rename(root, root.with_name("away"))
    intake.scan()
    taken.card.refresh_from_db()
    assert taken.card.state == "verified"


def test_before_there_is_a_production_folders_just_wait(db, root):
    (root / NAME).mkdir()
    intake.scan()
    assert [path.name for path in intake.unclaimed()] == [NAME]
    assert not Card.objects.exists()
