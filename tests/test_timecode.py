"""Timecode against tables, against public libraries where they are right, and against itself."""

import json
import operator
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest
import timecode
from hypothesis import given
from hypothesis import strategies as st

from review.timecode import STANDARD_RATES, Rate, Timebase, TimecodeError

# Enumerated over every label of a day by the counting rules of SMPTE ST 12-1; the file names its source too.
VECTORS = json.loads((Path(__file__).parent / "data" / "timecode_vectors.json").read_text())
TIMEBASES = {
    row["name"]: Timebase(Rate(*map(int, row["rate"].split("/"))), drop=row["drop"]) for row in VECTORS["rates"]
}
DROP = TIMEBASES["29.97DF"]

NON_DROP = [Timebase(rate) for rate in STANDARD_RATES]
every_timebase = st.sampled_from(NON_DROP + [Timebase(rate, drop=True) for rate in STANDARD_RATES if rate.can_drop])


@pytest.mark.parametrize("row", VECTORS["rates"], ids=operator.itemgetter("name"))
def test_a_day_has_the_frames_of_the_table(row):
    timebase = TIMEBASES[row["name"]]
    mark = ";" if row["drop"] else ":"
    assert timebase.rate.nominal == row["nominal"]
    assert timebase.frames_per_day == row["day"]
    assert timebase.frame(f"00:10:00{mark}00") == row["ten_minutes"]
    assert timebase.frame(f"01:00:00{mark}00") == row["one_hour"]
    assert timebase.label(row["one_minute"])[:8] == "00:01:00"
    assert timebase.label(row["one_minute"] - 1)[:8] == "00:00:59"
    assert timebase.label(row["day"] - 1) == row["last_label"]


@pytest.mark.parametrize("name", TIMEBASES)
def test_every_row_of_the_table_holds_both_ways(name):
    timebase = TIMEBASES[name]
    rows = [(frame, label) for row_name, frame, label in VECTORS["frame_label"] if row_name == name]
    assert rows
    for frame, label in rows:
        assert timebase.label(frame) == label
        assert timebase.frame(label) == frame % timebase.frames_per_day


@pytest.mark.parametrize(("name", "label"), VECTORS["valid_labels"])
def test_a_label_that_exists_is_read(name, label):
    assert TIMEBASES[name].label(TIMEBASES[name].frame(label)) == label


@pytest.mark.parametrize(("name", "label"), VECTORS["invalid_labels"])
def test_a_label_that_does_not_exist_is_refused(name, label):
    with pytest.raises(TimecodeError, match=r"not exist|frames go to|hours go to|drop-frame|write it as"):
        TIMEBASES[name].frame(label)


@pytest.mark.parametrize(
    ("name", "label", "words"),
    [
        ("29.97DF", "00:01:00;01", "drop-frame skips it; the next is 00:01:00;02"),
        ("59.94DF", "00:01:00;03", "drop-frame skips it; the next is 00:01:00;04"),
        ("25", "00:00:00:25", "frames go to 24 at 25 frames a second"),
        ("25", "00:60:00:00", "hours go to 23, minutes and seconds to 59"),
        ("25", "24:00:00:00", "hours go to 23, minutes and seconds to 59"),
        ("23.976", "00:00:00;00", "';' means drop-frame, which 23.976 frames a second cannot be"),
        ("25", "10 o'clock", "is not a timecode; write it as hh:mm:ss:ff"),
        ("25", "", "is not a timecode"),
    ],
)
def test_a_refused_label_says_why(name, label, words):
    with pytest.raises(TimecodeError, match=words):
        TIMEBASES[name].frame(label)


@pytest.mark.parametrize(
    "label", ["01:02:03:04", "01:02:03;04", "01:02:03.04", "01:02:03,04", "01;02;03;04", " 01:02:03:04\n"]
)
def test_separators_of_all_makes_are_read_alike(label):
    # Which separators are met: common practice, no source.
    assert DROP.frame(label) == DROP.frame("01:02:03;04")


def test_a_frame_before_midnight_is_refused():
    with pytest.raises(TimecodeError, match="frame -1 is before midnight"):
        DROP.label(-1)


