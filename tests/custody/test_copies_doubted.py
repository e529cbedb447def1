"""Nothing may be wiped on the strength of a proof that does not hold any more, or never meant what it seemed to."""

import os
import shutil
from pathlib import Path

import pytest

from review.cards.hashing import hash_files
from review.cards.volumes import DECLARED
from review.custody import copies, copy_proofs, intake, sealing, shelf, wiping
from review.models import Card, Copy, Job
from review.refusals import Refusal
from tests.conftest import check, film, work_off
from tests.shelves import NAME, copied, describe, found

pytestmark = pytest.mark.usefixtures("settled")


@pytest.fixture
def three(listed, drive):
    """A card that its copies say may be wiped, the copy on the shuttle and the one in the vault."""
    shuttle, vault = copied(listed, drive("shuttle")), copied(listed, drive("vault"))
    describe(vault, elsewhere=True)
    assert answer().may
    return listed, shuttle, vault


def answer():
    return wiping.answer(Card.objects.get())


def write_list(folder: Path) -> None:
    paths = [path.relative_to(folder).as_posix() for path in folder.rglob("*.MOV")]
    hashes, _ = hash_files(folder, {path: ["md5"] for path in paths})
    lines = "".join(f"{hashes[path]['md5']}  {NAME}/{path}\n" for path in paths)
    (folder.parent / f"{NAME}.md5").write_text(lines)


def flip(path: Path) -> None:
    with open(path, "r+b") as file:
        file.seek(5000)
        byte = file.read(1)[0]
        file.seek(5000)
        file.write(bytes([byte ^ 1]))


def test_copies_of_a_part_do_not_count_when_the_rest_is_copied_later(three, cast, root):
    card, shuttle, _ = three
    film(root / NAME / "CLIP" / "A001C002.MOV", frames=30)
    write_list(root / NAME)
    check(root / NAME, cast.kb04)
    assert "1 copy is proven of 3" in answer().line, "what the copies were compared with was not the whole card"
    found(card, Path(shuttle.folder))
    shuttle.refresh_from_db()
    assert shuttle.state == "failed" and shuttle.findings[0]["code"] == "missing"


def test_a_card_that_grew_while_a_copy_was_compared_proves_nothing(three, cast, root, monkeypatch):
    shuttle = three[1]
    compare = copy_proofs.compare_copy

    def meanwhile(*arguments, **options):
        report = compare(*arguments, **options)
        film(root / NAME / "CLIP" / "A001C002.MOV", frames=30)
        write_list(root / NAME)
        check(root / NAME, cast.kb04)
        return report

    monkeypatch.setattr(copy_proofs, "compare_copy", meanwhile)
    job = copies.prove_by(cast.owner, shuttle)
    work_off()
    job.refresh_from_db()
    assert job.state == "failed" and "checked meanwhile" in job.error
    assert not answer().may


def test_our_own_seal_proves_nothing_of_what_was_sealed(make_card, cast):
    taken = make_card()
    sealing.seal(cast.owner, taken.card)
    card = check(taken.folder, cast.kb04)
    assert (card.state, card.proof) == ("verified", "none")
    assert "when the card was sealed" in card.findings[0]["what"]
    assert "nothing made from the camera's own card" in wiping.answer(card).line
    flip(taken.folder / "CLIP" / "A001C001.MOV")
    assert check(taken.folder, cast.kb04).state == "held", "but it tells what was altered since"


def test_copies_of_bad_bytes_fail_once_the_card_is_mended(cast, root, drive, monkeypatch):
    film(root / NAME / "CLIP" / "A001C001.MOV")
    good = (root / NAME / "CLIP" / "A001C001.MOV").read_bytes()
    flip(root / NAME / "CLIP" / "A001C001.MOV")
    card = check(root / NAME, cast.kb04)  # no list came: it is trusted as it is
    shuttle = copied(card, drive("shuttle"))
    assert shuttle.state == "same"
    (root / NAME / "CLIP" / "A001C001.MOV").write_bytes(good)
    write_list(root / NAME)
    assert check(root / NAME, cast.kb04).proof == "checksums"
    shuttle.refresh_from_db()
    assert shuttle.state == "found"
    assert found(card, Path(shuttle.folder)).state == "failed"


