"""Cards of plain video files. What belongs to what: common practice, no source."""

from review.cards.layouts import read_layout
from review.cards.tree import read_tree


def read(make_card, *paths):
    return read_layout(read_tree(make_card(dict.fromkeys(paths, b"x"))))


def test_it_works(make_card):
    reading = read(make_card, "CLIP/A001.MOV", "CLIP/A002.mp4", "B/A003.MXF", "B/notes.txt")
    assert (reading.layout, reading.findings) == ("Video files", ())
    assert [(clip.name, clip.files, clip.sidecars, clip.kind) for clip in reading.clips] == [
        ("A003", ("B/A003.MXF",), (), "video"),
        ("A001", ("CLIP/A001.MOV",), (), "video"),
        ("A002", ("CLIP/A002.mp4",), (), "video"),
    ]


def test_files_of_the_same_stem_in_the_same_folder_are_sidecars(make_card):
    reading = read(make_card, "CLIP/A001.MOV", "CLIP/a001.xml", "CLIP/A001.THM", "CLIP/A0011.THM", "B/A001.BIN")
    assert reading.clips[0].sidecars == ("CLIP/A001.THM", "CLIP/a001.xml")


def test_a_numbered_xml_belongs_to_its_clip(make_card):
    reading = read(make_card, "CLIP/C0001.MP4", "CLIP/C0001M01.XML", "CLIP/C0002M01.XML", "CLIP/C0001M01.BIN")
    assert reading.clips[0].sidecars == ("CLIP/C0001M01.XML",)


def test_clips_of_the_same_stem_are_named_by_their_paths(make_card):
    reading = read(make_card, "100/A001.MOV", "101/A001.MOV", "101/A002.MOV", "C.MOV", "C.MP4")
    assert [clip.name for clip in reading.clips] == ["100/A001", "101/A001", "A002", "C.MOV", "C.MP4"]


def test_sound_recorded_beside_the_picture_is_a_clip_of_its_own(make_card):
    reading = read(make_card, "A001.MOV", "A001.WAV", "A001.XML")
    assert [(clip.name, clip.kind) for clip in reading.clips] == [("A001.MOV", "video"), ("A001.WAV", "sound")]


def test_a_few_odd_files_beside_footage_say_nothing(make_card):
    """Only where most of the footage has a companion of a kind is one missed, and only a name like theirs is alone."""
    few = ["A/A001.MOV", "A/A002.MOV", "A/A003.MOV", "A/A001.XML", "A/A009.XML"]
    most = ["B/B001.MOV", "B/B002.MOV", "B/B001.XML", "B/B002.XML", "B/project.xml"]
    one = ["C/C001.MOV", "C/C001.XML", "C/C009.XML"]
    assert read(make_card, *few, *most, *one).findings == ()


def test_a_numbered_xml_beside_mxf_of_a_plain_folder_shows_where_it_is_from(make_card):
    findings = read(make_card, "A/C0001.MXF", "A/C0001M01.XML").findings
    assert [(each.code, each.where) for each in findings] == [("too-shallow", "A")]


def test_an_empty_folder_stops_in_its_own_words(make_card):
    for paths in ((), ("CLIP/",)):
        findings = read(make_card, *paths).findings
        assert [(each.severity, each.code) for each in findings] == [("stop", "empty-card")]
        assert "holds no file at all" in findings[0].what
        assert "Do not wipe" in findings[0].next


def test_a_card_without_footage_stops(make_card):
    findings = read(make_card, "DCIM/100ABCDE/DSC_0001.JPG", "notes.txt").findings
    assert [(each.severity, each.code) for each in findings] == [("stop", "no-footage")]
    assert "No footage was found among the card's 2 files" in findings[0].what