def test_every_frame_of_a_drop_frame_day_has_the_label_of_the_rules():
    # The rule of SMPTE ST 12-1, walked: labels 00 and 01 are left out of every minute that is not a tenth one.
    frame, label = 0, DROP.label
    for minute in range(24 * 60):
        hhmm = f"{minute // 60:02}:{minute % 60:02}"
        for ss in range(60):
            for ff in range(2 if ss == 0 and minute % 10 else 0, 30):
                if label(frame) != f"{hhmm}:{ss:02};{ff:02}":
                    pytest.fail(f"frame {frame} is labelled {label(frame)}, not {hhmm}:{ss:02};{ff:02}")
                frame += 1
    assert frame == DROP.frames_per_day


def test_drop_frame_agrees_with_two_libraries_about_every_minute_of_a_day():
    rate, day = 30000 / 1001, DROP.frames_per_day
    edges = {block + near for block in range(0, day, 17_982) for minute in range(10) for near in _near(minute)}
    for frame in sorted((edges | set(range(0, day, 997))) & set(range(day))):
        time = otio.opentime.RationalTime(frame, rate)
        assert otio.opentime.to_timecode(time, rate, drop_frame=True) == DROP.label(frame)
        assert otio.opentime.from_timecode(DROP.label(frame), rate) == time
        # `timecode` counts frames from 1
        assert str(timecode.Timecode("29.97", frames=frame + 1)) == DROP.label(frame)
        assert timecode.Timecode("29.97", DROP.label(frame)).frames == frame + 1


def _near(minute: int) -> range:
    """The frames about the start of a minute of a ten-minute block, which skips two labels in each but the first."""
    start = 1_800 * minute - 2 * max(0, minute - 1)
    return range(start - 2, start + 3)


@given(every_timebase, st.integers(0, 10**8))
def test_a_frame_survives_its_label(timebase, frame):
    assert timebase.frame(timebase.label(frame)) == frame % timebase.frames_per_day


@given(every_timebase, st.integers(0, 10**7))
def test_later_frames_have_later_labels_within_a_day(timebase, frame):
    today = frame % (timebase.frames_per_day - 1)
    assert timebase.label(today) < timebase.label(today + 1)


@given(st.sampled_from(NON_DROP), st.integers(0, 5_184_000 - 1))
def test_labels_agree_with_opentimelineio(timebase, frame):
    # That library wraps early at 29.97, 47.952 and 59.94 non-drop, by 3.6 s an hour: the last minutes are left out.
    rate = float(timebase.rate.fraction)
    frame %= timebase.frames_per_day - 100 * timebase.rate.nominal
    time = otio.opentime.RationalTime(frame, rate)
    assert otio.opentime.to_timecode(time, rate, drop_frame=False) == timebase.label(frame)
    assert otio.opentime.from_timecode(timebase.label(frame), rate) == time


@pytest.mark.parametrize(
    ("text", "rate"),
    [
        ("25", Rate(25)),
        ("25/1", Rate(25)),
        ("29.97", Rate(30000, 1001)),
        ("30000/1001", Rate(30000, 1001)),
        ("23.976", Rate(24000, 1001)),
        ("23.98", Rate(24000, 1001)),
        ("59.94", Rate(60000, 1001)),
        (" 24 ", Rate(24)),
    ],
)
def test_rates_are_read_as_people_write_them(text, rate):
    assert Rate.parse(text) == rate


@pytest.mark.parametrize("rate", STANDARD_RATES, ids=str)
def test_a_rate_survives_being_written(rate):
    assert Rate.parse(str(rate)) == rate


@pytest.mark.parametrize("text", ["", "fast", "0", "25/0", "26", "-25", "inf", "1e400"])
def test_a_rate_that_nobody_shoots_is_refused(text):
    with pytest.raises(TimecodeError, match=r"is not a (frame|standard) rate.*29.97"):
        Rate.parse(text)


@pytest.mark.parametrize("rate", [rate for rate in STANDARD_RATES if not rate.can_drop], ids=str)
def test_drop_frame_exists_at_two_rates_only(rate):
    # SMPTE ST 12-1: 30000/1001 and 60000/1001
    with pytest.raises(TimecodeError, match=f"no drop-frame timecode at {rate} frames a second"):
        Timebase(rate, drop=True)


def test_seconds_are_exact():
    assert Rate(30000, 1001).seconds(30) == Fraction(1001, 1000)
