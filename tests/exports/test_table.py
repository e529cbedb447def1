"""The CSV table, read back by Python's own csv module (RFC 4180)."""

import csv
import io

import pytest
from hypothesis import given, settings

from review.exports import ExportOptions, csv_table
from review.exports.table import COLUMNS

from .pulls import DROP, event, pull, pulls


def content_of(selects) -> bytes:
    (file,) = csv_table(selects)
    return file.content


def rows_of(selects) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content_of(selects).decode("utf-8-sig"), newline="")))


def test_a_row_says_where_the_select_is_and_what_was_said_of_it():
    # 29.97 drop by hand from the rules of SMPTE ST 12-1: frame 1,078,920 is 10:00:00;00, 1,800 later 00:01:00;02.
    (row,) = rows_of(
        pull(
            event(
                timebase=DROP,
                clip_start=1_078_920,
                in_frame=1_790,
                out_frame=1_810,
                tags=("goats", "山羊"),
                source_timecode=False,
            )
        )
    )
    assert row == {
        "card": "KB04-261112-A03",
        "camera": "A",
        "shoot date": "2026-11-12",
        "file": "CONTENTS/A003C001.MXF",
        "clip": "A003C001",
        "reel": "61112A03",
        "rate": "29.97",
        "drop": "DF",
        "source in": "10:00:59;20",
        "source out": "10:01:00;12",
        "in frame": "1790",
        "out frame": "1810",
        "duration": "00:00:00;20",
        "duration frames": "20",
        "tags": "goats, 山羊",
        "note": "they all look up at once",
        "rating": "3",
        "logger": "Ines",
        "select id": "5f0c2c1e-7f0e-4a57-9d6b-4a2f5c6f9f10",
        "source timecode": "no",
    }


def test_spreadsheets_are_told_that_it_is_utf_8_and_lines_end_in_cr_lf():
    content = content_of(pull(event(), event(shoot_date=None)))
    assert content.startswith(b"\xef\xbb\xbfcard,camera,shoot date,")
    assert content.count(b"\r\n") == content.count(b"\n") == 3


def test_quotes_are_doubled_and_line_breaks_kept_inside_quotes():
    # RFC 4180, section 2, rules 6 and 7
    content = content_of(pull(event(note='she said "now",\r\nthen ran')))
    assert b'"she said ""now"",\nthen ran"' in content
    assert rows_of(pull(event(note='she said "now",\r\nthen ran')))[0]["note"] == 'she said "now",\nthen ran'


@pytest.mark.parametrize(
    "note", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1+1", " =1+1", "＝1+1", "\x00=1"]
)
def test_a_cell_that_a_spreadsheet_would_run_is_made_text(note):
    # Which beginnings run: common practice, no source.
    row = rows_of(pull(event(note=note, clip=note, tags=(note,))))[0]
    for column in ("note", "clip", "tags"):
        assert row[column].startswith("'")
        assert row[column].endswith(note[-1])


def test_control_characters_go_and_tabs_become_spaces():
    assert rows_of(pull(event(note="a\x00b\x1b[1m\x7fc\x9dd\te")))[0]["note"] == "ab[1mcd e"


@settings(max_examples=40, deadline=None)
@given(pulls())
def test_whatever_people_type_every_row_and_number_is_read_back(selects):
    rows = rows_of(selects)
    assert [tuple(row) for row in rows] == [COLUMNS] * len(selects.events)
    for row, each in zip(rows, selects.events, strict=True):
        assert (row["card"], row["reel"]) == (each.card, each.reel)
        assert (int(row["in frame"]), int(row["out frame"])) == (each.in_frame, each.out_frame)
        # labels wrap at midnight, so counted from the clip's start they can be a day short
        assert (
            each.timebase.frame(row["source in"]) - each.clip_start - each.in_frame
        ) % each.timebase.frames_per_day == 0
        assert not row["note"].startswith(("=", "+", "-", "@", "\t", "\r"))


def test_columns_are_those_that_were_chosen_in_their_order():
    options = ExportOptions.read({"columns": "place,section,card,handle before,channels,kind,seconds"})
    (file,) = csv_table(pull(event(section="Arrivals", handles=(5, 0)), event(has_picture=False)), options.columns)
    rows = list(csv.reader(io.StringIO(file.content.decode("utf-8-sig"))))
    assert rows == [
        ["place", "section", "card", "handle before", "channels", "kind", "seconds"],
        ["1", "Arrivals", "KB04-261112-A03", "5", "2", "picture", "4.000"],
        ["2", "", "KB04-261112-A03", "0", "2", "sound", "4.000"],
    ]


def test_an_event_of_several_selects_names_them_all():
    assert rows_of(pull(event(select_id="one", also=("two",))))[0]["select id"] == "one; two"
