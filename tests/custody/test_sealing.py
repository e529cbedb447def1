"""Sealing cards: who may, what is refused, and that the format's reference tool (ascmhl 1.2) accepts it."""

import re
import tomllib
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from review.cards.manifests.ascmhl_xml import parse_manifest
from review.custody import intake, sealing
from review.refusals import NotAllowed, NotFound, Refusal
from tests.conftest import check, film
from tests.custody.test_intake import NAME, md5sum, tree


def accepts(tool, folder):
    for words in (("verify",), ("verify", "-dh")):
        run = tool.debug(*words, folder)
        assert (run.returncode, run.stderr) == (0, ""), run
    return tool("diff", folder).returncode == 0


def refused(person, card):
    before = tree(Path(card.folder))
    with pytest.raises(Refusal) as refusal:
        sealing.seal(person, card)
    assert tree(Path(card.folder)) == before
    card.refresh_from_db()
    assert card.sealed_at is None
    return refusal.value.message


def test_it_works(make_card, cast, ascmhl_tool):
    taken = make_card()
    told = []
    path = sealing.seal(cast.media_manager, taken.card, reason="Before the wipe", progress=lambda *a: told.append(a))
    assert re.fullmatch(rf"0001_{NAME}_.*Z\.mhl", path.name) and path.parent == taken.folder / "ascmhl"
    taken.card.refresh_from_db()
    assert taken.card.sealed_by == cast.media_manager and taken.card.sealed_at is not None
    assert told[-1] == (taken.card.total_bytes, taken.card.total_bytes)
    assert "<author>media-manager</author>" in path.read_text() and "Before the wipe" in path.read_text()
    assert accepts(ascmhl_tool, taken.folder)


def test_only_the_ascmhl_folder_is_written(make_card, cast):
    taken = make_card()
    before = tree(taken.folder)
    sealing.seal(cast.owner, taken.card)
    after = tree(taken.folder)
    added = {path for path in after if "/ascmhl" in path}
    assert len(added) == 3
    own_time = str(taken.folder)  # the folder's own time changes by what is put into it
    assert {path: facts for path, facts in after.items() if path not in added | {own_time}} == {
        path: facts for path, facts in before.items() if path != own_time
    }


def test_a_seal_is_compared_with_when_the_card_is_checked_again(make_card, cast):
    taken = make_card()
    path = sealing.seal(cast.owner, taken.card)
    card = check(taken.folder, cast.kb04)
    assert (card.state, card.manifests) == ("verified", [f"ascmhl/{path.name}"])
    assert card.proof == "none", "what we wrote ourselves proves nothing of the copy that we sealed"


def test_a_card_with_a_history_gets_its_next_generation(root, cast, ascmhl_tool):
    folder = root / NAME
    film(folder / "CLIP" / "A001C001.MOV")
    ascmhl_tool("create", "-h", "md5", folder / "CLIP")
    ascmhl_tool("create", "-h", "md5", folder)
    card = check(folder, cast.kb04)
    path = sealing.seal(cast.owner, card)
    assert path.name.startswith(f"0002_{NAME}")
    (reference,) = parse_manifest(path.read_bytes()).references
    (file,) = parse_manifest((folder / reference[0]).read_bytes()).files
    assert file.hashes.keys() == {"md5", "xxh128"}
    assert accepts(ascmhl_tool, folder)


def test_the_version_is_that_of_the_project():
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())
    assert project["project"]["version"] == sealing.VERSION


# Who may ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["logger", "editor", "producer"])
def test_others_may_not(make_card, cast, role):
    with pytest.raises(NotAllowed, match="To seal cards in KB04 you must be a media manager or an owner"):
        sealing.seal(getattr(cast, role), make_card().card)


def test_a_stranger_learns_nothing(make_card, cast):
    with pytest.raises(NotFound):
        sealing.seal(cast.stranger, make_card().card)


# What is not sealed ----------------------------------------------------------------------------


