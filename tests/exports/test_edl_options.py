"""What may be chosen about a CMX3600 list, read back by two public parsers."""

import csv
import hashlib
import io
import re
from dataclasses import replace

import opentimelineio as otio
import pycmx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from review.exports import ExportOptions, ExportRefused, OptionRefused, cmx3600, edl_export
from review.exports.options import CHANNEL_CODES
from review.timecode import Rate, Timebase

from .pulls import CARDS, DROP, PAL, TIMEBASES, event, events, hostile_texts, pull
from .test_edl import event_lines
from .test_edl_read_back import expected, read_by_otio, read_by_pycmx

NON_DROP = Timebase(Rate(30000, 1001))


def options(**given) -> ExportOptions:
    return ExportOptions.read(given)


def texts(selects, **given) -> list[str]:
    return [file.content.decode("ascii") for file in cmx3600(selects, options(**given))]


def parsed(text: str):
    return pycmx.parse_cmx3600(io.StringIO(text))


# Reading what was chosen -----------------------------------------------------------------------


def test_nothing_chosen_is_the_list_as_it_always_was():
    selects = pull(event(), event(timebase=DROP))
    assert options() == ExportOptions() and options(start="", rate=None) == ExportOptions()
    assert cmx3600(selects) == cmx3600(selects, options(channels="clip", order="record", table="no"))


def test_what_was_chosen_is_kept_and_read_again():
    chosen = options(channels="aa/v", order="SOURCE", start="10:00:00:00", rate="29.97df", reels="long", table="yes")
    assert chosen.chosen() == {
        "channels": "AA/V",
        "order": "source",
        "start": "10:00:00:00",
        "rate": "29.97DF",
        "reels": "long",
        "table": True,
    }
    assert ExportOptions.read(chosen.chosen()) == chosen
    assert ExportOptions.read(options(columns="card, Source_In").chosen()).columns == ("card", "source in")
    assert options().chosen() == {}


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("channels", "V1", "channels is one of clip, V, A, .* not 'V1'"),
        ("order", "random", "order is one of record, source"),
        ("start", "1:00", "record start '1:00' cannot be"),
        ("start", "24:00:00:00", "hours go to 23"),
        ("rate", "31", "31.* frames a second is not a standard rate"),
        ("rate", "25DF", "no drop-frame timecode at 25"),
        ("reels", "nine", "reels is one of short, long"),
        ("table", "perhaps", "table is yes or no"),
        ("columns", "card,shoe size", "no column 'shoe size'. The columns are: card, camera"),
        ("order", "x" * 10_000, "order is one of"),
    ],
)
def test_a_choice_that_there_is_not_is_refused_by_name(name, value, words):
    with pytest.raises(OptionRefused, match=words) as refused:
        options(**{name: value})
    assert refused.value.field == name
    assert len(str(refused.value)) < 400


# Channels --------------------------------------------------------------------------------------


@pytest.mark.parametrize("code", list(CHANNEL_CODES))
def test_a_channel_code_is_the_same_for_every_event(code):
    (text,) = texts(pull(event(channels=4), event(channels=2)), channels=code)
    picture, tracks = CHANNEL_CODES[code]
    assert {line[14:18].strip() for line in event_lines(text)} == {code}
    assert "AUD" not in text
    for each in parsed(text).events:  # pycmx's own reading of the code
        assert (each.edits[0].channels.video, tuple(sorted(each.edits[0].channels.channels))) == (picture, tracks)


@pytest.mark.parametrize(
    ("has_picture", "channels", "code", "written"),
    [
        (True, 1, "AA/V", "B"),
        (True, 0, "AA/V", "V"),
        (False, 2, "AA/V", "AA"),
        (False, 2, "V", "AA"),  # nothing of the code is there: as the clip has it, and none is left out
        (True, 1, "A2", "B"),
    ],
)
def test_a_code_is_narrowed_to_what_the_clip_has(has_picture, channels, code, written):
    (text,) = texts(pull(event(has_picture=has_picture, channels=channels)), channels=code)
    assert event_lines(text)[0][14:18].strip() == written


# Order, record start, record rate --------------------------------------------------------------


def test_source_order_is_by_reel_and_source_in_and_keeps_the_record_times():
    # Mode C of CMX3600 lists: common practice, from memory.
    other = {"card": "KB04-261112-B01", "reel": "61112B01"}
    selects = pull(event(**other), event(in_frame=100), event(in_frame=50))
    (text,) = texts(selects, order="source")
    rows = [(line[:3], line[5:13].strip(), line[29:40], line[53:64]) for line in event_lines(text)]
    assert rows == [
        ("001", "61112A03", "10:00:02:00", "01:00:06:00"),
        ("002", "61112A03", "10:00:04:00", "01:00:04:00"),
        ("003", "61112B01", "10:00:02:00", "01:00:00:00"),
    ]


