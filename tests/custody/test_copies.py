"""Copies of a card: found, compared, counted, and what is said when one goes bad."""

import shutil

import pytest

from review.cards.volumes import DECLARED
from review.custody import copies, intake, wiping
from review.models import Card, Copy, Job
from review.refusals import NotAllowed, NotFound, Refusal
from tests.conftest import check, film, work_off
from tests.shelves import NAME, copied, describe, found

pytestmark = pytest.mark.usefixtures("settled")


def test_it_works(listed, drive):
    assert wiping.answer(listed).line == "Not yet, because 1 copy is proven of 3; none is kept elsewhere."
    first = copied(listed, drive("shuttle"))
    assert (first.state, first.medium.label, first.findings) == ("same", "shuttle", [])
    describe(copied(listed, drive("vault")), elsewhere=True)
    answer = wiping.answer(Card.objects.get())
    assert answer.may, answer.line
    assert {copy.medium for copy in answer.counted} >= {"shuttle", "vault"}


def test_the_folder_worked_from_is_a_copy_that_follows_the_cards_checks(listed, cast):
    own = listed.copies.get()
    assert (own.state, own.folder, own.proven_at) == ("same", listed.folder, listed.checked_at)
    with open(f"{listed.folder}/CLIP/A001C001.MOV", "r+b") as file:
        file.seek(5000)
        file.write(b"?")
    check(listed.folder, cast.kb04)
    own.refresh_from_db()
    assert own.state == "failed" and own.findings and own.proven_at < own.checked_at


def test_copies_on_one_drive_are_on_one_device(listed, drive, root):
    shelf = drive("shuttle")
    (shelf / "again").mkdir()
    copied(listed, shelf)
    copied(listed, shelf / "again")
    listed.production.wipe_copies, listed.production.wipe_devices, listed.production.wipe_elsewhere = 3, 3, 0
    listed.production.save()
    assert "they are on 2 devices, not 3" in wiping.answer(Card.objects.get()).line


def test_a_copy_that_goes_bad_turns_yes_into_no(listed, drive, cast):
    shuttle = copied(listed, drive("shuttle"))
    describe(copied(listed, drive("vault")), elsewhere=True)
    assert wiping.answer(Card.objects.get()).may
    with open(f"{shuttle.folder}/CLIP/A001C001.MOV", "r+b") as file:
        file.seek(5000)
        file.write(b"?")
    copies.prove_by(cast.media_manager, shuttle)
    work_off()
    answer = wiping.answer(Card.objects.get())
    assert not answer.may and "the copy on shuttle is not the same as the card, or is gone" in answer.line
    copies.forget_by(cast.media_manager, shuttle)
    assert "2 copies are proven of 3" in wiping.answer(Card.objects.get()).line


def test_a_partial_copy_is_told_by_its_files(listed, drive):
    folder = drive("shuttle") / NAME
    folder.mkdir()
    (folder / "notes.txt").write_text("x")
    copy = found(listed, folder)
    assert copy.state == "failed" and copy.proven_at is None
    assert [each["code"] for each in copy.findings] == ["another-card", "missing", "not-of-the-card"]


def test_the_cards_own_card_in_a_reader_is_known_by_its_contents(make_card, drive, cast):
    taken = make_card()
    assert "nothing made from the camera's own card" in wiping.answer(taken.card).line
    reader = drive("reader")
    shutil.copytree(taken.folder, reader / "UNTITLED")
    copy = found(taken.card, reader / "UNTITLED")
    assert copy.state == "same"
    copies.add_by(cast.media_manager, taken.card, reader / "UNTITLED", is_original=True)
    work_off()
    answer = wiping.answer(Card.objects.get())
    assert len(answer.counted) == 1, "the camera's own card is not counted as a copy of itself"
    assert "nothing made from the camera's own card" not in answer.line


def test_an_original_that_differs_is_an_alarm(make_card, drive, cast):
    taken = make_card()
    reader = drive("reader")
    shutil.copytree(taken.folder, reader / "UNTITLED")
    film(reader / "UNTITLED" / "CLIP" / "A001C002.MOV", frames=30)
    (reader / "UNTITLED" / "CLIP" / "A001C001.MOV").unlink()
    copies.add_by(cast.media_manager, taken.card, reader / "UNTITLED", is_original=True)
    work_off()
    assert "the camera's card holds something else than the copies" in wiping.answer(Card.objects.get()).line


def test_a_clip_that_only_the_camera_card_has_is_a_difference(make_card, drive, cast):
    taken = make_card()
    reader = drive("reader")
    shutil.copytree(taken.folder, reader / "UNTITLED")
    film(reader / "UNTITLED" / "CLIP" / "A001C002.MOV", frames=30)
    copies.add_by(cast.media_manager, taken.card, reader / "UNTITLED", is_original=True)
    work_off()
    copy = taken.card.copies.get(is_original=True)
    assert copy.state == "failed" and copy.findings[0]["code"] == "not-copied"
    assert not wiping.answer(Card.objects.get()).may


def test_a_drive_that_is_away_keeps_its_proof(listed, drive, settings, tmp_path):
    shelf = drive("shuttle")
    copy = copied(listed, shelf)
    shelf.rename(tmp_path / "in a drawer")
    intake.scan()
    copy.refresh_from_db()
    assert (copy.here, copy.state) == (False, "same") and copy.proven_at
    (tmp_path / "in a drawer").rename(shelf)
    Job.objects.all().delete()
    for _ in range(3):
        intake.scan()
    copy.refresh_from_db()
    assert copy.here and not Job.objects.exists(), "nothing on it has changed, so it is not read again"