@pytest.mark.parametrize("state", ["found", "checking", "held"])
def test_a_card_that_nobody_trusts(make_card, cast, state):
    card = make_card().card
    card.state = state
    card.save()
    assert refused(cast.owner, card).startswith(f"{NAME} is {state}: only a card that was verified or accepted")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda folder: (folder / "notes.txt").write_text("N"), "notes.txt is not what it was when this card was last"),
        (lambda folder: (folder / "notes.txt").unlink(), "notes.txt was here when this card was last trusted, and is"),
        (lambda folder: (folder / "late.txt").write_text("late"), "late.txt was not here when this card was last"),
        (lambda folder: (folder / "notes.txt").rename(folder / "n.txt"), "n.txt was notes.txt when this card was last"),
    ],
)
def test_a_card_that_is_not_what_was_trusted(root, cast, change, words):
    film(root / NAME / "CLIP" / "A001C001.MOV")
    (root / NAME / "notes.txt").write_text("n")
    card = check(root / NAME, cast.kb04)
    change(root / NAME)
    message = refused(cast.owner, card)
    assert "is not as it was trusted" in message and words in message
    assert message.endswith("Check the card again first.")


def test_a_card_accepted_although_a_list_says_it_is_altered(root, cast):
    film(root / NAME / "CLIP" / "A001C001.MOV")
    (root / NAME / "notes.txt").write_text("n")
    md5sum(root / NAME)
    (root / NAME / "notes.txt").write_text("N")
    card = check(root / NAME, cast.kb04)
    intake.accept(card, cast.media_manager, "The note was mended by hand.")
    card.refresh_from_db()
    assert card.state == "accepted"
    assert "notes.txt is not the file that was listed" in refused(cast.owner, card)


def test_a_card_accepted_with_a_name_that_does_not_fit_can_be_sealed(root, cast, ascmhl_tool):
    film(root / "kb04-261112-a1" / "CLIP" / "A001C001.MOV")
    card = check(root / "kb04-261112-a1", cast.kb04)
    intake.accept(card, cast.media_manager, "The label on the card says so.")
    card.refresh_from_db()
    sealing.seal(cast.owner, card)
    assert accepts(ascmhl_tool, Path(card.folder))


def test_a_history_that_is_not_whole(make_card, cast):
    taken = make_card()
    path = sealing.seal(cast.owner, taken.card)
    path.write_text(path.read_text() + "\n")
    type(taken.card).objects.update(sealed_at=None)
    message = refused(cast.owner, taken.card)
    assert message.startswith(f"{NAME} was not sealed: ascmhl/{path.name} was altered after the chain recorded it")


def test_a_volume_that_can_only_be_read(make_card, cast, monkeypatch):
    taken = make_card()

    class ReadOnly:
        f_flag = 1

    monkeypatch.setattr("review.custody.sealing.os.statvfs", lambda folder: ReadOnly())
    assert "is on a volume that can only be read" in refused(cast.owner, taken.card)


def test_a_disk_that_is_full(make_card, cast, monkeypatch):
    def full(self, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.rename", full)
    taken = make_card()
    with pytest.raises(Refusal, match=r"ascmhl cannot be written .* \(No space left on device\). What was there is"):
        sealing.seal(cast.owner, taken.card)
    assert [path.name for path in taken.folder.iterdir()] == ["CLIP"]


# As a command ----------------------------------------------------------------------------------


def test_the_command_seals_and_prints_the_manifest(make_card, cast, capsys):
    taken = make_card()
    call_command("seal", NAME, "--production", "kb04", "--by", "Media-Manager")
    assert Path(capsys.readouterr().out.strip()).is_file()
    taken.card.refresh_from_db()
    assert taken.card.sealed_by == cast.media_manager


@pytest.mark.parametrize(
    ("words", "refusal"),
    [
        (("KB04-261112-A09", "--production", "KB04", "--by", "owner"), "KB04 has no card 'KB04-261112-A09'"),
        ((NAME, "--production", "KB04", "--by", "nobody"), "Nobody has the sign-in name 'nobody'"),
        ((NAME, "--production", "ZZ99", "--by", "owner"), "no production 'ZZ99'"),
        ((NAME, "--production", "KB04", "--by", "logger"), "To seal cards in KB04 you must be"),
    ],
)
def test_the_command_refuses_in_one_line(make_card, words, refusal):
    make_card()
    with pytest.raises(CommandError, match=refusal) as error:
        call_command("seal", *words)
    assert "\n" not in str(error.value)
