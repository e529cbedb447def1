"""Reading CMX3600 lists: as they should be (test_outside.py has samples that two open parsers read the same), and as
they are found. The ragged forms are common practice, no source."""

import pytest

from review.cuts import CutUnreadable, read

HEAD = "TITLE: KESTREL BAY\r\nFCM: NON-DROP FRAME\r\n"
TIMES = "10:00:00:00 10:00:04:00 01:00:00:00 01:00:04:00"
LINE = f"001  61112A03 AA/V  C        {TIMES}"


def events(*lines: str, end: str = "\r\n", head: str = HEAD):
    return read((head + end.join(lines)).encode()).events


def only(*lines: str):
    (event,) = events(*lines)
    return event


def test_an_event_is_read():
    read_list = read((HEAD + LINE + "\r\n* FROM CLIP NAME: A003C001\r\n").encode())
    (event,) = read_list.events
    assert (read_list.title, read_list.remarks) == ("KESTREL BAY", ())
    assert (event.number, event.reel, event.channels, event.edit_words) == ("001", "61112A03", "AA/V", "C")
    assert (event.source_in, event.source_out) == ("10:00:00:00", "10:00:04:00")
    assert (event.record_in, event.record_out, event.line) == ("01:00:00:00", "01:00:04:00", 3)
    assert (event.clip_name, event.speed, event.drop, event.tail) == ("A003C001", None, False, 0)


@pytest.mark.parametrize(
    ("line", "reel", "channels", "edit"),
    [
        (f"1 61112A03 V C {TIMES}", "61112A03", "V", "C"),
        (f"001\t61112A03\tV\tC\t{TIMES}", "61112A03", "V", "C"),
        (f"000001  A_0113C007_250602_103141_h1D4P V     C        {TIMES}", "A_0113C007_250602_103141_h1D4P", "V", "C"),
        (f"001  {'R' * 128} V     C        {TIMES}", "R" * 128, "V", "C"),
        (f"001  CARD 3   V     C        {TIMES}", "CARD 3", "V", "C"),
        (f"001           V     C        {TIMES}", "", "V", "C"),
        (f"001  kb04-a03 v     c        {TIMES}", "kb04-a03", "V", "C"),
        (f"001  61112A03 A2/V  C   {TIMES.replace(' ', '')}", "61112A03", "A2/V", "C"),
        (f"001  61112A03 A7    C        {TIMES}   trailing words", "61112A03", "A7", "C"),
        (f"001  61112A03 NONE  W001 043 {TIMES}", "61112A03", "NONE", "W001 043"),
        (f"001  61112A03 V     D    064 {TIMES}", "61112A03", "V", "D 064"),
        (f"001  61112A03 V     K B  000 {TIMES}", "61112A03", "V", "KB"),
        (f"001  61112A03 B     C        {TIMES}", "61112A03", "B", "C"),
        (f"001AX V C {TIMES}", "AX", "V", "C"),
    ],
)
def test_spacing_long_reels_and_odd_columns_are_read(line, reel, channels, edit):
    event = only(line)
    assert (event.reel, event.channels, event.edit_words) == (reel, channels, edit)
    assert (event.source_in, event.record_out) == ("10:00:00:00", "01:00:04:00")


def test_hours_of_one_digit_are_read():
    assert only("001  61112A03 V C 9:00:00:00 9:00:04:00 1:00:00:00 1:00:04:00").source_in == "09:00:00:00"


@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_line_ends_and_encodings_make_no_difference(end, encoding):
    text = HEAD.replace("\r\n", end) + LINE + end + "* FROM CLIP NAME: Ålesund" + end
    (event,) = read(text.encode(encoding)).events
    assert (event.reel, event.clip_name) == ("61112A03", "Ålesund")


