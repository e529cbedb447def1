"""Selects lists. That formats are written well is tested in tests/exports; here, that a list's selects get there."""

import csv
import io
import uuid
import zipfile

import opentimelineio as otio
import pytest

from review.desk import lists
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import SelectsList
from review.refusals import Conflict, NotAllowed, NotFound, Refusal
from review.timecode import Rate, Timebase
from tests.conftest import api_of

DROP = Timebase(Rate(30000, 1001), drop=True)


@pytest.fixture
def mark(cast, a_clip):
    """mark(in, out, …) makes a select and returns it."""

    def make(in_frame=0, out_frame=10, clip=a_clip, **says):
        return selecting.put(cast.logger, uuid.uuid4(), clip, Mark(in_frame, out_frame, **says), 0)

    return make


def order(selects_list):
    return [entry.select_id for entry in selects_list.entries.all()]


def test_it_works(cast, mark):
    picked = [mark(20, 30).id, mark(0, 10).id, mark(5, 50).id]
    made = lists.make(cast.editor, cast.kb04, "  Day 1:  the\tbest ", picked)
    assert (made.name, made.version, made.made_by) == ("Day 1: the best", 1, cast.editor)
    assert order(made) == picked


def test_a_select_is_in_a_list_once(cast, mark):
    first, second = mark().id, mark().id
    made = lists.make(cast.editor, cast.kb04, "best", [first, second, first])
    assert order(made) == [first, second]


def test_added_selects_come_at_the_end_and_known_ones_stay(cast, mark):
    first, second, third = mark().id, mark().id, mark().id
    made = lists.make(cast.editor, cast.kb04, "best", [first, second])
    assert lists.add(cast.logger, made, [third, first]) == 1
    made.refresh_from_db()
    assert (order(made), made.version) == ([first, second, third], 2)


def test_adding_nothing_new_changes_nothing(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "best", [mark().id])
    assert lists.add(cast.editor, made, order(made)) == 0
    made.refresh_from_db()
    assert made.version == 1


def test_a_new_order_and_a_new_name_are_written(cast, mark):
    first, second, third = mark().id, mark().id, mark().id
    made = lists.make(cast.editor, cast.kb04, "best", [first, second, third])
    changed = lists.change(cast.logger, made, 1, name="better", select_ids=[third, first])
    assert (changed.name, changed.version, order(changed)) == ("better", 2, [third, first])


def test_two_people_who_order_one_list_are_told(cast, mark):
    first, second = mark().id, mark().id
    made = lists.make(cast.editor, cast.kb04, "best", [first, second])
    lists.change(cast.logger, made, 1, select_ids=[second, first])
    with pytest.raises(Conflict, match="Somebody changed this list since you saw it") as refused:
        lists.change(cast.editor, made, 1, select_ids=[first])
    assert refused.value.current.version == 2
    assert order(made) == [second, first]


def test_a_refused_change_leaves_the_list_whole(cast, mark):
    first = mark().id
    made = lists.make(cast.editor, cast.kb04, "best", [first])
    with pytest.raises(Refusal, match="1 of these are not selects of KB04"):
        lists.change(cast.editor, made, 1, select_ids=[uuid.uuid4()])
    made.refresh_from_db()
    assert (order(made), made.version) == ([first], 1)


def test_a_list_of_nothing_is_fine_until_it_is_exported(cast):
    made = lists.make(cast.editor, cast.kb04, "empty")
    for kind in ("edl", "csv", "otio"):
        with pytest.raises(Refusal, match="has no selects: add some first"):
            lists.export(made, kind)


def test_a_deleted_select_is_left_out_and_comes_back(cast, mark):
    first, second = mark(0, 10), mark(20, 30)
    made = lists.make(cast.editor, cast.kb04, "best", [first.id, second.id])
    gone = selecting.delete(cast.logger, first)
    assert [event.in_frame for event in lists.pull(made).events] == [20]
    selecting.put(cast.logger, first.id, first.clip, Mark(0, 10), gone.version)
    assert [event.in_frame for event in lists.pull(made).events] == [0, 20]


def test_a_deleted_select_cannot_be_added(cast, mark):
    gone = selecting.delete(cast.logger, mark())
    with pytest.raises(Refusal, match=r"not selects of KB04 \(or were deleted\)") as refused:
        lists.make(cast.editor, cast.kb04, "best", [gone.id])
    assert refused.value.field == "selects"
    assert not SelectsList.objects.exists()


def test_the_edl_is_read_back(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "best", [mark(20, 30).id, mark(0, 10).id])
    file = lists.export_by(cast.editor, made, "edl")
    assert file.name == "best.edl"
    timeline = otio.adapters.read_from_string(file.content.decode("ascii"), "cmx_3600", rate=25)
    clips = list(timeline.video_tracks()[0].find_clips())
    first = 10 * 3600 * 25  # 10:00:00:00
    assert [(c.source_range.start_time.value, c.source_range.duration.value) for c in clips] == [
        (first + 20, 10),
        (first, 10),
    ]
    assert [clip.metadata["cmx_3600"]["reel"] for clip in clips] == ["61112A01"] * 2
    comments = clips[0].metadata["cmx_3600"]["comments"]
    assert "COMMENT: CARD KB04-261112-A01 FILE CLIP/A001C001.MOV" in comments


