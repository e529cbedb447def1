"""Accidents of copying: each has its own code and words. What goes wrong, and how: common practice, no source."""

from pathlib import Path

import pytest

from review.cards.findings import CAUTION
from review.cards.layouts import read_layout
from review.cards.tree import read_tree
from tests.cards import whole_cards as whole
from tests.cards.accidents import ACCIDENTS, reading_of, table

WHOLE = {
    "AVCHD": (whole.avchd, 2),
    "MXF with CONTENTS": (whole.contents, 2),
    "MXF with XDROOT": (whole.xdroot, 2),
    "MP4 with M4ROOT": (whole.m4root, 2),
    "DCF": (whole.dcf, 2),
    "Sound files": (whole.recorder, 2),
    "Video files": (whole.plain, 3),
}


@pytest.mark.parametrize("layout", WHOLE)
def test_nothing_is_said_of_a_whole_card(make_card, layout):
    build, clips = WHOLE[layout]
    reading = read_layout(read_tree(make_card(build())))
    assert (reading.layout, len(reading.clips), reading.findings) == (layout, clips, ())


@pytest.mark.parametrize("litter", [".DS_Store", "CLIP/._C0001.MP4", "Thumbs.db", ".Trashes/501/C0009.MP4", "._x.MTS"])
@pytest.mark.parametrize("layout", WHOLE)
def test_what_belongs_to_a_computer_is_neither_missed_nor_needed(make_card, layout, litter):
    build, clips = WHOLE[layout]
    reading = read_layout(read_tree(make_card(build() | {litter: b"x"})))
    assert (reading.layout, len(reading.clips), reading.findings) == (layout, clips, ())


@pytest.mark.parametrize("accident", ACCIDENTS, ids=lambda each: f"{each.layout}: {each.what}")
def test_an_accident_is_told(tmp_path, accident):
    reading = reading_of(accident, tmp_path / "KB04-261112-A03")
    said = [finding for finding in reading.findings if finding.code == accident.code]
    assert said, f"only these were said: {[finding.code for finding in reading.findings]}"
    assert said[0].severity == accident.severity
    for words in accident.words:
        assert words in said[0].what
    assert said[0].next.endswith(".")
    assert len(reading.clips) == accident.clips


def test_cautions_alone_do_not_hold_a_card_that_only_lies_deeper(tmp_path):
    deeper = [accident for accident in ACCIDENTS if accident.code == "too-deep"]
    for place, accident in enumerate(deeper):
        findings = reading_of(accident, tmp_path / str(place) / "KB04-261112-A03").findings
        assert [(each.severity, each.code) for each in findings] == [(CAUTION, "too-deep")], accident
    assert len(deeper) >= 5


@pytest.mark.parametrize("folder", ["CLIP", "A001", "DAY1/CAMERA", "KB04-261112"])
def test_footage_in_a_folder_of_its_own_is_not_too_deep(make_card, folder):
    assert read_layout(read_tree(make_card({f"{folder}/A001.MOV": b"x"}))).findings == ()


def test_another_card_inside_a_card_is_told(make_card):
    reading = read_layout(read_tree(make_card(whole.avchd() | {"KB04-261113-B01/A001.MOV": b"x"})))
    assert [each.code for each in reading.findings] == ["several-cards"]
    assert "the folder itself, KB04-261113-B01" in reading.findings[0].what


def test_numbers_at_the_end_of_a_name_are_no_second_copies_where_names_are_free(make_card):
    names = ["A001.MOV", "A001_1.MOV", "A001_2.MOV", "copyright.MOV", "Take (one).MOV"]
    assert read_layout(read_tree(make_card({name: name.encode() for name in names}))).findings == ()


BOMB = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><MediaProfile>&b;</MediaProfile>'


@pytest.mark.parametrize(
    "noise", [BOMB, b"\0" * 500, b"<a>" * 200_000, b"<a b='\xff'/>"], ids=["bomb", "0", "deep", "odd"]
)
@pytest.mark.parametrize(
    ("build", "path", "code"),
    [
        (whole.m4root, "PRIVATE/M4ROOT/MEDIAPRO.XML", "bad-index"),
        (whole.contents, "CONTENTS/CLIP/0002AB.XML", "bad-clip-info"),
    ],
)
def test_hostile_xml_is_told_and_hides_no_clip(make_card, build, path, code, noise):
    reading = read_layout(read_tree(make_card(build() | {path: noise})))
    assert [each.code for each in reading.findings] == [code]
    assert len(reading.clips) == 2
    assert len(reading.findings[0].what) < 500


def test_xml_too_long_to_be_one_is_told(make_card):
    reading = read_layout(read_tree(make_card(whole.m4root() | {"PRIVATE/M4ROOT/MEDIAPRO.XML": bytes(5 << 20)})))
    assert "too big to be one: 5,242,880 bytes" in reading.findings[0].what


def test_the_table_for_people_has_a_row_for_each():
    lines = table().splitlines()
    assert len(lines) == len(ACCIDENTS) + 2
    assert (
        "| AVCHD | only the stream files came | **stop** `partial-copy`: Only the stream files of an AVCHD card"
        in lines[2]
    )
    assert table() in (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(), "print it anew"
