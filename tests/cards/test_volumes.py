"""Which drive a folder is on. No outside source but the operating system's own numbers."""

import os

import pytest

from review.cards import volumes
from review.cards.volumes import DECLARED, volume_of


@pytest.fixture
def shelf(tmp_path):
    for drive in ("one", "two"):
        (tmp_path / drive / "KB04-261112-A01").mkdir(parents=True)
    return tmp_path


def test_it_works(shelf):
    here, there = volume_of(shelf / "one" / "KB04-261112-A01"), volume_of(shelf / "two" / "KB04-261112-A01")
    assert here == there, "two folders on one file system are on one volume"
    assert here.identity.startswith(("filesystem:", "mounted:"))


def test_a_file_above_the_card_names_its_volume(shelf):
    (shelf / "two" / DECLARED).write_text("Vault 7\nsecond line\n")
    assert volume_of(shelf / "two" / "KB04-261112-A01").identity == "named:Vault 7"
    assert volume_of(shelf / "two" / "KB04-261112-A01").name == "Vault 7"
    assert volume_of(shelf / "one" / "KB04-261112-A01").identity != "named:Vault 7"


def test_a_file_in_the_card_itself_names_nothing(shelf):
    (shelf / "one" / "KB04-261112-A01" / DECLARED).write_text("Vault 7")
    assert volume_of(shelf / "one" / "KB04-261112-A01").identity != "named:Vault 7"


@pytest.mark.parametrize("text", ["", "\n\n", "x" * 5000])
def test_a_file_that_names_nothing_is_passed_over(shelf, text):
    (shelf / "two" / DECLARED).write_text(text)
    assert volume_of(shelf / "two" / "KB04-261112-A01") == volume_of(shelf / "one" / "KB04-261112-A01")


def test_a_file_system_is_known_by_its_identifier(shelf, monkeypatch, tmp_path):
    identifiers = tmp_path / "by-uuid"
    identifiers.mkdir()
    monkeypatch.setattr(volumes, "_IDENTIFIERS", identifiers)
    (identifiers / "4f3a-11").touch()
    real, device = os.stat, os.stat(shelf).st_dev

    class Node:
        st_rdev = device

    monkeypatch.setattr(
        volumes.os, "stat", lambda path, **how: Node if str(path).endswith("4f3a-11") else real(path, **how)
    )
    assert volume_of(shelf / "one").identity == "filesystem:4f3a-11"


def test_a_folder_that_is_away_is_an_error(shelf):
    with pytest.raises(FileNotFoundError):
        volume_of(shelf / "three")
