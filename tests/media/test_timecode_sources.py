"""Which of several sources of timecode is believed, and what is said of the others. Rules of ours, from the reasons
that the module gives; labels by the rules of SMPTE ST 12-1."""

from itertools import pairwise

import pytest

from review.media.timecode_sources import (
    BWF,
    CAMERA_DATA,
    CLIP_XML,
    IXML,
    MATERIAL_PACKAGE,
    ORDER,
    PICTURE_GROUPS,
    SOURCE_PACKAGE,
    TIMECODE_TRACK,
    Source,
    Start,
    believed,
    ranked,
)
from review.timecode import Rate, Timebase

PAL, NDF = Timebase(Rate(25)), Timebase(Rate(30000, 1001))
DROP, FILM = Timebase(Rate(30000, 1001), True), Timebase(Rate(24000, 1001))


def choose(*sources: Source, timebase: Timebase = PAL) -> Start:
    return believed(ranked(sources, timebase.rate), timebase)


def test_it_works():
    assert choose(Source(TIMECODE_TRACK, "10:00:00:00")) == Start(900_000, TIMECODE_TRACK)


def test_sources_that_agree_need_no_words():
    assert choose(*(Source(kind, "10:00:00:00") for kind in ORDER)) == Start(900_000, CLIP_XML)


@pytest.mark.parametrize(("better", "worse"), list(pairwise(ORDER)))
def test_the_order_of_belief(better, worse):
    start = choose(Source(worse, "11:00:00:00"), Source(better, "10:00:00:00"))
    assert start.source == better
    assert start.notes == (
        f"timecode disagrees: the {better} says 10:00:00:00, the {worse} 11:00:00:00, 90,000 frames later; "
        f"the {better} is used",
    )


def test_the_distance_is_the_shorter_way_over_midnight():
    start = choose(Source(TIMECODE_TRACK, "00:00:00:01"), Source(CAMERA_DATA, "23:59:59:24"))
    assert "23:59:59:24, 2 frames earlier" in start.notes[0]


def test_a_label_that_does_not_exist_is_passed_over_and_told():
    start = choose(Source(CLIP_XML, "00:01:00;00"), Source(TIMECODE_TRACK, "00:01:00;02"), timebase=DROP)
    assert (start.frame, start.source) == (1_800, TIMECODE_TRACK)
    assert start.notes[0].startswith("the clip XML is of no use: 00:01:00;00 does not exist")


def test_a_source_that_is_of_no_use_is_no_source():
    start = choose(Source(TIMECODE_TRACK, "24:00:00:00"))
    assert (start.frame, start.source) == (0, "")
    assert "the timecode track is of no use" in start.notes[0]


def test_drop_and_non_drop_of_one_clip_disagree_even_in_the_same_digits():
    start = choose(Source(MATERIAL_PACKAGE, "10:00:00;00"), Source(SOURCE_PACKAGE, "10:00:00:00"), timebase=DROP)
    assert start.frame == 1_078_920  # ten hours of 107,892 frames
    assert start.notes == (
        "the MXF material package counts drop-frame and the MXF source package does not; "
        "the MXF material package is used",
    )


def test_a_label_of_a_later_picture_is_counted_back():
    assert choose(Source(CAMERA_DATA, "00:00:00:01", before=3)).frame == PAL.frames_per_day - 2


# Samples since midnight (EBU Tech 3285)


@pytest.mark.parametrize(
    ("samples", "timebase", "frame"),
    [
        (1_728_000_000, PAL, 900_000),
        (1_728_001_919, PAL, 900_000),  # the last sample of its frame
        (1_728_001_920, PAL, 900_001),
        (1_601, NDF, 1),  # frame 1 starts at 1601.6, and recorders write whole samples
        (1_602, NDF, 1),
        (1_600, NDF, 0),
        (2_002, FILM, 1),
        (2_001, FILM, 0),
        (48_000 * 86_400, PAL, 0),  # a day is over
        (48_000 * 86_400 + 1_920, PAL, 1),
    ],
)
def test_samples_become_the_frame_that_they_start_in(samples, timebase, frame):
    assert choose(Source(BWF, samples=samples, sample_rate=48_000), timebase=timebase).frame == frame


def test_every_frame_whose_start_was_cut_to_a_whole_sample_is_found_again():
    for timebase in (NDF, DROP, FILM, Timebase(Rate(60000, 1001))):
        rate = timebase.rate
        for frame in (*range(2_000), *range(timebase.frames_per_day - 2_000, timebase.frames_per_day)):
            samples = frame * 48_000 * rate.denominator // rate.numerator
            assert Source(BWF, samples=samples, sample_rate=48_000).frame(timebase) == frame


def test_the_files_own_reference_is_believed_before_its_copy():
    start = choose(
        Source(IXML, samples=1_728_048_000, sample_rate=48_000), Source(BWF, samples=1_728_000_000, sample_rate=48_000)
    )
    assert (start.frame, start.source) == (900_000, BWF)
    assert "the BWF time reference says 10:00:00:00, the iXML 10:00:01:00, 25 frames later" in start.notes[0]


def test_samples_that_fall_within_the_next_frame_do_not_disagree():
    start = choose(Source(TIMECODE_TRACK, "10:00:00:00"), Source(BWF, samples=1_728_001_920, sample_rate=48_000))
    assert start == Start(900_000, TIMECODE_TRACK)


def test_many_sources_are_told_shortly():
    groups = [Source(PICTURE_GROUPS, f"10:00:{second:02}:00") for second in range(1, 30)]
    notes = choose(Source(CLIP_XML, "10:00:00:00"), *groups).notes
    assert len(notes) == 9
    assert notes[-1] == "21 more sources of timecode disagree or are of no use"
