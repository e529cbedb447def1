"""Taking cards in, through the whole pipeline. What holds a card is the house's own rule, after common practice;
each finding is tested closely in tests/cards."""

import subprocess
from pathlib import Path

import pytest

from review.custody import card_checks, intake
from review.models import Card, Job
from review.record import coverage
from review.refusals import NotAllowed, NotFound
from review.work import jobs
from tests.conftest import check, film, work_off

NAME = "KB04-261112-A01"


def stops(card):
    return [finding for finding in card.findings if finding["severity"] == "stop"]


def the_stop(card):
    (finding,) = stops(card)
    assert card.state == Card.State.HELD
    assert not card.jobs.filter(kind=Job.Kind.PROXY).exists()  # nothing is proxied from a card that is held
    return finding


def md5sum(folder: Path, name="card.md5"):
    paths = [str(path.relative_to(folder)) for path in sorted(folder.rglob("*")) if path.is_file()]
    listed = subprocess.run(["md5sum", *paths], cwd=folder, capture_output=True, check=True).stdout
    (folder / name).write_bytes(listed)


def tree(root: Path) -> dict:
    """Everything under a folder: kind, size, times and content."""
    return {
        str(path): (path.lstat().st_mode, path.lstat().st_mtime_ns, path.is_file() and path.read_bytes())
        for path in [root, *root.rglob("*")]
    }


# It works --------------------------------------------------------------------------------------


def test_it_works(make_card):
    taken = make_card()
    card, clip = taken.card, taken.clip
    assert (card.state, card.reel, card.camera, card.number) == ("verified", "61112A01", "A", 1)
    assert (str(card.shoot_date), card.file_count, card.layout) == ("2026-11-12", 1, "Video files")
    assert (clip.name, clip.frames, clip.label(0), clip.channels) == ("A001C001", 50, "10:00:00:00", 2)
    assert clip.timecode_source == "timecode track"
    assert card.files.get().hashes.keys() == {"xxh128"}


def test_a_card_goes_from_found_through_checking_to_verified_and_its_proxies_are_asked_for(cast, root, monkeypatch):
    film(root / NAME / "CLIP" / "A001C001.MOV")
    card = intake.take_in(root / NAME, cast.kb04)
    assert card.state == "found"
    seen = []
    real = card_checks.check_card
    monkeypatch.setattr(
        card_checks, "check_card", lambda *a, **k: (seen.append(Card.objects.get().state), real(*a, **k))[1]
    )
    check(root / NAME, cast.kb04)
    assert seen == ["checking"]
    assert Card.objects.get().state == "verified"
    assert list(Job.objects.filter(state="waiting").values_list("kind", flat=True)) == ["proxy"]


def test_with_checksums_that_agree_a_card_is_proven(cast, root):
    film(root / NAME / "CLIP" / "A001C001.MOV")
    md5sum(root / NAME)
    card = check(root / NAME, cast.kb04)
    assert (card.state, card.proof, card.manifests, card.findings) == ("verified", "checksums", ["card.md5"], [])


def test_without_checksums_a_card_is_verified_with_a_caution(make_card):
    card = make_card().card
    assert (card.state, card.proof) == ("verified", "none")
    assert [(each["severity"], each["code"]) for each in card.findings] == [("caution", "no-checksums")]


def test_what_people_watch_is_made(make_card, settings):
    clip = make_card(proxied=True).clip
    assert clip.proxy_state == "ready" and clip.has_peaks and not clip.frame_doubt
    made = {path.name for path in (settings.MEDIA_HOME / "clips" / str(clip.id)).iterdir()}
    assert made == {"proxy.mp4", "lanes.json", "peaks.bin", *clip.filmstrip["files"]}
    assert list(Job.objects.order_by("id").values_list("kind", "state")) == [
        ("check", "done"),
        ("proxy", "done"),
        ("pictures", "done"),
    ]


def test_nothing_under_the_card_is_ever_written(cast, root):
    folder = root / NAME
    film(folder / "CLIP" / "A001C001.MOV")
    (folder / "CLIP" / "A001C001.XML").write_text("<clip/>")
    (folder / "EMPTY").mkdir()
    md5sum(folder)
    before = tree(root)
    check(folder, cast.kb04)
    work_off()
    (folder / "notes.txt").write_text("added by a person")
    during = tree(root)
    assert check(folder, cast.kb04).clips.get().proxy_state == "ready"
    (folder / "notes.txt").unlink()
    intake.scan()
    check(folder, cast.kb04)
    after = tree(root)
    for path in before:
        if path != str(folder):  # the person's own file changed this folder's time
            assert after[path] == before[path] == during[path]
    assert after.keys() == before.keys()


# Each reason to hold ---------------------------------------------------------------------------


def test_a_misnamed_card_is_held_with_the_nearest_name(cast, root):
    film(root / "kb04_261112_a1" / "A001C001.MOV")
    finding = the_stop(check(root / "kb04_261112_a1", cast.kb04))
    assert finding["code"] == "name-misfit"
    assert "Rename the folder to KB04-261112-A01" in finding["next"]
    card = Card.objects.get()
    assert (card.camera, card.number) == ("A", 1)  # it is shown on the day it most likely belongs to