@pytest.mark.parametrize(
    ("head", "line", "drop"),
    [
        ("FCM: DROP FRAME\n", LINE, True),
        ("FCM: NON-DROP FRAME\n", LINE, False),
        ("FCM: NON DROP FRAME\n", LINE, False),
        ("", LINE, None),
        ("", LINE.replace("10:00:00:00", "10:00:00;00"), True),
        ("", LINE.replace("10:00:00:00", "10:00:00,00"), True),
        ("FCM: NON-DROP FRAME\n", LINE.replace("10:00:00:00", "10:00:00;00"), False),
    ],
)
def test_drop_frame_is_as_the_list_says_or_its_separators_do(head, line, drop):
    assert events(line, head=head)[0].drop is drop


def test_counting_changes_where_the_list_says_so():
    first, second = events(LINE, "FCM: DROP FRAME", LINE.replace("001", "002", 1))
    assert (first.drop, second.drop) == (False, True)


DISSOLVE = (
    "002  61112A03 V     C        10:00:04:00 10:00:04:00 01:00:04:00 01:00:04:00",
    "002  61112B01 V     D    012 11:00:00:00 11:00:02:00 01:00:04:00 01:00:06:00",
)


@pytest.mark.parametrize("kind", ["D    012", "W001 012"])
def test_the_source_that_goes_out_runs_on_under_a_dissolve_or_wipe(kind):
    outgoing, incoming = events(DISSOLVE[0], DISSOLVE[1].replace("D    012", kind))
    assert (outgoing.reel, outgoing.tail, incoming.reel, incoming.tail) == ("61112A03", 12, "61112B01", 0)


def test_a_dissolve_of_one_line_is_from_the_event_before():
    first, second = events(LINE, DISSOLVE[1])
    assert (first.tail, second.effect) == (12, 12)


def test_nothing_runs_on_where_the_record_has_a_gap():
    first, _ = events(LINE, DISSOLVE[1].replace("01:00:04:00", "01:00:05:00"))
    assert first.tail == 0


def test_both_names_of_a_dissolve_go_where_they_belong():
    comments = (
        *("* FROM CLIP NAME: A003C001", "* SOURCE FILE: A003C001.MXF"),
        *("* TO CLIP NAME: B001C001", "* SOURCE FILE: B001C001.MXF"),
    )
    outgoing, incoming = events(*DISSOLVE, *comments)
    assert (outgoing.clip_name, outgoing.file) == ("A003C001", "A003C001.MXF")
    assert (incoming.clip_name, incoming.file) == ("B001C001", "B001C001.MXF")


def test_a_cut_that_names_what_comes_next_keeps_its_own_name():
    assert only(LINE, "* FROM CLIP NAME: 13-1", "* TO CLIP NAME: opening").clip_name == "13-1"


def test_picture_and_sound_of_one_edit_have_one_name():
    split = LINE.replace("AA/V", "A   ").replace("10:00:00:00", "09:59:59:00")
    sound, picture = events(split, LINE, "* FROM CLIP NAME: A003C001")
    assert (sound.clip_name, picture.clip_name) == ("A003C001", "A003C001")
    assert (sound.source_in, picture.source_in) == ("09:59:59:00", "10:00:00:00")


@pytest.mark.parametrize(
    ("comment", "says"),
    [
        ("FROM CLIP NAME: shot 1", {"clip_name": "shot 1"}),
        ("*FROM CLIP NAME:  shot 1 ", {"clip_name": "shot 1"}),
        ("* from clip name: shot 1", {"clip_name": "shot 1"}),
        ("* SOURCE FILE: A003C001.MXF", {"file": "A003C001.MXF"}),
        (r"* FROM FILE: S:\rushes\A003C001.MXF", {"file": r"S:\rushes\A003C001.MXF"}),
        ("* COMMENT: CARD KB04-261112-A03 FILE CLIP/A.MXF", {"card": "KB04-261112-A03", "file": "CLIP/A.MXF"}),
        ("* COMMENT: NOTE CARD tricks", {"card": "", "file": ""}),
        ("* LOC: 01:00:01:14 RED     FIX", {"clip_name": ""}),
        ("* ASC_SOP (1 1 1)(0 0 0)(1 1 1)", {"clip_name": ""}),
    ],
)
def test_what_comments_say(comment, says):
    event = only(LINE, comment)
    assert {name: getattr(event, name) for name in says} == says