def test_a_drive_that_gets_a_name_later_is_still_one_drive(listed, root, cast):
    (root / DECLARED).write_text("Desk array")
    check(root / NAME, cast.kb04)
    copy = listed.copies.get()
    assert (copy.medium.label, copy.state) == ("Desk array", "same")


def test_what_is_found_by_its_contents_counts_when_a_person_says_what_it_is(listed, drive, cast):
    copied(listed, drive("shuttle"))
    describe(listed.copies.get(medium__label="shuttle"), elsewhere=True)
    reader = copied(listed, drive("reader"), name="UNTITLED")
    assert (reader.state, reader.confirmed) == ("same", False)
    assert "2 copies are proven of 3" in answer().line
    copies.say_what_by(cast.media_manager, reader, is_original=True)
    work_off()
    assert "2 copies are proven of 3" in answer().line, "the camera's own card is no copy of itself"
    copies.say_what_by(cast.media_manager, Copy.objects.get(id=reader.id), is_original=False)
    work_off()
    assert answer().may


def test_a_copy_on_a_medium_described_as_a_camera_card_is_not_counted(three):
    describe(three[1], kind="camera-card")
    assert "2 copies are proven of 3" in answer().line


@pytest.mark.parametrize("how", ["deleted", "renamed", "linked"])
def test_a_copy_that_is_gone_from_a_drive_that_is_there_makes_it_no(three, how):
    _, shuttle, vault = three
    folder = Path(shuttle.folder)
    if how == "renamed":
        folder.rename(folder.with_name("old"))
    else:
        shutil.rmtree(folder)
    if how == "linked":
        folder.symlink_to(vault.folder)
    intake.scan()
    shuttle.refresh_from_db()
    assert (shuttle.state, shuttle.here, shuttle.findings[0]["code"]) == ("failed", False, "gone")
    assert not answer().may


def test_a_copy_that_changes_is_in_doubt_at_once(three, settings):
    settings.SETTLE = 3600
    (Path(three[1].folder) / "new.txt").write_text("x")
    intake.scan()
    assert "2 copies are proven of 3" in answer().line


def test_hard_links_are_no_copy(listed, root, drive):
    shelf_folder = drive("shuttle")
    (shelf_folder / NAME / "CLIP").mkdir(parents=True)
    os.link(root / NAME / "CLIP" / "A001C001.MOV", shelf_folder / NAME / "CLIP" / "A001C001.MOV")
    copy = found(listed, shelf_folder / NAME)
    assert (copy.state, copy.findings[0]["code"]) == ("failed", "linked")


def test_media_on_one_file_system_are_told(three):
    assert "were on one file system when they were read" in answer().line


def test_what_is_worked_from_is_not_elsewhere(listed, cast):
    medium = listed.copies.get().medium
    says = {"place": "", "in_use_since": None, "check_every": None, "replace_by": None}
    with pytest.raises(Refusal, match="where the work is"):
        shelf.describe(cast.owner, medium, shelf.Description("desk", "disk", elsewhere=True, **says))


def test_copies_of_a_held_card_wait_until_it_is_trusted(cast, root, drive):
    film(root / NAME / "CLIP" / "A001C001.MOV")
    (root / NAME / f"{NAME}.md5").write_text(f"{'0' * 32}  CLIP/A001C001.MOV\n")
    card = check(root / NAME, cast.kb04)
    copy = copied(card, drive("shuttle"))
    assert (card.state, copy.state) == ("held", "found")
    with pytest.raises(Refusal, match="once the card itself can be trusted"):
        copies.prove_by(cast.owner, copy)
    assert not Job.objects.filter(kind="copy").exists()


def test_decomposed_names_are_the_same_names(cast, root, drive):
    film(root / NAME / "CLIP" / "Mo\u0308we.MOV")
    card = check(root / NAME, cast.kb04)
    other = drive("shuttle") / NAME / "CLIP"
    other.mkdir(parents=True)
    shutil.copyfile(root / NAME / "CLIP" / "Mo\u0308we.MOV", other / "M\u00f6we.MOV")
    assert found(card, other.parent).state == "same"