def test_another_productions_card_is_held(cast, root):
    film(root / NAME / "A001C001.MOV")
    finding = the_stop(check(root / NAME, cast.nr07))
    assert (finding["code"], "says production KB04, but this is NR07" in finding["what"]) == ("wrong-production", True)


def test_an_altered_file_is_held(cast, root):
    path = film(root / NAME / "A001C001.MOV")
    md5sum(root / NAME)
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)
    finding = the_stop(check(root / NAME, cast.kb04))
    assert (finding["code"], finding["where"]) == ("altered", "A001C001.MOV")
    assert "Do not wipe the card" in finding["next"]


def test_a_listed_file_that_did_not_come_is_held(cast, root):
    film(root / NAME / "A001C001.MOV")
    film(root / NAME / "A001C002.MOV")
    md5sum(root / NAME)
    (root / NAME / "A001C002.MOV").unlink()
    finding = the_stop(check(root / NAME, cast.kb04))
    assert (finding["code"], finding["where"]) == ("missing", "A001C002.MOV")


def test_a_text_file_that_calls_itself_footage_is_held(cast, root):
    film(root / NAME / "A001C001.MOV")
    (root / NAME / "A001C002.MOV").write_text("call sheet: everybody at seven\n")
    card = check(root / NAME, cast.kb04)
    finding = the_stop(card)
    assert (finding["code"], finding["where"]) == ("unreadable", "A001C002.MOV")
    assert "cannot be used as footage" in finding["what"]
    assert [clip.name for clip in card.clips.all()] == ["A001C001"]


def test_a_playlist_that_calls_itself_footage_opens_nothing_else(cast, root, tmp_path):
    (tmp_path / "secret.ts").write_bytes(b"not for you")
    lines = f"#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:5,\n{tmp_path}/secret.ts\n#EXT-X-ENDLIST\n"
    (root / NAME).mkdir()
    (root / NAME / "A001C001.MP4").write_text(lines)
    assert the_stop(check(root / NAME, cast.kb04))["code"] == "unreadable"


def test_a_truncated_recording_is_held(cast, root):
    path = film(root / NAME / "A001C001.MOV")
    path.write_bytes(path.read_bytes()[:40_000])
    finding = the_stop(check(root / NAME, cast.kb04))
    assert (finding["code"], finding["where"]) == ("unreadable", "A001C001.MOV")


def test_an_empty_file_is_held(cast, root):
    film(root / NAME / "A001C001.MOV")
    (root / NAME / "A001C002.MOV").touch()
    finding = the_stop(check(root / NAME, cast.kb04))
    assert (finding["code"], finding["where"]) == ("empty-file", "A001C002.MOV")


def test_an_empty_folder_is_held(cast, root):
    (root / NAME).mkdir()
    card = check(root / NAME, cast.kb04)
    assert card.state == "held" and stops(card)[0]["what"]
    assert coverage.total(coverage.by_card(cast.kb04).values()).clips == 0


def test_a_folder_that_vanished_before_its_check_is_held_and_its_job_says_why(cast, root):
    (root / NAME).mkdir()
    intake.take_in(root / NAME, cast.kb04)
    job = intake.ask_for_check(Card.objects.get(), why="a test")
    (root / NAME).rmdir()
    work_off()
    job.refresh_from_db()
    assert job.state == "failed" and "look at the drive and its cable" in job.error
    finding = the_stop(Card.objects.get())
    assert finding["code"] == "unreadable" and "Connect the drive" in finding["next"]


def test_a_link_on_a_card_is_held_and_not_followed(cast, root, tmp_path):
    film(root / NAME / "A001C001.MOV")
    film(tmp_path / "outside.MOV")
    (root / NAME / "A001C002.MOV").symlink_to(tmp_path / "outside.MOV")
    card = check(root / NAME, cast.kb04)
    assert the_stop(card)["code"] == "link"
    assert card.clips.count() == 1


def test_a_check_that_was_given_up_holds_its_card(make_card):
    card = make_card().card
    Card.objects.update(state=Card.State.CHECKING)
    Job.objects.filter(kind="check").update(state=Job.State.FAILED)
    card_checks.hold_abandoned()
    card.refresh_from_db()
    assert (card.state, stops(card)[0]["code"]) == ("held", "check-stopped")


# Wrong person ----------------------------------------------------------------------------------


def test_a_card_is_checked_by_who_may(make_card, cast):
    card = make_card().card
    assert intake.check_by(cast.media_manager, card).why == "media-manager asked for it"
    for person in (cast.logger, cast.editor, cast.producer):
        with pytest.raises(NotAllowed, match="To check cards in KB04 you must be a media manager or an owner"):
            intake.check_by(person, card)
    with pytest.raises(NotFound):
        intake.check_by(cast.stranger, card)


def test_asking_for_a_check_twice_is_asking_once(make_card, cast):
    card = make_card().card
    assert intake.check_by(cast.media_manager, card) == intake.check_by(cast.owner, card)
    assert jobs.claim(card.jobs.get(kind="check", state="waiting").id)
    assert intake.check_by(cast.owner, card).state == "running"
