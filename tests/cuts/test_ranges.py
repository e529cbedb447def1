"""Which frames an event uses. Labels and rates are SMPTE ST 12-1's; the arithmetic is that of review/timecode.py."""

import pytest

from review.cuts import read
from review.cuts.ranges import source_range
from review.timecode import Rate, Timebase

PAL, HIGH = Timebase(Rate(25)), Timebase(Rate(50))
NTSC, DROP = Timebase(Rate(30000, 1001)), Timebase(Rate(30000, 1001), drop=True)
DROP_60 = Timebase(Rate(60000, 1001), drop=True)
FILM = Timebase(Rate(24))


def used(times: str, clip=PAL, listed=PAL, more="", own_count=False):
    content = f"001  61112A03 V     C        {times}\n{more}".encode()
    return source_range(read(content).events[0], clip, listed, own_count=own_count)


def test_in_and_out_are_read_as_they_were_written():
    found = used("10:00:00:00 10:00:04:00 01:00:00:00 01:00:04:00")
    assert (found.start, found.length, found.doubts) == (900_000, 100, ())


@pytest.mark.parametrize("mark", [":", ";", ".", ","])
def test_the_clip_says_how_its_labels_count_whatever_the_separators(mark):
    times = f"10:00:59{mark}28 10:01:00{mark}02 01:00:00:00 01:00:00:02"
    assert used(times, DROP, NTSC).length == 2  # ;00 and ;01 of this minute are dropped
    assert used(times.replace("01:00:00:02", "01:00:00:04"), NTSC, NTSC).length == 4
    assert used("10:00:00" + mark + "00 10:00:01" + mark + "00 01:00:00:00 01:00:01:00").length == 25


def test_a_label_that_is_dropped_stands_for_the_next():
    found = used("10:01:00:00 10:01:00:12 01:00:00:00 01:00:00:10", DROP, NTSC)
    assert (found.start, found.length) == (DROP.frame("10:01:00;02"), 10)
    assert found.doubts == ("drop-frame counting skips a label of it; the next was taken",)


def test_past_midnight():
    found = used("23:59:59:20 00:00:00:05 01:00:00:00 01:00:00:10")
    assert (found.start, found.length) == (PAL.frames_per_day - 5, 10)
    assert used("23:59:59:20 00:00:00:00 01:00:00:00 01:00:00:05").length == 5


@pytest.mark.parametrize(
    ("clip", "listed", "times", "start", "length"),
    [
        (HIGH, PAL, "10:00:00:12 10:00:01:00 01:00:00:00 01:00:00:13", HIGH.frame("10:00:00:24"), 26),
        (FILM, PAL, "10:00:00:00 10:00:01:00 01:00:00:00 01:00:01:00", FILM.frame("10:00:00:00"), 24),
        # at 59.94, labels 00 to 03 of the minute are dropped; a list at 29.97 writes ;02 for the first pair
        (DROP_60, DROP, "10:01:00;02 10:01:00;04 01:00:00;00 01:00:00;02", DROP_60.frame("10:01:00;04"), 4),
    ],
)
def test_a_list_of_another_whole_rate_is_read_by_the_time_of_its_labels(clip, listed, times, start, length):
    found = used(times, clip, listed)
    assert (found.start, found.length) == (start, length)
    assert "frames a second and the clip" in found.doubts[0]


def test_labels_that_count_past_the_lists_seconds_are_the_clips_own():
    times = "10:00:00:12 10:00:01:00 01:00:00:00 01:00:00:19"
    assert used(times, HIGH, PAL, own_count=True).start == HIGH.frame("10:00:00:12")


@pytest.mark.parametrize("times", ["10:00:00:25 10:00:01:00", "10:00:61:00 10:01:02:00", "25:00:00:00 25:00:01:00"])
def test_labels_that_such_a_clip_cannot_have_are_none_of_its(times):
    assert used(f"{times} 01:00:00:00 01:00:01:00") is None


def test_a_frame_that_no_second_has_may_be_read_as_its_last():
    event = read(b"001  61112A03 V     C        10:00:00:30 10:00:02:00 01:00:00:00 01:00:01:01").events[0]
    found = source_range(event, PAL, PAL, lenient=True)
    assert (found.start, found.length) == (900_024, 26)
    assert found.doubts == ("30 is no frame at 25 fps, and the last of its second was taken",)


def test_a_freeze_is_one_frame():
    more = "M2   61112A03       000.0                10:00:00:00"
    assert used("10:00:00:00 10:00:02:00 01:00:00:00 01:00:02:00", more=more).length == 1


def test_a_speed_uses_the_frames_that_were_written():
    more = "M2   61112A03       050.0                10:00:00:00"
    found = used("10:00:00:00 10:00:04:00 01:00:00:00 01:00:02:00", more=more)
    assert (found.length, found.doubts) == (100, ())


def test_or_those_that_it_needs_where_the_length_in_the_cut_was_written():
    more = "M2   61112A03       050.0                10:00:00:00"
    assert used("10:00:00:00 10:00:02:00 01:00:00:00 01:00:02:00", more=more).length == 100
    slow = "M2   61112A03       012.5                10:00:00:00"
    assert used("10:00:00:00 10:00:02:00 01:00:00:00 01:00:02:00", more=slow).length == 50


def test_backwards_uses_the_same_frames_however_they_are_written():
    more = "M2   61112A03      -025.0                10:00:00:00"
    assert used("10:00:00:00 10:00:02:00 01:00:00:00 01:00:02:00", more=more).length == 50
    found = used("10:00:01:24 10:00:00:00 01:00:00:00 01:00:02:00", more=more)
    assert (found.start, found.length) == (900_000, 50)


def test_an_out_before_its_in_is_doubted():
    found = used("10:00:02:00 10:00:00:00 01:00:00:00 01:00:02:00")
    assert (found.start, found.length) == (900_050, 50)
    assert found.doubts == (
        "its out is before its in; as many frames as are in the cut were taken from its in onwards",
    )


def test_backwards_in_the_source_and_in_the_cut_is_read_the_other_way_round():
    found = used("10:00:02:00 10:00:00:00 01:00:02:00 01:00:00:00")
    assert (found.start, found.length) == (900_000, 50)
    (doubt,) = found.doubts
    assert doubt.startswith("its out is before its in, in the source and in the cut")


def test_backwards_in_the_cut_alone_is_doubted():
    found = used("10:00:00:00 10:00:02:00 01:00:02:00 01:00:00:00")
    assert (found.start, found.length) == (900_000, 50)
    assert found.doubts == ("its place in the cut ends before it begins, and was read the other way round",)
    assert used("10:00:00:00 10:00:02:00 23:59:59:00 00:00:01:00").doubts == ()


def test_another_length_without_a_speed_is_doubted():
    found = used("10:00:00:00 10:00:04:00 01:00:00:00 01:00:02:00")
    assert found.length == 100 and "another length in the cut" in found.doubts[0]


def test_the_end_of_a_dissolve_is_used_too():
    out = "10:00:04:00 10:00:04:00 01:00:04:00 01:00:04:00"
    come = "001  61112B01 V     D    012 11:00:00:00 11:00:02:00 01:00:04:00 01:00:06:00"
    assert used(out, more=come).length == 12
    assert used(out, more=come + "\nM2   61112A03       050.0                10:00:04:00").length == 24
    assert used(out, HIGH, PAL, more=come).length == 24  # half seconds are half seconds
