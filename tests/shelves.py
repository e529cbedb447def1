"""What the tests of copies share: a card that came with checksums, drives to copy it to, and a scan that finds the
copies."""

import shutil

import pytest

from review.cards.hashing import hash_files
from review.cards.volumes import DECLARED
from review.custody import intake
from tests.conftest import check, film, work_off

NAME = "KB04-261112-A01"


@pytest.fixture
def drive(root, settings):
    """Make another drive under the card roots."""

    def make(name: str):
        folder = root.parent / name
        folder.mkdir()
        (folder / DECLARED).write_text(name)
        settings.CARD_ROOTS = [*settings.CARD_ROOTS, folder]
        return folder

    return make


@pytest.fixture
def listed(cast, root):
    """A card that agrees with the checksums that came with it."""
    film(root / NAME / "CLIP" / "A001C001.MOV")
    intake.take_in(root / NAME, cast.kb04)
    hashes, _ = hash_files(root / NAME, {"CLIP/A001C001.MOV": ["md5"]})
    (root / NAME / f"{NAME}.md5").write_text(f"{hashes['CLIP/A001C001.MOV']['md5']}  CLIP/A001C001.MOV\n")
    card = check(root / NAME, cast.kb04)
    assert card.proof == "checksums"
    return card


def copied(card, drive, name=NAME):
    """Copy the card by hand to a drive, and let the scan find and compare it."""
    shutil.copytree(card.folder, drive / name)
    return found(card, drive / name)


def found(card, folder):
    for _ in range(3):  # seen, settled, asked for
        intake.scan()
    work_off()
    return card.copies.get(folder=str(folder))


@pytest.fixture
def settled(settings):
    """Folders need not rest before they are looked at."""
    settings.SETTLE = 0


def describe(copy, **about):
    for field, value in about.items():
        setattr(copy.medium, field, value)
    copy.medium.save()
