"""Cards that are taken in or checked once more: what was marked stays, and what has changed is told."""

import os
import shutil

from review.custody import intake
from review.models import Card, Clip, Job
from tests.conftest import check, film, work_off
from tests.custody.test_intake import NAME, stops


def test_taking_the_same_folder_in_twice_is_taking_it_in_once(cast, root):
    film(root / NAME / "A001C001.MOV")
    assert intake.take_in(root / NAME, cast.kb04) == intake.take_in(str(root / NAME) + "/", cast.kb04)
    assert Card.objects.count() == 1


def test_a_second_folder_of_the_same_name_is_a_copy_of_it(make_card, root, cast):
    first = make_card()
    shutil.copytree(first.folder, root / "again" / NAME)
    assert intake.take_in_by(cast.owner, root / "again" / NAME, cast.kb04) == first.card
    first.card.refresh_from_db()
    assert first.card.folder == str(first.folder)
    work_off()
    assert first.card.copies.get(folder=str(root / "again" / NAME)).state == "same"


def test_a_card_follows_its_folder_to_another_place(make_card, root, cast):
    taken = make_card()
    os.renames(taken.folder, root / "shelf" / NAME)
    card = check(root / "shelf" / NAME, cast.kb04)
    assert (card.id, card.state, card.folder) == (taken.card.id, "verified", str(root / "shelf" / NAME))


def test_a_second_check_keeps_clips_and_their_marks(make_card, cast):
    taken = make_card(proxied=True)
    again = check(taken.folder, cast.kb04)
    assert again.clips.get().id == taken.clip.id
    assert again.clips.get().proxy_state == "ready"
    assert not Job.objects.filter(state="waiting").exists()


def test_a_mended_recording_is_proxied_anew(make_card, cast):
    taken = make_card(proxied=True, frames=20)
    film(taken.folder / "CLIP" / "A001C001.MOV", frames=50)
    card = check(taken.folder, cast.kb04)
    intake.accept(card, cast.media_manager, "It was copied again, whole this time.")
    work_off()
    clip = Clip.objects.get()
    assert (clip.id, clip.frames, clip.proxy_state, clip.frame_doubt) == (taken.clip.id, 50, "ready", "")
    assert clip.filmstrip["count"] * clip.filmstrip["every"] >= 50 - clip.filmstrip["every"]


def test_reels_are_unique_in_a_production_and_stay(cast, root):
    names = ["KB04-261112-A01", "KB04-161112-A01", "kb04-261112-a01", "KB04 261112 A01", "odds and ends", "odds"]
    for name in names:
        (root / name).mkdir()
    reels = [intake.take_in(root / name, cast.kb04).reel for name in names]
    assert len(set(reels)) == len(names)
    assert reels[0] == "61112A01"
    assert [intake.take_in(root / name, cast.kb04).reel for name in names] == reels
    (root / "elsewhere" / NAME).mkdir(parents=True)
    assert intake.take_in(root / "elsewhere" / NAME, cast.nr07).reel == "61112A01"  # another production's are its own


def test_a_trusted_card_that_is_away_stays_trusted_and_its_job_says_why(make_card, root):
    taken = make_card(proxied=True)
    root.rename(root.with_name("in a drawer"))
    job = intake.ask_for_check(taken.card, why="a test")
    work_off()
    job.refresh_from_db()
    assert job.state == "failed" and "look at the drive and its cable" in job.error
    assert Card.objects.get().state == "verified"
    assert taken.clip.proxy_state == "ready"


def test_a_trusted_card_that_is_gone_from_a_drive_that_is_there_is_held(make_card):
    taken = make_card(proxied=True)
    shutil.rmtree(taken.folder)
    intake.scan()
    card = Card.objects.get()
    assert (card.state, [each["code"] for each in card.findings]) == ("held", ["gone"])
    assert card.copies.get().state == "failed"


def test_a_file_that_changed_after_its_card_was_trusted_is_held(make_card, cast):
    taken = make_card()
    film(taken.folder / "CLIP" / "A001C001.MOV", frames=20)
    for _ in range(2):  # the second check compares with what was trusted, not with the first
        card = check(taken.folder, cast.kb04)
        assert (card.state, [each["code"] for each in stops(card)]) == ("held", ["altered-since"])


def test_a_file_that_went_after_its_card_was_trusted_is_held(cast, root):
    film(root / NAME / "A001C001.MOV")
    film(root / NAME / "A001C002.MOV")
    assert check(root / NAME, cast.kb04).state == "verified"
    (root / NAME / "A001C002.MOV").unlink()
    for _ in range(2):
        card = check(root / NAME, cast.kb04)
        assert (card.state, [each["code"] for each in stops(card)]) == ("held", ["gone-since"])
    assert not card.files.get(path="A001C002.MOV").here
    assert card.clips.count() == 2  # and what was marked on it stays