def test_the_record_starts_where_it_is_wanted():
    (text,) = texts(pull(event(), event()), start="10:59:50:12")
    assert [line[53:76] for line in event_lines(text)] == ["10:59:50:12 10:59:54:12", "10:59:54:12 10:59:58:12"]


def test_a_record_start_that_a_rate_does_not_have_is_refused():
    with pytest.raises(OptionRefused, match=r"cannot be that at 25: .*frames go to 24") as refused:
        texts(pull(event()), start="01:00:00:29")
    assert refused.value.field == "start"
    with pytest.raises(OptionRefused, match=r"cannot be that at 29.97DF: .*drop-frame skips it"):
        texts(pull(event(timebase=DROP)), start="01:01:00:00")


def test_a_select_that_does_not_fit_after_the_record_start_is_refused():
    with pytest.raises(ExportRefused, match="starts at 23:59:58:00 holds less than 1 h"):
        texts(pull(event()), start="23:59:58:00")


def test_sources_of_another_rate_than_the_record_have_a_file_and_a_word_why():
    files = edl_export(pull(event(), event(timebase=DROP), event()), options(rate="25"))
    assert [file.name for file in files] == [
        "Day 3 goats 1 25.edl",
        "Day 3 goats 2 29.97DF.edl",
        "Day 3 goats manifest.txt",
        "Day 3 goats reels.csv",
    ]
    why = "APART, AS AN EDL HOLDS ONE RATE: THESE ARE 29.97DF, THE LIST IS 25"
    assert f"* COMMENT: {why}\r\n" in files[1].content.decode()
    assert why not in files[0].content.decode()
    assert why.lower() in files[2].content.decode().lower()


def test_fcm_stands_before_each_change_of_counting():
    drop, non_drop = event(timebase=DROP), event(timebase=NON_DROP)
    (text,) = texts(pull(drop, non_drop, non_drop, drop), rate="29.97DF")
    kinds = [line for line in text.split("\r\n") if line.startswith("FCM") or line[:3].isdigit()]
    assert [line[:3] if line[0].isdigit() else line for line in kinds] == [
        "FCM: DROP FRAME",
        "001",
        "FCM: NON-DROP FRAME",
        "002",
        "003",
        "FCM: DROP FRAME",
        "004",
    ]
    assert [line[29:40][-3] for line in event_lines(text)] == [";", ":", ":", ";"]  # each source as it is counted
    assert {line[53:64][-3] for line in event_lines(text)} == {";"}  # and the record in its own way
    assert len(list(parsed(text).events)) == 4


# Reels and the table ---------------------------------------------------------------------------


def test_the_long_form_names_the_card_in_32_columns():
    (text,) = texts(pull(event()), reels="long")
    (line,) = event_lines(text)
    assert line[5:37] == "KB04-261112-A03".ljust(32)
    assert len(line) == 3 + 32 + 65
    listing = parsed(text)
    assert (listing.format, next(listing.events).edits[0].source) == ("File32", "KB04-261112-A03")


@pytest.mark.parametrize("card", ["short", "Bjørn's card 7", "kb04-261112-a03", "K" * 33, "CARD 261112"])
def test_a_card_whose_name_does_not_fit_the_long_form_keeps_its_reel(card):
    (text,) = texts(pull(event(card=card)), reels="long")
    assert event_lines(text)[0][5:37] == "61112A03".ljust(32)


def test_the_table_leads_from_reel_to_card_and_files_in_comments_and_beside():
    selects = pull(event(), event(file="CONTENTS/Ä.MXF", more_files=("CONTENTS/B.MXF",)), event())
    files = edl_export(selects, options(table="yes"))
    assert [file.name for file in files] == ["Day 3 goats.edl", "Day 3 goats manifest.txt", "Day 3 goats reels.csv"]
    assert files[0].content.decode().split("\r\n")[-5:] == [
        "* COMMENT: REEL 61112A03 IS CARD KB04-261112-A03",
        "* COMMENT: REEL 61112A03 FILE CONTENTS/A003C001.MXF",
        "* COMMENT: REEL 61112A03 FILE CONTENTS/B.MXF",
        "* COMMENT: REEL 61112A03 FILE CONTENTS/A.MXF",
        "",
    ]
    rows = list(csv.reader(io.StringIO(files[2].content.decode("utf-8-sig"))))
    assert rows[0] == ["reel", "card", "file"]
    assert [row[2] for row in rows[1:]] == ["CONTENTS/A003C001.MXF", "CONTENTS/B.MXF", "CONTENTS/Ä.MXF"]
    assert {tuple(row[:2]) for row in rows[1:]} == {("61112A03", "KB04-261112-A03")}


