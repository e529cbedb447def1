"""MXF cards with CONTENTS. Folders and the XML's elements: MediaInfoLib's reader of such cards; what LASTCLIP.TXT,
ICON, PROXY and VOICE hold: from memory. No camera original was at hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.layouts import read_layout
from review.cards.layouts.contents_xml import parse_clip_xml
from review.cards.tree import read_tree
from tests.cards import whole_cards as whole


def read(folder):
    return read_layout(read_tree(folder))


def test_it_works(make_card):
    reading = read(make_card(whole.contents()))
    assert (reading.layout, reading.findings) == ("MXF with CONTENTS", ())
    first, second = reading.clips
    assert (first.name, first.kind, first.files) == ("0001AA", "video", ("CONTENTS/VIDEO/0001AA.MXF",))
    assert first.sound_files == (("CONTENTS/AUDIO/0001AA00.MXF", "CONTENTS/AUDIO/0001AA01.MXF"),)
    assert first.sidecars == (
        "CONTENTS/CLIP/0001AA.XML",
        "CONTENTS/ICON/0001AA.BMP",
        "CONTENTS/PROXY/0001AA.MP4",
        "CONTENTS/VOICE/0001AA00.WAV",
    )
    assert second.name == "0002AB"


def test_names_are_matched_without_regard_to_case(make_card):
    files = {path.lower(): data for path, data in whole.contents().items()}
    reading = read(make_card(files))
    assert (len(reading.clips), reading.findings) == (2, ())
    assert reading.clips[0].sound_files == (("contents/audio/0001aa00.mxf", "contents/audio/0001aa01.mxf"),)


def test_sound_stays_in_the_order_of_its_channels(make_card):
    (clip,) = read(make_card(whole.contents({"0001AA": {"sounds": 12}}))).clips
    assert [path[-6:-4] for path in clip.sound_files[0]] == [f"{channel:02}" for channel in range(12)]


def test_a_clip_without_sound_has_none_beside_it(make_card):
    (clip,) = read(make_card(whole.contents({"0001AA": {"sounds": 0}}))).clips
    assert clip.sound_files == ()


def test_the_parts_of_a_shot_are_one_clip_in_the_order_of_the_shot(make_card):
    """The names do not rise along the shot: the offsets count."""
    card = whole.contents(
        {
            "0009ZZ": {"shot": "S", "offset": 0, "following": "0002AB"},
            "0002AB": {"shot": "S", "offset": 100, "previous": "0009ZZ", "following": "0005CC"},
            "0005CC": {"shot": "S", "offset": 200, "previous": "0002AB"},
            "0007EE": {"shot": "T", "offset": 0},
        }
    )
    reading = read(make_card(card))
    assert reading.findings == ()
    shot, other = sorted(reading.clips, key=lambda clip: -len(clip.files))
    assert [path[-10:-4] for path in shot.files] == ["0009ZZ", "0002AB", "0005CC"]
    assert [[path[-12:-4] for path in beside] for beside in shot.sound_files] == [
        ["0009ZZ00", "0009ZZ01"],
        ["0002AB00", "0002AB01"],
        ["0005CC00", "0005CC01"],
    ]
    assert len([path for path in shot.sidecars if path.startswith("CONTENTS/CLIP/")]) == 3
    assert (shot.name, other.name) == ("0009ZZ", "0007EE")


def test_where_nothing_is_said_of_connections_offset_and_duration_join(make_card):
    parts = {"0001AA": {"shot": "S"}, "0002AB": {"shot": "S", "offset": 100}, "0003AC": {"shot": "S", "offset": 250}}
    clips = read(make_card(whole.contents(parts))).clips
    assert [len(clip.files) for clip in clips] == [2, 1]


def test_a_shot_whose_middle_is_on_another_card_is_two_clips_and_says_so(make_card):
    card = whole.contents(
        {
            "0001AA": {"shot": "S", "offset": 0, "following": "0001BB"},
            "0002AA": {"shot": "S", "offset": 200, "previous": "0001BB"},
        }
    )
    reading = read(make_card(card))
    assert [clip.name for clip in reading.clips] == ["0001AA", "0002AA"]
    assert [(each.severity, each.code, each.where) for each in reading.findings] == [
        ("caution", "goes-on-elsewhere", "CONTENTS/VIDEO/0001AA.MXF"),
        ("caution", "goes-on-elsewhere", "CONTENTS/VIDEO/0002AA.MXF"),
    ]
    assert "id 060A2B34-0001BB" in reading.findings[0].what


def test_clips_that_claim_each_other_in_a_ring_are_each_given_once(make_card):
    card = whole.contents(
        {
            "0001AA": {"shot": "S", "offset": 0, "previous": "0002AB", "following": "0002AB"},
            "0002AB": {"shot": "S", "offset": 0, "previous": "0001AA", "following": "0001AA"},
        }
    )
    assert sorted(path[-10:-4] for clip in read(make_card(card)).clips for path in clip.files) == ["0001AA", "0002AB"]


def test_sound_whose_picture_did_not_come_is_not_hidden(make_card):
    card = whole.contents()
    del card["CONTENTS/VIDEO/0002AB.MXF"]
    reading = read(make_card(card))
    assert [(clip.kind, clip.files) for clip in reading.clips][1] == ("sound", ("CONTENTS/AUDIO/0002AB00.MXF",))
    assert reading.clips[1].sound_files == (("CONTENTS/AUDIO/0002AB01.MXF",),)


def test_other_footage_inside_the_structure_is_not_hidden(make_card):
    clips = read(make_card(whole.contents() | {"CONTENTS/VIDEO/TEST.MOV": b"x", "A.MOV": b"x"})).clips
    assert [clip.name for clip in clips] == ["0001AA", "0002AB", "A", "TEST"]


def test_picture_and_sound_in_one_folder_still_belong_together(make_card):
    files = [f"rushes/{name}.MXF" for name in ("0001AA", "0001AA00", "0001AA01", "0002AB", "A001C001")]
    clips = read(make_card(dict.fromkeys(files, whole.mxf()))).clips
    assert [(clip.name, clip.sound_files) for clip in clips] == [
        ("0001AA", (("rushes/0001AA00.MXF", "rushes/0001AA01.MXF"),)),
        ("0002AB", ()),
        ("A001C001", ()),
    ]


def test_folders_called_clip_and_video_alone_are_no_such_card(make_card):
    reading = read(make_card({"CLIP/A.MOV": b"x", "VIDEO/B.MXF": whole.mxf()}))
    assert (reading.layout, reading.findings) == ("Video files", ())


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not XML"),
        (b"<Main><ClipContent/></Main>", "does not say which files"),
        (b'<!DOCTYPE x [<!ENTITY a "b">]><Main>&a;</Main>', "not XML"),
        (b"<Main><ClipContent><EssenceList>", "not XML"),
    ],
)
def test_xml_that_describes_no_clip_is_refused(data, words):
    with pytest.raises(ValueError, match=words):
        parse_clip_xml(data)


@given(st.binary(max_size=300) | st.binary(max_size=60).map(lambda noise: whole.clip_xml("0001AA")[:-60] + noise))
def test_any_bytes_are_a_clip_or_a_refusal(data):
    try:
        assert parse_clip_xml(data).sound_files >= 0
    except ValueError as problem:
        assert str(problem)