def test_another_drive_in_the_same_place_is_not_taken_for_the_first(listed, drive, cast):
    shelf = drive("shuttle")
    copy = copied(listed, shelf)
    (shelf / DECLARED).write_text("another")
    copies.prove_by(cast.media_manager, copy)
    work_off()
    copy.refresh_from_db()
    assert (copy.here, copy.state) == (False, "same")
    assert "connect that drive" in Job.objects.filter(kind="copy").first().error


def test_a_copy_that_is_still_growing_is_not_read_yet(listed, drive, settings):
    settings.SETTLE = 3600
    folder = drive("shuttle") / NAME
    shutil.copytree(listed.folder, folder)
    intake.scan()
    intake.scan()
    assert not Job.objects.filter(kind="copy").exists()


def test_the_drive_of_the_card_being_away_does_not_make_its_copy_the_card(listed, drive, root, tmp_path):
    shelf = drive("shuttle")
    root.rename(tmp_path / "in a drawer")
    shutil.copytree(tmp_path / "in a drawer" / NAME, shelf / NAME)
    intake.scan()
    listed.refresh_from_db()
    assert listed.folder == str(root / NAME)
    assert Copy.objects.filter(folder=str(shelf / NAME)).exists()


def test_a_card_that_moved_is_still_one_copy(listed, root, cast):
    (root / "shelf").mkdir()
    (root / NAME).rename(root / "shelf" / NAME)
    for _ in range(3):
        intake.scan()
    work_off()
    copy = listed.copies.get()
    assert (copy.folder, copy.state) == (str(root / "shelf" / NAME), "same")


def test_one_folder_by_two_ways_is_one_copy(listed, drive, cast, monkeypatch):
    shelf = drive("shuttle")
    shutil.copytree(listed.folder, shelf / NAME)
    monkeypatch.setattr(copies.Path, "samefile", lambda one, other: True)  # as where a disk is mounted twice
    with pytest.raises(Refusal, match="one folder is one copy"):
        copies.add_by(cast.owner, listed, shelf / NAME)


# The same footage under another name -------------------------------------------------------------


def codes(card):
    return {(each["code"], each["severity"]) for each in card.findings}


def test_one_card_under_two_names_is_found(make_card, root, cast):
    taken = make_card()
    shutil.copytree(taken.folder, root / "KB04-261112-A02")
    card = check(root / "KB04-261112-A02", cast.kb04)
    assert card.state == "held" and ("same-content", "stop") in codes(card)
    assert NAME in card.findings[0]["what"]


def test_two_cards_in_one_folder_are_found(make_card, root, cast):
    taken = make_card()
    merged = root / "KB04-261112-A02"
    shutil.copytree(taken.folder, merged)
    film(merged / "CLIP" / "A002C001.MOV", frames=30)
    assert ("merged", "stop") in codes(check(merged, cast.kb04))


def test_a_card_that_is_part_of_another_is_found(root, cast):
    film(root / "KB04-261112-A02" / "CLIP" / "A001C001.MOV")
    film(root / "KB04-261112-A02" / "CLIP" / "A002C001.MOV", frames=30)
    check(root / "KB04-261112-A02", cast.kb04)
    film(root / NAME / "CLIP" / "A001C001.MOV")
    assert ("same-content", "stop") in codes(check(root / NAME, cast.kb04))


def test_a_file_that_two_cards_share_is_only_a_caution(root, cast):
    film(root / "KB04-261112-A02" / "CLIP" / "LEADER.MOV")
    film(root / "KB04-261112-A02" / "CLIP" / "A002C001.MOV", frames=30)
    check(root / "KB04-261112-A02", cast.kb04)
    film(root / NAME / "CLIP" / "LEADER.MOV")
    film(root / NAME / "CLIP" / "A001C001.MOV", frames=31)
    card = check(root / NAME, cast.kb04)
    assert card.state == "verified" and ("shared-content", "caution") in codes(card)


# Who may ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("who", "refusal"), [("logger", NotAllowed), ("stranger", NotFound)])
def test_only_those_who_check_cards_may_add_prove_and_forget(listed, drive, cast, who, refusal):
    copy, person = copied(listed, drive("shuttle")), getattr(cast, who)
    with pytest.raises(refusal):
        copies.prove_by(person, copy)
    with pytest.raises(refusal):
        copies.forget_by(person, copy)
    with pytest.raises(refusal):
        copies.add_by(person, listed, copy.folder)


def test_the_folder_worked_from_cannot_be_forgotten_or_added(listed, cast):
    with pytest.raises(Refusal, match="cannot be forgotten"):
        copies.forget_by(cast.owner, listed.copies.get())
    with pytest.raises(Refusal, match="counted already"):
        copies.add_by(cast.owner, listed, listed.folder)


def test_another_cards_folder_is_no_copy(make_card, cast):
    one, two = make_card(), make_card("KB04-261112-A02", frames=30)
    with pytest.raises(Refusal, match="worked from"):
        copies.add_by(cast.owner, one.card, two.folder)
