"""Cards with an XML file beside each clip (XDROOT, M4ROOT). Folders and names: MediaInfoLib's readers, and published
samples of MEDIAPRO.XML. No camera original was at hand."""

import pytest

from review.cards.layouts import read_layout
from review.cards.tree import read_tree
from tests.cards import whole_cards as whole


def read(folder):
    return read_layout(read_tree(folder))


@pytest.mark.parametrize("root", ["PRIVATE/M4ROOT", "M4ROOT", "private/m4root"])
def test_it_works_for_m4root(make_card, root):
    reading = read(make_card(whole.m4root(root=root)))
    assert (reading.layout, reading.findings) == ("MP4 with M4ROOT", ())
    assert [(clip.name, clip.files, clip.sidecars, clip.sound_files) for clip in reading.clips] == [
        (
            name,
            (f"{root}/CLIP/{name}.MP4",),
            (f"{root}/CLIP/{name}M01.XML", f"{root}/SUB/{name}S03.MP4", f"{root}/THMBNL/{name}T01.JPG"),
            (),
        )
        for name in ("C0001", "C0002")
    ]


def test_it_works_for_xdroot(make_card):
    reading = read(make_card(whole.xdroot() | {"XDROOT/Edit/": b"", "XDROOT/UserData/": b""}))
    assert (reading.layout, reading.findings) == ("MXF with XDROOT", ())
    assert [clip.files for clip in reading.clips] == [("XDROOT/Clip/C0001.MXF",), ("XDROOT/Clip/C0002.MXF",)]


def test_the_index_is_matched_without_regard_to_case_and_with_spaces_escaped(make_card):
    card = whole.m4root((1,), index=whole.mediapro(["HARBOUR%20A"]).replace(b"./CLIP", b"./Clip"))
    card = {path.replace("C0001", "Harbour A"): data for path, data in card.items()}
    reading = read(make_card(card))
    assert ([clip.name for clip in reading.clips], reading.findings) == (["Harbour A"], ())


def test_an_index_that_points_out_of_the_card_opens_nothing(make_card, tmp_path):
    (tmp_path / "outside.mp4").write_bytes(b"x")
    index = b'<MediaProfile><Contents><Material uri="../../../../outside.mp4"/></Contents></MediaProfile>'
    findings = read(make_card(whole.m4root((1,), index=index))).findings
    assert ("missing-footage", "PRIVATE/M4ROOT/../../../../outside.mp4") in [
        (each.code, each.where) for each in findings
    ]


def test_an_index_of_a_huge_name_is_told_shortly(make_card):
    index = b'<MediaProfile><Material uri="./CLIP/%s.MP4"/></MediaProfile>' % (b"A" * 100_000)
    assert max(len(each.what) for each in read(make_card(whole.m4root((1,), index=index))).findings) < 1000


def test_a_missing_clip_is_told_once(make_card):
    """By the index, by its XML, or by both."""
    card = whole.m4root()
    del card["PRIVATE/M4ROOT/CLIP/C0002.MP4"]
    findings = read(make_card(card)).findings
    assert [(each.code, each.where) for each in findings] == [
        ("missing-footage", "PRIVATE/M4ROOT/CLIP/C0002.MP4"),
    ]


def test_a_missing_xml_is_told_once(make_card):
    card = whole.m4root()
    del card["PRIVATE/M4ROOT/CLIP/C0002M01.XML"]
    assert [each.code for each in read(make_card(card)).findings] == ["missing-clip-info"]


def test_an_index_without_a_single_clip_left_stops(make_card):
    card = {"PRIVATE/M4ROOT/MEDIAPRO.XML": whole.mediapro(["C0001"]), "DCIM/100KESTR/KES_0001.MOV": b"x"}
    findings = read(make_card(card)).findings
    assert ("stop", "missing-footage") in [(each.severity, each.code) for each in findings]


def test_an_unused_structure_says_nothing(make_card):
    """As cameras of several formats make it when they format a card."""
    unused = {"PRIVATE/M4ROOT/MEDIAPRO.XML": b"<MediaProfile><Contents/></MediaProfile>", "PRIVATE/M4ROOT/CLIP/": b""}
    reading = read(make_card(whole.avchd() | unused))
    assert (reading.layout, reading.findings) == ("AVCHD", ())


def test_a_card_of_two_formats_is_read_whole(make_card):
    reading = read(make_card(whole.avchd() | whole.m4root() | whole.dcf()))
    assert (reading.layout, reading.findings) == ("AVCHD, MP4 with M4ROOT, DCF", ())
    assert len(reading.clips) == 6


def test_footage_where_none_should_be_is_not_hidden(make_card):
    card = whole.m4root() | {"PRIVATE/M4ROOT/CLIP/older/C0001.MP4": b"x", "PRIVATE/M4ROOT/GENERAL/TEST.MOV": b"x"}
    names = [clip.name for clip in read(make_card(card)).clips]
    assert len(names) == 4 and "TEST" in names


def test_clip_information_is_kept_whatever_its_number(make_card):
    card = {path.replace("M01.XML", "M02.XML"): data for path, data in whole.m4root((1,)).items()}
    card["PRIVATE/M4ROOT/MEDIAPRO.XML"] = card["PRIVATE/M4ROOT/MEDIAPRO.XML"].replace(b"M01.XML", b"M02.XML")
    reading = read(make_card(card))
    assert reading.findings == ()
    assert "PRIVATE/M4ROOT/CLIP/C0001M02.XML" in reading.clips[0].sidecars