def test_the_csv_is_read_back(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "best", [mark(20, 30, tags=("gull",), note="it\nlands", rating=4).id])
    text = lists.export(made, "csv").content.decode("utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(text, newline=""))
    assert (row["card"], row["file"], row["reel"]) == ("KB04-261112-A01", "CLIP/A001C001.MOV", "61112A01")
    assert (row["source in"], row["source out"], row["in frame"], row["out frame"]) == (
        ("10:00:00:20", "10:00:01:05", "20", "30")
    )
    assert (row["tags"], row["note"], row["rating"], row["logger"]) == ("gull", "it\nlands", "4", "logger")


def test_the_otio_is_read_back(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "best", [mark(20, 30).id, mark(0, 10).id])
    timeline = otio.adapters.read_from_string(lists.export(made, "otio").content.decode(), "otio_json")
    clips = list(timeline.video_tracks()[0].find_clips())
    assert [clip.source_range.duration.value for clip in clips] == [10, 10]
    assert clips[0].media_reference.target_url == "KB04-261112-A01/CLIP/A001C001.MOV"
    assert clips[0].metadata["rushlight"]["source_in"] == "10:00:00:20"


def test_a_list_of_two_rates_is_a_zip_of_two_edls(cast, mark, make_clip):
    drop = make_clip("B001", card="KB04-261112-B01", timebase=DROP, start="10:00:00;00")
    made = lists.make(cast.editor, cast.kb04, "best", [mark().id, mark(clip=drop).id])
    file = lists.export(made, "edl")
    assert file.name.endswith(".zip")
    with zipfile.ZipFile(io.BytesIO(file.content)) as archive:
        texts = [archive.read(name).decode("ascii") for name in archive.namelist() if name.endswith(".edl")]
        assert archive.namelist()[2:] == ["best manifest.txt", "best reels.csv"]
    assert ["FCM: NON-DROP FRAME" in texts[0], "FCM: DROP FRAME" in texts[1]] == [True, True]
    assert len(list(csv.DictReader(io.StringIO(lists.export(made, "csv").content.decode("utf-8-sig"))))) == 2


def test_an_unknown_format_is_refused(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "best", [mark().id])
    with pytest.raises(Refusal, match="'doc' is not a format; use one of edl, csv, otio") as refused:
        lists.export(made, "doc")
    assert refused.value.field == "as"


@pytest.mark.parametrize("name", ["", "   ", "\n\t", "\0", "x" * 201])
def test_a_list_needs_a_name(cast, name):
    with pytest.raises(Refusal, match="A list needs a name of up to 200 characters"):
        lists.make(cast.editor, cast.kb04, name)


def test_a_name_is_used_once_in_a_production(cast):
    lists.make(cast.editor, cast.kb04, "best")
    lists.make(cast.stranger, cast.nr07, "best")
    with pytest.raises(Refusal, match="KB04 has a list named 'best' already; choose another name"):
        lists.make(cast.logger, cast.kb04, "best")
    other = lists.make(cast.logger, cast.kb04, "other")
    with pytest.raises(Refusal, match="has a list named 'best' already"):
        lists.change(cast.logger, other, 1, name="best")


def test_a_select_of_another_production_is_not_for_this_list(cast, mark, make_clip):
    theirs = make_clip(card="NR07-261112-A01", production=cast.nr07)
    select = selecting.put(cast.stranger, uuid.uuid4(), theirs, Mark(0, 10), 0)
    with pytest.raises(Refusal, match="not selects of KB04"):
        lists.make(cast.editor, cast.kb04, "best", [select.id])


def test_a_stranger_finds_no_list(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "best", [mark().id])
    for attempt in (
        lambda: lists.make(cast.stranger, cast.kb04, "mine"),
        lambda: lists.add(cast.stranger, made, []),
        lambda: lists.change(cast.stranger, made, 1, name="mine"),
        lambda: lists.export_by(cast.stranger, made, "csv"),
    ):
        with pytest.raises(NotFound, match="no such production, or you are not a member"):
            attempt()


def test_a_media_manager_exports_but_does_not_make_lists(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "best", [mark().id])
    assert lists.export_by(cast.media_manager, made, "csv").content
    with pytest.raises(NotAllowed, match="To make lists in KB04 you must be"):
        lists.make(cast.media_manager, cast.kb04, "mine")


def test_a_select_of_a_recording_that_has_become_shorter_is_shown_and_refused_in_words(cast, mark, a_clip):
    made = lists.make(cast.editor, cast.kb04, "best", [mark(40, 50).id])
    a_clip.frames, a_clip.file_frames = 20, [20]  # as a check of another copy finds it
    a_clip.save()
    (told,) = api_of(cast.editor).get("/api/v1/selects/").json()["results"]
    assert (told["file"], told["in_frame"]) == ("CLIP/A001C001.MOV", 40)
    with pytest.raises(Refusal, match="is not inside clip A001C001 on card KB04-261112-A01, which has 20 frames"):
        lists.export(made, "edl")


def test_a_change_of_a_list_that_was_deleted_meanwhile_is_refused_in_words(cast, mark):
    made = lists.make(cast.editor, cast.kb04, "Harbour", [mark().id])
    lists.delete(cast.editor, made, 1)
    with pytest.raises(NotFound, match="Somebody deleted this list"):
        lists.settle(cast.editor, made, 1, handles=1000)
