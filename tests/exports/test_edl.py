"""CMX3600 lists as written: columns, wording, splitting and refusals. Reading them back is in test_edl_read_back."""

from pathlib import Path

import pytest
from hypothesis import given, settings

from review.exports import ExportRefused, cmx3600, is_legal_reel
from review.timecode import Rate, Timebase

from .pulls import DROP, PAL, event, pull, pulls

GOLDEN = Path(__file__).parent / "golden"


def text_of(selects) -> str:
    (file,) = cmx3600(selects)
    return file.content.decode("ascii")


def lines_of(selects) -> list[str]:
    return text_of(selects).split("\r\n")


def event_lines(text: str) -> list[str]:
    return [line for line in text.split("\r\n") if line[:3].isdigit()]


def test_a_small_drop_frame_list_is_written_as_by_hand():
    # Labels by hand from the rules of SMPTE ST 12-1: at 29.97 drop the tenth hour starts at frame 1,078,920;
    # 1,800 frames on is 00:01:00;02 and 17,982 frames on 00:10:00;00. A day has 2,589,408 frames.
    takes = {"timebase": DROP, "clip_start": 1_078_920, "clip_frames": 20_000}
    selects = pull(
        event(**takes, in_frame=1_790, out_frame=1_810),
        event(**takes, in_frame=17_972, out_frame=17_992, channels=1, source_timecode=False),
        event(**takes, in_frame=0, out_frame=1_760, channels=0, tags=(), note=""),
        event(
            card="KB04-261112-B01",
            reel="61112B01",
            file="B001C009.WAV",
            clip="B001C009",
            timebase=DROP,
            clip_start=2_589_408 - 30,
            clip_frames=60,
            in_frame=0,
            out_frame=60,
            has_picture=False,
            channels=6,
            tags=(),
            note="the bells, all of them,\nand the wind in the microphone until the door shuts",
        ),
        title="Le château – jour 3",
    )
    golden = (GOLDEN / "drop_frame.edl").read_text("ascii").replace("\n", "\r\n")
    assert text_of(selects) == golden


def test_columns_are_where_readers_look_for_them():
    # Facts of CMX3600 as public parsers read them (pycmx's column table), counted from 1.
    line = lines_of(pull(event(reel="A3")))[2]
    columns = {
        (1, 3): "001",
        (4, 5): "  ",
        (6, 13): "A3      ",
        (14, 14): " ",
        (15, 18): "AA/V",
        (19, 20): "  ",
        (21, 24): "C   ",
        (25, 29): "     ",
        (30, 40): "10:00:02:00",
        (42, 52): "10:00:06:00",
        (54, 64): "01:00:00:00",
        (66, 76): "01:00:04:00",
    }
    assert {place: line[place[0] - 1 : place[1]] for place in columns} == columns
    assert len(line) == 76


@pytest.mark.parametrize(
    ("has_picture", "channels", "column", "extra"),
    [
        # Facts of CMX3600 as public parsers read them (the channel maps of pycmx and OpenTimelineIO's adapter).
        (True, 0, "V   ", None),
        (True, 1, "B   ", None),
        (True, 2, "AA/V", None),
        (True, 3, "AA/V", "AUD  3"),
        (True, 4, "AA/V", "AUD  3    4"),
        (True, 8, "AA/V", "AUD  3    4"),
        (False, 0, "NONE", None),
        (False, 1, "A   ", None),
        (False, 2, "AA  ", None),
        (False, 4, "AA  ", "AUD  3    4"),
    ],
)
def test_channels_are_named_by_picture_and_tracks(has_picture, channels, column, extra):
    lines = lines_of(pull(event(has_picture=has_picture, channels=channels)))
    assert lines[2][14:18] == column
    assert lines[3] == (extra or "* FROM CLIP NAME: A003C001")


@pytest.mark.parametrize(
    ("timebase", "fcm", "rate"),
    [
        (PAL, "NON-DROP FRAME", "25"),
        (Timebase(Rate(24000, 1001)), "NON-DROP FRAME", "23.976"),
        (Timebase(Rate(30000, 1001)), "NON-DROP FRAME", "29.97NDF"),
        (DROP, "DROP FRAME", "29.97DF"),
        (Timebase(Rate(60000, 1001), drop=True), "DROP FRAME", "59.94DF"),
    ],
)
def test_the_frame_code_mode_and_the_rate_are_said(timebase, fcm, rate):
    lines = lines_of(pull(event(timebase=timebase)))
    assert lines[1] == f"FCM: {fcm}"
    assert f"* COMMENT: RATE {rate}" in lines


def test_lines_end_in_cr_lf_and_hold_printable_ascii_only():
    # ASCII is what SMPTE 258M refers to; CR LF is common practice, no source.
    content = cmx3600(pull(event(note="山羊\x00\n🐐\tµ", clip="Ünter\r\nwegs")))[0].content
    assert content.endswith(b"\r\n")
    assert all(32 <= byte < 127 for byte in content.replace(b"\r\n", b""))
    assert b"* FROM CLIP NAME: Unter  wegs\r\n" in content


