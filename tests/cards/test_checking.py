"""Checking whole cards. What must hold a card and what must not: the house's own rules, after common practice."""

import shutil
import subprocess

import pytest

from review.cards.checking import check_card
from review.cards.hashing import hash_bytes
from review.cards.tree import CardUnreadable

MD5_OF_ABC = "900150983cd24fb0d6963f7d28e17f72"


def probe(path):
    """Stands for the media probe: refuses what begins with 'bad'."""
    if path.read_bytes().startswith(b"bad"):
        raise ValueError("there is no picture in it.")
    return f"probed {path.name}"


def check(folder, production="KB04", **more):
    return check_card(folder, production=production, probe=probe, **more)


def md5sum(folder, *paths, name="card.md5"):
    listed = subprocess.run(["md5sum", *paths], cwd=folder, capture_output=True, check=True).stdout
    (folder / name).write_bytes(listed)


@pytest.fixture
def card(make_card):
    """A card with two clips and a note, whose every file is in an MD5 list."""
    folder = make_card({"CLIP/A.MOV": b"abc", "CLIP/B.MOV": b"b", "CLIP/A.XML": b"x", "notes.txt": b"n"})
    md5sum(folder, "CLIP/A.MOV", "CLIP/B.MOV", "CLIP/A.XML", "notes.txt")
    return folder


def only(report):
    (finding,) = report.findings
    return finding


def test_it_works(card):
    report = check(card)
    assert (report.findings, report.held, report.proof) == ((), False, "checksums")
    assert (report.name, report.card_name.camera, report.layout) == ("KB04-261112-A03", "A", "Video files")
    assert report.manifests == ("card.md5",)
    assert [clip.plan.name for clip in report.clips] == ["A", "B"]
    assert report.clips[0].probes == ("probed A.MOV",)
    by_path = {file.path: file for file in report.files}
    assert by_path["CLIP/A.MOV"].hashes == {"md5": MD5_OF_ABC, "xxh128": hash_bytes(b"abc", "xxh128")}
    assert by_path["CLIP/A.MOV"].proven and not by_path["card.md5"].proven
    assert report.total_bytes == sum(file.size for file in report.files)


def test_nothing_is_written(card):
    before = {path: path.stat().st_mtime_ns for path in [card, *card.rglob("*")]}
    check(card)
    assert {path: path.stat().st_mtime_ns for path in [card, *card.rglob("*")]} == before


def test_an_avchd_card_of_seamless_parts_is_one_clip_with_a_probe_for_each(make_card, avchd):
    files = avchd({"00001": bytes(192), "00002": bytes(192)}, [("00001", 1), ("00002", 6)])
    (clip,) = check(make_card(files)).clips
    assert clip.probes == ("probed 00001.MTS", "probed 00002.MTS")


def test_a_name_that_does_not_fit_stops_with_the_nearest(card):
    folder = card.rename(card.with_name("kb04-261112-a3"))
    report = check(folder)
    finding = only(report)
    assert (finding.severity, finding.code, report.card_name) == ("stop", "name-misfit", None)
    assert "lower case" in finding.what
    assert "Rename the folder to KB04-261112-A03" in finding.next


def test_another_productions_card_stops(card):
    finding = only(check(card, production="ZZ99"))
    assert (finding.severity, finding.code) == ("stop", "wrong-production")
    assert "says production KB04, but this is ZZ99" in finding.what
    assert check(card, production=None).findings == ()


def test_an_altered_file_stops(card):
    (card / "CLIP/A.MOV").write_bytes(b"abd")
    report = check(card)
    finding = only(report)
    assert (finding.severity, finding.code, finding.where) == ("stop", "altered", "CLIP/A.MOV")
    assert "its md5 checksum differs" in finding.what
    assert finding.next == "Do not wipe the card. Copy this file again from it, then check again."
    assert report.held and report.proof == "partial"
    assert [file.path for file in report.files if not file.proven] == ["CLIP/A.MOV", "card.md5"]


def test_a_single_flipped_bit_in_a_big_file_stops(make_card):
    data = bytearray(9_000_000)
    folder = make_card({"A.MOV": data})
    md5sum(folder, "A.MOV")
    data[-5_000_000] ^= 1
    (folder / "A.MOV").write_bytes(data)
    assert only(check(folder)).code == "altered"


def test_an_altered_file_of_another_size_says_both(card, ascmhl_tool):
    (card / "card.md5").unlink()
    assert ascmhl_tool("create", "-h", "xxh128", card).returncode == 0
    assert check(card).proof == "checksums"
    (card / "CLIP/A.MOV").write_bytes(b"abcd")
    assert only(check(card)).what.endswith("its xxh128 checksum differs. It has 4 bytes; 3 were listed.")


def test_a_listed_file_that_did_not_come_stops(card):
    (card / "CLIP/A.XML").unlink()
    finding = only(check(card))
    assert (finding.severity, finding.code, finding.where) == ("stop", "missing", "CLIP/A.XML")
    assert "is listed but is not here" in finding.what


