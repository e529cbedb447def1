"""Comparing a second folder with what is known of a card. The digests are xxhash's own, of the package `xxhash`."""

import os

import pytest
import xxhash

from review.cards import comparing
from review.cards.comparing import KnownFile, compare_copy, contents_of
from review.cards.hashing import hash_files

FILES = {"CLIP/A.MOV": b"abc" * 100, "CLIP/B.MOV": b"b" * 50, "CAMERA.DAT": b"c", "card.md5": b"list"}
KNOWN = {path: KnownFile(len(data), xxhash.xxh3_128_hexdigest(data)) for path, data in FILES.items()}


@pytest.fixture
def copy(make_card):
    return make_card(FILES)


def told(folder):
    report = compare_copy(folder, KNOWN)
    return report.same, [(each.code, each.where) for each in report.findings]


def test_it_works(copy):
    steps = []
    report = compare_copy(copy, KNOWN, progress=lambda done, total: steps.append((done, total)))
    assert report.same and report.findings == ()
    assert steps[-1] == (351, 351)


def test_checksum_lists_may_differ(copy):
    (copy / "card.md5").unlink()
    (copy / "other.sha256").write_bytes(b"x")
    assert told(copy) == (True, [])


def test_a_file_that_is_missing(copy):
    (copy / "CLIP/B.MOV").unlink()
    assert told(copy) == (False, [("missing", "CLIP/B.MOV")])


def test_a_byte_that_is_flipped_with_size_and_time_kept(copy):
    path = copy / "CLIP/A.MOV"
    times = path.stat()
    path.write_bytes(b"abd" + b"abc" * 99)
    os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert told(copy) == (False, [("altered", "CLIP/A.MOV")])


def test_a_file_that_was_cut_short_says_by_how_much(copy):
    (copy / "CLIP/A.MOV").write_bytes(b"abc")
    (finding,) = compare_copy(copy, KNOWN).findings
    assert "it has 3 bytes, and had 300" in finding.what


def test_a_file_too_many_is_only_a_caution(copy):
    (copy / "notes.txt").write_bytes(b"n")
    assert told(copy) == (True, [("not-of-the-card", "notes.txt")])


def test_another_card_of_the_same_name_is_called_so(make_card):
    other = make_card({"CLIP/A.MOV": b"x", "CLIP/B.MOV": b"y", "CAMERA.DAT": b"z"})
    same, codes = told(other)
    assert not same and ("another-card", "") in codes


def test_a_folder_that_changes_meanwhile(copy):
    def touch(done, total):
        (copy / "late.mov").touch()

    report = compare_copy(copy, KNOWN, progress=touch)
    assert not report.same and report.findings[0].code == "changed-meanwhile"


def test_a_file_that_cannot_be_read(copy, monkeypatch):
    def hash_all_but_one(folder, wanted, *_, **__):
        hashes, _ = hash_files(folder, wanted)
        return {path: each for path, each in hashes.items() if path != "CLIP/B.MOV"}, {"CLIP/B.MOV": "I/O error"}

    monkeypatch.setattr(comparing, "hash_files", hash_all_but_one)
    assert told(copy) == (False, [("unreadable", "CLIP/B.MOV")])


def test_contents_do_not_depend_on_the_name_or_on_lists():
    sizes = {path: len(data) for path, data in FILES.items()}
    assert contents_of(sizes) == contents_of({path: size for path, size in sizes.items() if path != "card.md5"})
    assert contents_of(sizes) != contents_of(sizes | {"CAMERA.DAT": 2})
    assert contents_of({}) == ""
