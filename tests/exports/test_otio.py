"""The .otio timeline, read back by OpenTimelineIO itself."""

from urllib.parse import unquote

import opentimelineio as otio
from hypothesis import given, settings

from review.exports import otio_timeline
from review.timecode import Rate, Timebase

from .pulls import DROP, PAL, event, pull, pulls


def timeline_of(selects) -> otio.schema.Timeline:
    (file,) = otio_timeline(selects)
    return otio.adapters.read_from_string(file.content.decode("utf-8"), "otio_json")


def pictures_of(selects) -> list[otio.schema.Clip]:
    """The clips of the video track."""
    (video,) = timeline_of(selects).video_tracks()
    return list(video.find_clips())


def test_a_clip_points_at_its_original_in_source_timecode():
    timeline = timeline_of(pull(event(file="CONTENTS/Tür 1.MXF")))
    (clip,) = timeline.video_tracks()[0].find_clips()
    assert timeline.name == "Day 3 goats"
    assert clip.name == "A003C001"
    assert clip.media_reference.target_url == "KB04-261112-A03/CONTENTS/T%C3%BCr%201.MXF"
    assert clip.media_reference.available_range.start_time.to_timecode() == "10:00:00:00"
    assert clip.media_reference.available_range.duration.value == 2_000
    assert clip.source_range.start_time.to_timecode() == "10:00:02:00"
    assert clip.source_range.duration.to_timecode() == "00:00:04:00"


def test_all_that_is_known_travels_in_the_metadata():
    timeline = timeline_of(pull(event(timebase=DROP, note="山羊\n🐐", tags=("a", "b"))))
    (clip,) = timeline.video_tracks()[0].find_clips()
    facts = dict(clip.metadata["rushlight"])
    assert timeline.metadata["rushlight"]["production"] == "KB04"
    assert list(facts.pop("tags")) == ["a", "b"]
    assert list(facts.pop("more_files")) == []
    assert facts == {
        "card": "KB04-261112-A03",
        "reel": "61112A03",
        "camera": "A",
        "shoot_date": "2026-11-12",
        "file": "CONTENTS/A003C001.MXF",
        "clip": "A003C001",
        "select": "5f0c2c1e-7f0e-4a57-9d6b-4a2f5c6f9f10",
        "rate": "30000/1001",
        "drop": True,
        "source_timecode": True,
        # by hand: 900,050 frames are 8 h (863,136), 20 min (35,964), then 950 = 31 s and 20 frames
        "source_in": "08:20:31;20",
        "source_out": "08:20:35;00",
        "in_frame": 50,
        "out_frame": 150,
        "channels": 2,
        "note": "山羊\n🐐",
        "rating": 3,
        "logger": "Ines",
    }


def test_tags_and_note_are_a_marker_over_the_select():
    marked, bare = pictures_of(pull(event(tags=("a", "b")), event(tags=(), note="")))
    (marker,) = marked.markers
    assert (marker.name, marker.comment) == ("a, b", "they all look up at once")
    assert marker.marked_range == marked.source_range
    assert not bare.markers


def test_a_note_is_whole_but_for_control_characters():
    (clip,) = pictures_of(pull(event(note="up\r\nand\x00 down\x1b")))
    assert clip.markers[0].comment == clip.metadata["rushlight"]["note"] == "up\nand down"


def test_rates_may_be_mixed():
    film = Timebase(Rate(24000, 1001))
    first, second = pictures_of(pull(event(), event(timebase=film)))
    assert (first.source_range.duration.rate, second.source_range.duration.rate) == (25.0, 24000 / 1001)


def test_sound_alone_goes_to_an_audio_track_in_its_place():
    timeline = timeline_of(pull(event(), event(has_picture=False, clip="T01"), event(channels=0)))
    (video,), (audio,) = timeline.video_tracks(), timeline.audio_tracks()
    assert [type(each).__name__ for each in video] == ["Clip", "Gap", "Clip"]
    assert [type(each).__name__ for each in audio] == ["Clip", "Clip", "Gap"]
    assert audio[1].range_in_parent().start_time.value == 100
    assert video.duration() == audio.duration()


def test_sound_is_beside_its_picture_at_the_same_time():
    timeline = timeline_of(pull(event(), event(in_frame=0)))
    (video,), (audio,) = timeline.video_tracks(), timeline.audio_tracks()
    for picture, sound in zip(video, audio, strict=True):
        assert (picture.source_range, picture.media_reference.target_url) == (
            sound.source_range,
            sound.media_reference.target_url,
        )
        assert picture.range_in_parent() == sound.range_in_parent()


def test_what_the_list_did_to_a_select_is_told():
    (clip,) = pictures_of(pull(event(section="Arrivals", handles=(5, 0), also=("another",))))
    told = clip.metadata["rushlight"]
    assert (told["section"], list(told["handles"]), list(told["also"])) == ("Arrivals", [5, 0], ["another"])


@settings(max_examples=40, deadline=None)
@given(pulls())
def test_whatever_people_type_every_select_is_read_back_once(selects):
    picture = [each for each in selects.events if each.has_picture]
    sound = list(selects.events)  # these all have channels
    clips = timeline_of(selects).find_clips()
    for clip, each in zip(clips, picture + sound, strict=True):
        assert clip.source_range.start_time.value == each.clip_start + each.in_frame
        assert clip.source_range.duration.value == each.out_frame - each.in_frame
        assert unquote(clip.media_reference.target_url) == f"{each.card}/{each.file}"
        typed = [letter for letter in each.note if letter.isprintable()]
        assert [letter for letter in clip.metadata["rushlight"]["note"] if letter.isprintable()] == typed


def test_a_select_in_the_second_of_several_files_has_that_files_range():
    """The clip's frames 1,000 to 1,999 lie in its second file, which starts 40 s after the first at 25."""
    spanned = event(timebase=PAL, in_frame=1_050, out_frame=1_150, file="STREAM/00001.MTS", held=(1_000, 2_000))
    (clip,) = pictures_of(pull(spanned))
    assert clip.media_reference.target_url.endswith("00001.MTS")
    assert clip.media_reference.available_range.duration.value == 1_000
    start = clip.media_reference.available_range.start_time
    assert (clip.source_range.start_time - start).value == 50
