"""Lists read back by two public parsers give every card, reel and time again."""

import io
import re

import opentimelineio as otio
import pycmx
import pytest
from hypothesis import given, settings

from review.exports import SelectsList, cmx3600
from review.timecode import Timebase

from .pulls import PAL, event, pull, pulls

CARD = re.compile(r"COMMENT: CARD (\S+) FILE ")


def expected(selects: SelectsList) -> list[tuple]:
    """Card, reel, source in, record in and length in frames, of every event of a list that fits one file."""
    rows, record = [], 3600 * selects.events[0].timebase.rate.nominal
    if selects.events[0].timebase.drop:
        record -= selects.events[0].timebase.rate.nominal // 15 * 54  # 60 minutes less the six tenth ones
    for each in selects.events:
        day = each.timebase.frames_per_day
        start = (each.clip_start + each.in_frame) % day
        end = start + each.out_frame - each.in_frame
        for piece_in, piece_out in [(start, end)] if end <= day else [(start, day), (0, end - day)]:
            rows.append((each.card, each.reel, piece_in, record, piece_out - piece_in))
            record += piece_out - piece_in
    return rows


def read_by_otio(text: str, timebase: Timebase) -> list[tuple]:
    # The adapter takes an out of 00:00:00:00 for one that lies before its in; it does know hour 24.
    text = re.sub(r"(?m)^(\d{3}  .+) 00(:00:00[:;]00 \S+ \S+\r?)$", r"\1 24\2", text)
    timeline = otio.adapters.read_from_string(text, "cmx_3600", rate=float(timebase.rate.fraction))
    rows = {}
    for track in timeline.tracks:
        # One event is a clip in each track it is cut into. A track that starts late has no gap in front: its own
        # source range starts at minus the first record in.
        first = -track.source_range.start_time.value if track.source_range else 0
        for clip in track.find_clips():
            facts = clip.metadata["cmx_3600"]
            card = next(found[1] for found in map(CARD.match, facts["comments"]) if found)
            source, record = clip.source_range, clip.range_in_parent().start_time.value + first
            rows[record] = (card, facts["reel"], source.start_time.value, record, source.duration.value)
    return [rows[record] for record in sorted(rows)]


def read_by_pycmx(text: str, timebase: Timebase) -> list[tuple]:
    rows = []
    listing = pycmx.parse_cmx3600(io.StringIO(text))
    assert listing.format == "3600"
    assert not list(listing.unrecognized_statements)
    for number, each in enumerate(listing.events, 1):
        (edit,) = each.edits
        assert each.number == number
        card = next(found[1] for found in (CARD.match(getattr(stmt, "text", "")) for stmt in each.statements) if found)
        source, record = timebase.frame(edit.source_in), timebase.frame(edit.record_in)
        length = timebase.frame(edit.record_out) - record
        assert edit.source_out == timebase.label(source + length)
        rows.append((card, edit.source, source, record, length))
    return rows


@settings(max_examples=200, deadline=None)
@given(pulls())
def test_two_parsers_read_every_event_as_it_was_marked(selects):
    timebase = selects.events[0].timebase
    (file,) = cmx3600(selects)
    text = file.content.decode("ascii")
    assert read_by_pycmx(text, timebase) == expected(selects)
    assert read_by_otio(text, timebase) == expected(selects)


@pytest.mark.parametrize("events", [1_000, 2_500])
def test_two_parsers_read_a_long_list_file_by_file(events):
    every = [event(in_frame=number % 1_900, out_frame=number % 1_900 + 1 + number % 50) for number in range(events)]
    files = cmx3600(pull(*every))
    assert len(files) == -(-events // 999)
    for start, file in zip(range(0, events, 999), files, strict=True):
        text, rows = file.content.decode("ascii"), expected(pull(*every[start : start + 999]))
        assert read_by_pycmx(text, PAL) == rows
        assert read_by_otio(text, PAL) == rows


def test_names_files_channels_and_titles_are_read_back():
    selects = pull(event(channels=4), event(has_picture=False, channels=3, clip="T 01", file="SOUND/T01.WAV"))
    listing = pycmx.parse_cmx3600(io.StringIO(cmx3600(selects)[0].content.decode("ascii")))
    first, second = (each.edits[0] for each in listing.events)
    assert listing.title == "Day 3 goats"
    assert (first.clip_name, first.source_file) == ("A003C001", "A003C001.MXF")
    assert (second.clip_name, second.source_file) == ("T 01", "T01.WAV")
    assert (first.channels.video, sorted(first.channels.channels)) == (True, [1, 2, 3, 4])
    assert (second.channels.video, sorted(second.channels.channels)) == (False, [1, 2, 3])


@pytest.mark.parametrize("note", ["LOCATION: beach", "M2 is broken", "FROM FILE: x", "ASC_SOP (1 1)", "* FREEZE FRAME"])
def test_a_note_is_never_taken_for_an_order(note):
    text = cmx3600(pull(event(note=note)))[0].content.decode("ascii")
    (clip,) = otio.adapters.read_from_string(text, "cmx_3600", rate=25).video_tracks()[0].find_clips()
    assert f"COMMENT: NOTE {note}" in clip.metadata["cmx_3600"]["comments"]
    assert clip.name == "A003C001"
    assert not clip.markers and not clip.effects