@pytest.mark.parametrize(
    ("line", "speed"),
    [
        ("M2   61112A03       050.0                10:00:00:00", 50.0),
        ("M2      61112A03                      000.0 10:00:00:00 ", 0.0),
        ("M2   61112A03      -025.0                10:00:00:00", -25.0),
        ("M2   61112A03       047.6", 47.6),
        ("* * FREEZE FRAME", 0.0),
    ],
)
def test_speeds(line, speed):
    assert only(LINE, line).speed == speed


def test_a_speed_belongs_to_the_reel_that_it_names():
    outgoing, incoming = events(*DISSOLVE, "M2   61112A03       050.0                10:00:04:00")
    assert (outgoing.speed, incoming.speed) == (50.0, None)


def test_what_cannot_be_read_is_said_and_the_rest_is_read():
    half = "002  61112A03 V     C        10:00:00:00 10:00:04:00"
    read_list = read((HEAD + "\r\n".join((LINE, half, "what is this", "M2", "* WHO KNOWS: x", "AUD  3"))).encode())
    assert [event.unread for event in read_list.events] == ["", half]
    assert read_list.remarks == (
        "Line 5 is not a kind of line that is known; it was left out.",
        "Line 6 changes a speed, and does not say to what or of which event; it was left out.",
    )


@pytest.mark.parametrize(
    "times",
    [
        "10:00:00 10:00:04:00 01:00:00:00 01:00:04:00",
        "1O:00:00:00 10:00:04:00 01:00:00:00 01:00:04:00",
        "10:00:00:00",
        "",
    ],
)
def test_an_event_without_its_timecodes_stays_one_and_keeps_its_comments(times):
    line = f"002  KB04261112B01 V     C        {times}".rstrip()
    above, broken, below = events(
        LINE, "* FROM CLIP NAME: A003C001", line, "* FROM CLIP NAME: B001C001", LINE.replace("001", "003", 1)
    )
    assert (broken.number, broken.reel, broken.channels, broken.edit) == ("002", "KB04261112B01", "V", "C")
    assert (broken.unread, broken.source_in, broken.line) == (line, "", 5)
    assert (above.clip_name, broken.clip_name, below.clip_name) == ("A003C001", "B001C001", "")


def test_what_goes_out_under_a_dissolve_that_cannot_be_read_runs_on():
    outgoing, _ = events(DISSOLVE[0], DISSOLVE[1].replace("11:00:00:00", "11:00:00"))
    assert outgoing.tail == 12


def test_a_line_that_only_begins_with_a_number_is_no_event():
    read_list = read((HEAD + LINE + "\r\n12 handles, please").encode())
    assert len(read_list.events) == 1
    assert read_list.remarks == ("Line 4 begins like an event and has neither timecodes nor an edit; it was left out.",)


def test_remarks_end_somewhere():
    remarks = read((HEAD + LINE + "\nwhat is this" * 500).encode()).remarks
    assert len(remarks) == 51 and remarks[-1] == "More lines could not be read."


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is not a CMX3600 EDL"),
        (b"<?xml version='1.0'?><fcpxml/>", "is not a CMX3600 EDL"),
        (b"RIFF\0\0\0\x10WAVE\0\x01\x02", "is not text"),
        (b"x" * 8_000_001, "8,000,000 is the longest"),
        (LINE.replace("10:00:00:00", "10:00:00").encode(), "is not a CMX3600 EDL"),
        (b"\n" * 100_001, "100,000 is the most"),
        ((LINE + "\n").encode() * 20_001, "more than 20,000 events"),
    ],
)
def test_what_is_no_cut_list_is_refused_in_words(content, words):
    with pytest.raises(CutUnreadable, match=words):
        read(content)


def test_a_very_long_line_is_cut_and_does_not_take_long():
    assert only(LINE, "* FROM CLIP NAME: " + "*" * 500_000).clip_name == "*" * 255
    assert only(LINE, "001 " + "A" * 500_000).reel == "61112A03"
