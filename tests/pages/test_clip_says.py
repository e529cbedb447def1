"""A clip's row says where its timecode came from, what its channels are called and what is odd; exports say it too."""

import csv
import io
import json
import uuid

import pytest

from review.desk import lists
from review.marking import selecting
from review.models import Clip
from tests.conftest import check, film
from tests.media.test_clip_xml import clip_content, non_real_time
from tests.media.test_file_sources import speed, take
from tests.media.test_ixml import ixml, track


@pytest.fixture
def checked(cast, root):
    """Check a card whose files `fill` writes into its folder, and give its one clip."""

    def make(fill) -> Clip:
        folder = root / "KB04-261112-A01"
        (folder / "CLIP").mkdir(parents=True)
        fill(folder / "CLIP")
        return check(folder, cast.kb04).clips.select_related("card__production").get()

    return make


def test_it_works(checked):
    clip = checked(lambda folder: film(folder / "A001.MOV"))
    assert (clip.label(0), clip.timecode_source, clip.notes) == ("10:00:00:00", "timecode track", [])
    assert (clip.channels, clip.channel_names) == (2, [])


def test_xml_beside_the_clip_is_believed_and_the_disagreement_told(checked):
    def fill(folder):
        film(folder / "C0001.MP4")
        (folder / "C0001M01.XML").write_bytes(
            non_real_time((0, "00000110"), (30, "00100110"), (49, "19100110"), duration=51)
        )

    clip = checked(fill)
    assert (clip.label(0), clip.timecode_source, clip.drop) == ("10:01:00:00", "clip XML", False)
    assert clip.notes == [
        "timecode breaks at frame 30: the clip XML goes on from 10:01:10:00 there",
        "the clip XML says 51 frames, and 50 were counted",
        "timecode disagrees: the clip XML says 10:01:00:00, the timecode track 10:00:00:00, 1,500 frames earlier; "
        "the clip XML is used",
    ]


def test_xml_gives_the_start_and_the_kind_that_the_file_does_not_tell(checked):
    def fill(folder):
        film(folder / "C0001.MP4", rate="30000/1001", start=None)
        (folder / "C0001M01.XML").write_bytes(non_real_time((0, "67212901"), fps=30))

    clip = checked(fill)
    assert (clip.label(0), clip.drop, clip.timecode_source) == ("01:29:21;27", True, "clip XML")


def test_the_older_schema_beside_a_clip(checked):
    def fill(folder):
        film(folder / "0001AB.MP4", start=None)
        (folder / "0001AB.XML").write_bytes(clip_content("10:00:00:12", "25p", duration=50))

    clip = checked(fill)
    assert (clip.label(0), clip.timecode_source, clip.notes) == ("10:00:00:12", "clip XML", [])


@pytest.mark.parametrize(
    ("content", "note"),
    [
        (b"<NonRealTimeMeta>", "C0001M01.XML is not XML that can be read"),
        (b'<!DOCTYPE a SYSTEM "file:///etc/passwd"><a/>', "C0001M01.XML is not XML that can be read"),
        (b" " * ((4 << 20) + 1), "C0001M01.XML is longer than 4,194,304 bytes"),
        (non_real_time((0, "00000010"), fps=30), "the clip XML is of no use: it counts 30 frames a second"),
    ],
)
def test_xml_that_cannot_be_used_is_told_and_the_file_is_believed(checked, content, note):
    def fill(folder):
        film(folder / "C0001.MP4")
        (folder / "C0001M01.XML").write_bytes(content)

    clip = checked(fill)
    assert clip.timecode_source == "timecode track"
    assert clip.notes[0].startswith(note)


def test_a_take_has_the_address_and_the_names_that_its_recorder_gave(checked):
    tracks = f"<TRACK_LIST>{track(1, 'Boom')}{track(2, 'Ines')}</TRACK_LIST>"
    xml = ixml(speed("30000/1001", "DF", 1_728_000_000), tracks)
    clip = checked(lambda folder: take(folder / "T01.WAV", xml=xml))
    assert (clip.kind, clip.label(0), clip.timecode_source) == ("sound", "10:00:00:00", "BWF time reference")
    assert clip.channel_names == ["Boom", "Ines"]
    assert clip.notes == ["the recorder was set to 29.97DF; the clip is counted at 25"]


def exported(cast, clip, kind: str) -> str:
    mark = selecting.put(cast.logger, uuid.uuid4(), clip, selecting.Mark(5, 20), 0)
    return lists.export(lists.make(cast.editor, cast.kb04, f"goats {kind}", [mark.id]), kind).content.decode()


def test_a_clip_without_timecode_is_marked_through_to_every_export(cast, checked):
    clip = checked(lambda folder: take(folder / "T01.WAV", reference=0))
    clip.frames = 25
    clip.save()
    assert not clip.has_source_timecode
    assert clip.label(0) == "10:00:00:00"
    assert "no source timecode: labelled from the file's time of day, 10:00:00" in clip.notes
    edl = exported(cast, clip, "edl")
    assert "10:00:00:05 10:00:00:20" in edl
    assert "* COMMENT: NO SOURCE TIMECODE, COUNTED FROM THE FILE'S TIME OF DAY" in edl
    assert "* COMMENT: IN IS FRAME 5 OF THE CLIP, COUNTED FROM 0" in edl


def test_a_clip_without_timecode_or_clock_counts_from_zero_and_says_so(cast, checked):
    clip = checked(lambda folder: film(folder / "A001.MP4", start=None))
    assert (clip.label(0), clip.has_source_timecode) == ("00:00:00:00", False)
    assert "* COMMENT: NO SOURCE TIMECODE, COUNTED FROM THE START OF THE CLIP" in exported(cast, clip, "edl")


def test_tables_and_timelines_say_so_too(cast, checked):
    clip = checked(lambda folder: film(folder / "A001.MP4", start=None))
    (row,) = csv.DictReader(io.StringIO(exported(cast, clip, "csv").lstrip("\ufeff")))
    assert row["source timecode"] == "no"
    timeline = json.loads(exported(cast, clip, "otio"))
    for track_ in timeline["tracks"]["children"]:
        assert track_["children"][0]["metadata"]["rushlight"]["source_timecode"] is False


def test_a_clip_that_runs_over_midnight_keeps_its_labels(cast, checked):
    clip = checked(lambda folder: film(folder / "A001.MOV", start="23:59:59:20"))
    assert [clip.label(frame) for frame in (0, 4, 5)] == ["23:59:59:20", "23:59:59:24", "00:00:00:00"]
    assert "00:00:00:00 00:00:00:15" in exported(cast, clip, "edl")


def test_a_file_that_lies_is_refused_with_a_reason_and_the_rest_of_the_card_is_read(cast, root):
    folder = root / "KB04-261112-A01"
    film(folder / "CLIP" / "A001.MOV")
    (folder / "CLIP" / "A002.MP4").write_text("ffconcat version 1.0\nfile 'A001.MOV'\n")
    (folder / "CLIP" / "A003.MOV").write_bytes((folder / "CLIP" / "A001.MOV").read_bytes()[:5000])
    card = check(folder, cast.kb04)
    assert card.state == "held"
    assert [clip.name for clip in card.clips.all()] == ["A001"]
    reasons = {finding["where"]: finding["what"] for finding in card.findings if finding["code"] == "unreadable"}
    assert "is not video or sound" in reasons["CLIP/A002.MP4"]
    assert "It was probably copied in part" in reasons["CLIP/A003.MOV"]
