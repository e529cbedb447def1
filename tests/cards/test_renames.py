"""Renamed, lost and new told apart, by bytes: the house's own rules."""

import subprocess

import pytest

from review.cards.checking import check_card
from review.cards.renames import renamed


def test_it_works():
    assert renamed({"A.MOV": {"md5": "1"}, "B.MOV": {"md5": "2"}}, {"C.MOV": {"md5": "1"}}) == {"C.MOV": "A.MOV"}


def test_all_hashes_that_both_have_must_agree_and_there_must_be_one():
    lost = {"A.MOV": {"md5": "1", "sha1": "1"}}
    assert renamed(lost, {"C.MOV": {"md5": "1", "sha1": "2"}}) == {}
    assert renamed(lost, {"C.MOV": {"md5": "2", "sha1": "1"}}) == {}
    assert renamed(lost, {"C.MOV": {"xxh64": "1"}}) == {}
    assert renamed(lost, {"C.MOV": {"xxh64": "9", "sha1": "1"}}) == {"C.MOV": "A.MOV"}


def test_one_that_kept_its_name_goes_first_and_each_is_taken_once():
    lost = {"old/A.MOV": {"md5": "1"}, "old/B.MOV": {"md5": "1"}}
    strange = {"new/B.MOV": {"md5": "1"}, "new/A.MOV": {"md5": "1"}, "new/C.MOV": {"md5": "1"}}
    assert renamed(lost, strange) == {"new/A.MOV": "old/A.MOV", "new/B.MOV": "old/B.MOV"}
    assert renamed(lost, {"X.MOV": {"md5": "1"}}) == {"X.MOV": "old/A.MOV"}


# On a card -------------------------------------------------------------------------------------


@pytest.fixture(params=["md5sum", "ascmhl"])
def card(request, make_card, ascmhl_tool):
    folder = make_card({"CLIP/A.MOV": b"abc", "CLIP/B.MOV": b"b", "notes.txt": b"n"})
    if request.param == "md5sum":
        listed = subprocess.run(["md5sum", "CLIP/A.MOV", "CLIP/B.MOV", "notes.txt"], cwd=folder, capture_output=True)
        (folder / "card.md5").write_bytes(listed.stdout)
    else:
        ascmhl_tool("create", "-h", "c4", folder)
    return folder


def check(folder, **more):
    return check_card(folder, production="KB04", probe=lambda path: "a clip", **more)


def said(folder, **more):
    return sorted((each.severity, each.code, each.where) for each in check(folder, **more).findings)


def test_a_renamed_file_stops_and_says_that_nothing_is_lost(card):
    (card / "CLIP/A.MOV").rename(card / "CLIP/Z.MOV")
    report = check(card)
    (finding,) = report.findings
    assert (finding.severity, finding.code, finding.where) == ("stop", "renamed", "CLIP/Z.MOV")
    assert "holds the very bytes that were listed as CLIP/A.MOV" in finding.what and "Nothing is lost" in finding.what
    assert "the name and place back" in finding.next
    assert report.proof == "partial"


def test_altered_missing_new_and_renamed_are_told_apart_on_one_card(card):
    (card / "CLIP/A.MOV").rename(card / "A.MOV")
    (card / "CLIP/B.MOV").write_bytes(b"B")
    (card / "notes.txt").unlink()
    (card / "CLIP/C.MOV").write_bytes(b"c")
    (card / "late.txt").write_bytes(b"late")
    assert said(card) == [
        ("caution", "unlisted", "late.txt"),
        ("stop", "altered", "CLIP/B.MOV"),
        ("stop", "missing", "notes.txt"),
        ("stop", "renamed", "A.MOV"),
        ("stop", "unproven", "CLIP/C.MOV"),
    ]


def test_a_file_that_was_renamed_and_altered_is_lost(card):
    (card / "notes.txt").unlink()
    (card / "notes2.txt").write_bytes(b"N")
    assert said(card) == [("caution", "unlisted", "notes2.txt"), ("stop", "missing", "notes.txt")]


def test_a_renaming_since_the_card_was_trusted_is_told_without_any_list(make_card):
    folder = make_card({"CLIP/A.MOV": b"abc", "CLIP/B.MOV": b"b"})
    earlier = {file.path: file.hashes for file in check(folder).files}
    (folder / "CLIP/A.MOV").rename(folder / "CLIP/Z.MOV")
    (folder / "CLIP/B.MOV").unlink()
    assert said(folder, earlier=earlier) == [
        ("caution", "no-checksums", ""),
        ("stop", "gone-since", "CLIP/B.MOV"),
        ("stop", "renamed-since", "CLIP/Z.MOV"),
    ]


def test_a_renaming_is_told_once_where_a_list_and_the_time_of_trust_both_know(card):
    earlier = {file.path: file.hashes for file in check(card).files}
    (card / "CLIP/A.MOV").rename(card / "CLIP/Z.MOV")
    assert said(card, earlier=earlier) == [("stop", "renamed", "CLIP/Z.MOV")]