def test_a_long_title_is_cut_to_seventy_characters():
    # One public reader takes no more.
    assert lines_of(pull(event(), title="goat " * 40))[0] == "TITLE: " + ("goat " * 40)[:70]


def test_a_title_of_nothing_printable_still_gives_a_title():
    (file,) = cmx3600(pull(event(), title="\n"))
    assert file.name == "SELECTS.edl"
    assert file.content.startswith(b"TITLE: SELECTS\r\n")


def test_a_long_note_is_wrapped_and_loses_no_word():
    note = " ".join(f"word{number}" for number in range(300))
    lines = [line for line in lines_of(pull(event(note=note))) if line.startswith("* COMMENT: NOTE ")]
    assert max(map(len, lines)) <= 80
    assert " ".join(line.removeprefix("* COMMENT: NOTE ") for line in lines) == note


def test_a_path_is_never_broken_over_two_lines():
    path = "/".join(["FOLDER"] * 20 + ["A003C001.MXF"])
    assert f"* COMMENT: CARD KB04-261112-A03 FILE {path}" in lines_of(pull(event(file=path)))


def test_a_select_that_goes_on_in_another_file_names_both():
    lines = lines_of(pull(event(file="STREAM/00000.MTS", more_files=("STREAM/00001.MTS",))))
    assert "* COMMENT: CARD KB04-261112-A03 FILE STREAM/00000.MTS" in lines
    assert "* COMMENT: GOES ON IN FILE STREAM/00001.MTS" in lines


@settings(max_examples=30, deadline=None)
@given(pulls())
def test_whatever_people_type_lines_stay_narrow_and_of_known_kinds(selects):
    known = ("TITLE: ", "FCM: ", "AUD  3", "* FROM CLIP NAME: ", "* SOURCE FILE: ", "* COMMENT: ")
    for line in text_of(selects).split("\r\n")[:-1]:
        assert len(line) <= 240
        assert line.startswith(known) or (line[:3].isdigit() and len(line) == 76)


def test_each_timebase_gets_its_own_numbered_file():
    files = cmx3600(pull(event(), event(timebase=DROP), event(in_frame=0)))
    assert [file.name for file in files] == ["Day 3 goats 1 25.edl", "Day 3 goats 2 29.97DF.edl"]
    assert [len(event_lines(file.content.decode())) for file in files] == [2, 1]
    assert files[1].content.startswith(b"TITLE: Day 3 goats 2 29.97DF\r\nFCM: DROP FRAME\r\n001  61112A03 AA/V")


@pytest.mark.parametrize(("events", "sizes"), [(999, [999]), (1_000, [999, 1]), (2_500, [999, 999, 502])])
def test_a_file_holds_999_events(events, sizes):
    files = cmx3600(pull(*[event()] * events))
    written = [event_lines(file.content.decode()) for file in files]
    assert [len(lines) for lines in written] == sizes
    for lines in written:
        assert [int(line[:3]) for line in lines] == list(range(1, len(lines) + 1))
        assert lines[0][53:64] == "01:00:00:00"


def test_a_file_ends_before_its_record_time_passes_midnight():
    ten_hours = event(clip_start=0, clip_frames=900_000, in_frame=0, out_frame=900_000)
    files = cmx3600(pull(ten_hours, ten_hours, ten_hours))
    assert [event_lines(file.content.decode())[-1][65:76] for file in files] == ["21:00:00:00", "11:00:00:00"]


def test_a_select_of_a_day_is_refused():
    with pytest.raises(ExportRefused, match=r"00:00:00:00 in clip A003C001 .* is too long.*Mark it in shorter pieces"):
        cmx3600(pull(event(clip_start=0, clip_frames=2_160_000, in_frame=0, out_frame=23 * 90_000)))


def test_an_out_on_midnight_is_labelled_zero_and_not_split():
    (line,) = event_lines(text_of(pull(event(clip_start=2_160_000 - 150))))
    assert line[29:52] == "23:59:56:00 00:00:00:00"


def test_two_cards_of_one_reel_are_refused():
    other = event(card="KB04-361112-A03")
    with pytest.raises(ExportRefused, match=r"KB04-261112-A03 and KB04-361112-A03 both have the reel 61112A03.*give"):
        cmx3600(pull(event(), other))


@pytest.mark.parametrize("reel", ["", "BL", "AX", "BLACK", "BARS", "NINECHARS", "A 03", "A,03", "a03", "Ä03"])
def test_a_reel_that_an_edl_cannot_hold_is_refused(reel):
    # Reserved names and the comma and space: facts of CMX3600 as public parsers read them; capitals: common practice.
    assert not is_legal_reel(reel)
    with pytest.raises(ExportRefused, match="give the card another reel"):
        cmx3600(pull(event(reel=reel)))


def test_a_list_without_selects_is_refused():
    with pytest.raises(ExportRefused, match=r"“Empty” has no selects: add some first"):
        pull(title="Empty")


def test_a_select_outside_its_clip_is_refused():
    with pytest.raises(ExportRefused, match="from frame 50 to 2001 is not inside clip A003C001"):
        event(out_frame=2_001)
    with pytest.raises(ExportRefused, match="mark it again"):
        event(in_frame=150)