def test_footage_that_no_list_covers_stops(card):
    (card / "CLIP/C.MOV").write_bytes(b"c")
    report = check(card)
    finding = only(report)
    assert (finding.severity, finding.code, finding.where) == ("stop", "unproven", "CLIP/C.MOV")
    assert "no checksum list covers" in finding.what and "production's own rules" in finding.next
    assert report.proof == "partial"


def test_other_files_that_no_list_covers_are_a_caution(card):
    (card / "added.txt").write_bytes(b"c")
    report = check(card)
    finding = only(report)
    assert (finding.severity, finding.code, finding.where) == ("caution", "unlisted", "added.txt")
    assert (report.held, report.proof) == (False, "partial")


def test_files_left_out_on_purpose_are_a_note_but_footage_is_not_excused(make_card, ascmhl_tool):
    folder = make_card({"A.MOV": b"abc", "B.MOV": b"b", "cache.tmp": b"t"})
    ascmhl_tool("create", "-i", "*.tmp", "-i", "B.MOV", folder)
    findings = check(folder).findings
    assert [(each.severity, each.code, each.where) for each in findings] == [
        ("stop", "unproven", "B.MOV"),
        ("note", "ignored", "cache.tmp"),
    ]


def test_a_card_without_checksums_is_a_caution_and_is_hashed(make_card):
    report = check(make_card({"A.MOV": b"abc"}))
    finding = only(report)
    assert (finding.severity, finding.code) == ("caution", "no-checksums")
    assert "nothing to compare with: this proves only that the copy can be read" in finding.what
    assert "production's own rules" in finding.next
    assert (report.held, report.proof) == (False, "none")
    assert report.files[0].hashes == {"xxh128": hash_bytes(b"abc", "xxh128")}
    assert not report.files[0].proven


def test_a_damaged_list_never_makes_a_card_good(make_card):
    folder = make_card({"A.MOV": b"abc", "card.md5": f"{MD5_OF_ABC[:-2]}  A.MOV\n".encode()})
    report = check(folder)
    assert (report.held, report.proof) == (True, "none")
    assert [each.code for each in report.findings] == ["bad-list", "no-checksums"]


def test_an_empty_file_stops_once(make_card):
    report = check(make_card({"A.MOV": b"", "notes.txt": b""}))
    stops = [(each.code, each.where) for each in report.findings if each.severity == "stop"]
    assert stops == [("empty-file", "A.MOV"), ("empty-file", "notes.txt")]
    assert report.clips[0].probes == ()


def test_an_empty_card_stops(make_card):
    report = check(make_card({}))
    assert (only(report).code, report.proof, report.clips) == ("empty-card", "none", ())


def test_footage_that_is_refused_stops_and_its_clip_has_no_probe(card):
    (card / "CLIP/B.MOV").write_bytes(b"bad")
    md5sum(card, "CLIP/A.MOV", "CLIP/B.MOV", "CLIP/A.XML", "notes.txt")
    report = check(card)
    finding = only(report)
    assert (finding.severity, finding.code, finding.where) == ("stop", "unreadable", "CLIP/B.MOV")
    assert finding.what == "CLIP/B.MOV cannot be used as footage: there is no picture in it."
    assert [clip.probes for clip in report.clips] == [("probed A.MOV",), ()]


def test_a_file_that_cannot_be_read_stops(card, monkeypatch):
    monkeypatch.setattr(
        "review.cards.checking.hash_files",
        lambda folder, wanted, *_, **__: ({}, dict.fromkeys(wanted, "Input/output error")),
    )
    report = check(card)
    assert {each.code for each in report.findings} == {"unreadable"}
    assert "CLIP/A.MOV could not be read to its end (Input/output error)" in report.findings[0].what
    assert report.held and report.proof == "partial"


def test_a_folder_that_changes_meanwhile_stops(card):
    def go_on_copying(done, total):
        (card / "late.txt").write_bytes(b"late")

    finding = only(check(card, progress=go_on_copying))
    assert (finding.severity, finding.code) == ("stop", "changed-meanwhile")
    assert "still being copied" in finding.what


def test_progress_runs_from_nothing_to_all_bytes(card):
    told = []
    report = check(card, progress=lambda done, total: told.append((done, total)))
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[-1] == (report.total_bytes, report.total_bytes)


def test_stops_come_before_cautions_and_notes(make_card):
    folder = make_card({"A.MOV": b"abc", "B.MOV": b"b", "a.txt": b"a"}, name="rushes")
    md5sum(folder, "A.MOV")
    (folder / "A.MOV").write_bytes(b"abd")
    findings = check(folder).findings
    assert [each.code for each in findings] == ["name-misfit", "altered", "unproven", "unlisted"]


def test_a_link_stops(card):
    (card / "CLIP/L.MOV").symlink_to("A.MOV")
    assert [(each.code, each.where) for each in check(card).findings] == [("link", "CLIP/L.MOV")]


def test_a_folder_that_is_gone_is_refused(card):
    shutil.rmtree(card)
    with pytest.raises(CardUnreadable, match="is not there"):
        check(card)