def test_the_manifest_names_every_list_with_its_hash():
    files = edl_export(pull(*[event()] * 1_000), options())
    lists, manifest = files[:-2], files[-2].content.decode("ascii")
    assert [file.name for file in lists] == ["Day 3 goats 1 25.edl", "Day 3 goats 2 25.edl"]
    for file, count in zip(lists, (999, 1), strict=True):
        assert f"{file.name}\r\n  {count} events at 25, record 01:00:00:00 to " in manifest
        assert hashlib.sha256(file.content).hexdigest() in manifest
    assert "1000 selects, 1:06:40 in all" in manifest  # 1,000 times four seconds


def test_rating_and_section_are_comments():
    (text,) = texts(pull(event(section="Arrivals – dawn", rating=5), event(rating=0)))
    assert "* COMMENT: SECTION Arrivals - dawn\r\n* COMMENT: RATING 5\r\n" in text
    assert text.count("RATING") == text.count("SECTION") == 1


# Read back -------------------------------------------------------------------------------------


@st.composite
def chosen(draw) -> dict:
    start = draw(st.sampled_from(("00:00:00:00", "01:00:00:00", "09:59:59:23", "10:00:00:00")))
    return {
        "channels": draw(st.sampled_from(("clip", *CHANNEL_CODES))),
        "order": draw(st.sampled_from(("record", "source"))),
        "reels": draw(st.sampled_from(("short", "long"))),
        "table": draw(st.sampled_from(("yes", "no"))),
        "start": start,
    }


def in_record_order(text: str) -> str:
    """The events of a list sorted by record in: OpenTimelineIO's adapter takes no other order."""
    head, *parts = re.split(r"(?m)^(?=\d{3}  )", text)
    return head + "".join(sorted(parts, key=lambda part: part.split("\r\n")[0][-23:]))


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(TIMEBASES).flatmap(lambda base: st.lists(events(base), min_size=1, max_size=8)), chosen())
def test_whatever_is_chosen_two_parsers_read_every_event(marked, wanted):
    selects = pull(*marked)
    timebase = marked[0].timebase
    (text,) = texts(selects, **wanted)
    start = timebase.frame(wanted["start"])
    first = expected(selects)[0][3]
    names = dict(CARDS) if wanted["reels"] == "short" else {card: card for card, _ in CARDS}
    rows = [
        (card, names[card], source, at - first + start, length) for card, _, source, at, length in expected(selects)
    ]
    as_written = text if wanted["order"] == "record" else in_record_order(text)
    assert read_by_otio(as_written, timebase) == rows
    if wanted["reels"] == "short":
        in_order = rows if wanted["order"] == "record" else sorted(rows, key=lambda row: (row[1], row[2], row[3]))
        assert sorted(read_by_pycmx(text, timebase)) == sorted(rows)
        assert [row[1:3] for row in read_by_pycmx(text, timebase)] == [row[1:3] for row in in_order]


@settings(max_examples=3, deadline=None)
@given(st.integers(1, 3_000), st.sampled_from(TIMEBASES), hostile_texts, st.integers(1, 400))
def test_lists_of_any_length_are_read_back_file_by_file(count, timebase, note, step):
    every = [
        event(
            timebase=timebase, in_frame=place * step % 1_900, out_frame=place * step % 1_900 + 1 + place % 60, note=note
        )
        for place in range(count)
    ]
    files = cmx3600(pull(*every), options(start="00:30:00:00"))
    assert len(files) == -(-count // 999)
    start = timebase.frame("00:30:00:00")
    for at, file in zip(range(0, count, 999), files, strict=True):
        rows = expected(pull(*every[at : at + 999]))
        rows = [(*row[:3], row[3] - rows[0][3] + start, row[4]) for row in rows]
        assert read_by_pycmx(file.content.decode("ascii"), timebase) == rows
    assert read_by_otio(files[-1].content.decode("ascii"), timebase) == rows


def test_mixed_counting_in_one_file_is_read_back():
    marked = [event(timebase=base, in_frame=place) for place, base in enumerate((DROP, NON_DROP, NON_DROP, DROP))]
    (text,) = texts(pull(*marked), rate="29.97DF")
    timeline = otio.adapters.read_from_string(text, "cmx_3600", rate=30000 / 1001)
    clips = list(timeline.video_tracks()[0].find_clips())
    assert [clip.source_range.start_time.value for clip in clips] == [900_000, 900_001, 900_002, 900_003]
    assert [clip.source_range.duration.value for clip in clips] == [150, 149, 148, 147]


def test_the_same_export_is_the_same_bytes():
    selects = pull(event(), replace(event(), timebase=DROP), event(timebase=PAL))
    assert edl_export(selects, options(table="yes")) == edl_export(selects, options(table="yes"))
