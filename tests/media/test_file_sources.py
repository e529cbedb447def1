"""Start timecode and channel names out of real files: each place that a format keeps them.

The files are made by ffmpeg, which was told what to write; where it cannot write a thing (a source package of another
time, pairs in a timecode track, iXML) its bytes are changed in place and the format's source is named.
"""

import re
import struct
import subprocess

import pytest

from review.media.ffmpeg import ffmpeg_binary
from review.media.probe import joined, probe
from review.media.timecode_sources import Source, Start
from review.timecode import Rate, Timebase

from .clips import H264, PCM, ffmpeg, make_clip
from .conftest import PRODUCTION
from .picture_timing import with_picture_timing
from .test_clip_xml import clip_content, non_real_time
from .test_ixml import chunk, ixml, track

R23976, R25, R2997, R50, R5994 = Rate(24000, 1001), Rate(25), Rate(30000, 1001), Rate(50), Rate(60000, 1001)
SHORT = {"frames": 5, "size": (320, 180), "tones": ()}
MPEG2 = ("-c:v", "mpeg2video", "-q:v", "2")


def start_of(path) -> Start:
    found = probe(path)
    return found.start(found.timebase(PRODUCTION))


# Every rate, in a timecode track and in an MXF file, with the last label before midnight


@pytest.mark.parametrize("suffix", [".mov", ".mp4", ".mxf"])
@pytest.mark.parametrize(
    ("rate", "label"),
    [
        (R23976, "23:59:59:23"),
        (Rate(24), "23:59:59:23"),
        (R25, "23:59:59:24"),
        (R2997, "23:59:59;29"),
        (R2997, "23:59:59:29"),
        (Rate(30), "23:59:59:29"),
        (R50, "23:59:59:49"),
        (R5994, "23:59:59;59"),
        (R5994, "23:59:59:59"),
        (Rate(60), "23:59:59:59"),
    ],
)
def test_each_rate_keeps_its_start_and_runs_over_midnight(suffix, rate, label, tmp_path):
    coding = MPEG2 if suffix == ".mxf" else H264
    found = probe(make_clip(tmp_path / f"A001{suffix}", rate, *coding, "-timecode", label, **SHORT))
    timebase = found.timebase(PRODUCTION)
    start = found.start(timebase)
    assert (found.rate, timebase.drop, start.notes) == (rate, ";" in label, ())
    assert timebase.label(start.frame) == label
    assert timebase.label(start.frame + 1) == f"00:00:00{label[8]}00"


def test_interlaced_pictures_count_frames_not_fields(tmp_path):
    coding = (*MPEG2, "-flags", "+ildct+ilme", "-timecode", "10:00:00:24")
    found = probe(make_clip(tmp_path / "A001.mxf", R25, *coding, **SHORT))
    assert (found.interlaced, found.rate, found.start_timecode) == (True, R25, "10:00:00:24")


# Timecode tracks


def counting(path, was: int, now: int):
    """Make its timecode track count another number of frames a second: time scale, duration of a frame and count in
    its sample description (QuickTime File Format, from memory)."""
    data = bytearray(path.read_bytes())
    at = re.search(rb"stsd.{12}tmcd", data, re.DOTALL).end() + 16
    assert data[at + 8] == was
    data[at : at + 9] = struct.pack(">IIB", now * 1000, 1000, now)
    path.write_bytes(data)
    return path


def test_pairs_in_a_timecode_track_are_doubled(tmp_path):
    path = make_clip(tmp_path / "A001.mov", R50, *H264, "-timecode", "00:00:00:12", **SHORT)
    found = probe(counting(path, 50, 25))
    assert found.start_timecode == "00:00:00:24"
    assert found.notes == ("its timecode counts pairs of frames; it was doubled to count each one",)


def test_a_timecode_track_of_another_rate_is_of_no_use(tmp_path):
    path = make_clip(tmp_path / "A001.mov", R25, *H264, "-timecode", "10:00:00:00", **SHORT)
    found = probe(counting(path, 25, 30))
    assert found.start_timecode is None
    assert "the timecode track is of no use: it counts 30 frames a second, and the clip has 25" in found.notes


def test_a_label_that_drop_frame_skips_is_never_taken_for_its_neighbour(tmp_path):
    """ffmpeg stores the frame number of 00:01:00;00 as that of 00:00:59;28, as it reads the label."""
    path = make_clip(tmp_path / "A001.mov", R2997, *H264, "-timecode", "00:01:00;02", **SHORT)
    assert start_of(path).frame == 1_800


# MXF


def timecodes_at(data: bytes) -> list[int]:
    """Where the start of each timecode component is (ST 377-1, from memory: item 1501, eight bytes)."""
    places, at = [], data.find(b"\x15\x01\x00\x08")
    while at >= 0:
        places.append(at + 4)
        at = data.find(b"\x15\x01\x00\x08", at + 1)
    return places


def test_the_material_and_the_source_package_are_told_apart(tmp_path):
    path = make_clip(tmp_path / "A001.mxf", R25, "-c:v", "dnxhd", "-profile:v", "dnxhr_lb", "-pix_fmt", "yuv422p",
                     "-timecode", "10:00:00:00", **SHORT)  # fmt: skip
    assert start_of(path) == Start(900_000, "MXF material package")
    data = bytearray(path.read_bytes())
    material, source, *_ = timecodes_at(data)
    data[source : source + 8] = (810_000).to_bytes(8, "big")
    path.write_bytes(data)
    found = probe(path)
    assert found.found == (
        Source("MXF material package", "10:00:00:00"),
        Source("MXF source package", "09:00:00:00"),
    )
    assert (
        "the MXF source package 09:00:00:00, 90,000 frames earlier; the MXF material package is used"
        in (found.start(PRODUCTION).notes[0])
    )
    key = bytes.fromhex("060e2b34025301010d010101010114")  # a timecode component: the material's is none now
    at = data.rindex(key, 0, material)
    data[at + 14] = 0x7F
    path.write_bytes(data)
    found = probe(path)
    assert found.timecode_source == "MXF source package"
    assert found.start_timecode == "09:00:00:00"


# In the pictures


def test_picture_timing_in_h264(tmp_path):
    data = with_picture_timing(5, "10:11:12:13")
    path = tmp_path / "00001.MTS"
    ffmpeg("-f", "h264", "-framerate", "25", "-i", "pipe:0", "-c", "copy", "-f", "mpegts", path, stdin=data)
    found = probe(path)
    assert (found.start_timecode, found.timecode_source) == ("10:11:12:13", "picture timing in the video stream")


def test_the_timecode_of_mpeg2_picture_groups(tmp_path):
    coding = (*MPEG2, "-gop_timecode", "09:00:00;02")
    found = probe(make_clip(tmp_path / "A001.mpg", R2997, *coding, **SHORT))
    assert (found.start_timecode, found.timecode_source, found.drop) == (
        "09:00:00;02",
        "MPEG-2 picture groups",
        True,
    )


def test_picture_groups_that_begin_at_zero_say_nothing(tmp_path):
    path = make_clip(tmp_path / "A001.mpg", R25, *MPEG2, "-gop_timecode", "00:00:00:00", **SHORT)
    assert start_of(path) == Start(0, "", ("no source timecode and no clock: labelled from zero",))


def test_the_container_is_believed_before_the_pictures(tmp_path):
    path = make_clip(tmp_path / "A001.mov", R25, *MPEG2, "-gop_timecode", "09:00:00:00", "-timecode", "10:00:00:00",
                     **SHORT)  # fmt: skip
    start = start_of(path)
    assert (start.frame, start.source) == (900_000, "timecode track")
    # ffmpeg gives the picture groups the timecode of the file
    assert [source.label for source in probe(path).found] in (
        ["10:00:00:00", "10:00:00:00"],
        ["10:00:00:00", "09:00:00:00"],
    )


# XML inside the file


def atom(name: bytes, data: bytes) -> bytes:
    return (8 + len(data)).to_bytes(4, "big") + name + data


@pytest.mark.parametrize("name", [b"meta", b"uuid"])
def test_clip_xml_inside_an_mp4(name, tmp_path):
    path = make_clip(tmp_path / "C0001.MP4", R25, *H264, **SHORT)
    path.write_bytes(path.read_bytes() + atom(name, bytes(16) + non_real_time((0, "17305719"))))
    found = probe(path)
    assert (found.start_timecode, found.timecode_source) == ("19:57:30:17", "clip XML")
    assert found.shot_at == "2026-11-12T19:57:30"


def test_clip_xml_in_a_tag_of_the_file(tmp_path):
    xml = clip_content("10:00:00:12", "25p").decode()
    path = make_clip(tmp_path / "A001.mov", R25, *H264, "-movflags", "use_metadata_tags", "-metadata",
                     f"com.example.metadata.xml={xml}", **SHORT)  # fmt: skip
    assert start_of(path) == Start(900_012, "clip XML")


def test_xml_that_cannot_be_read_is_told_and_harms_nothing(tmp_path):
    path = make_clip(tmp_path / "C0001.MP4", R25, *H264, "-timecode", "10:00:00:00", **SHORT)
    path.write_bytes(path.read_bytes() + atom(b"meta", b"<?xml <NonRealTimeMeta> </NonRealTimeMeta>"))
    found = probe(path)
    assert found.timecode_source == "timecode track"
    assert found.notes[0].startswith("the clip XML inside the file is not XML that can be read")


# Recorders' files


def take(path, *, reference: int = 1_728_000_000, time: str = "10:00:00", xml: bytes | None = None, comment: str = ""):
    ffmpeg(
        *("-f", "lavfi", "-i", "anullsrc=r=48000:cl=stereo:d=0.1", "-c:a", "pcm_s24le", "-write_bext", "1"),
        *("-metadata", f"time_reference={reference}", "-metadata", f"description={comment}"),
        *("-metadata", "origination_date=2026-11-12", "-metadata", f"origination_time={time}", path),
    )
    if xml is not None:
        data = path.read_bytes() + chunk(b"iXML", xml)
        path.write_bytes(data[:4] + (len(data) - 8).to_bytes(4, "little") + data[8:])
    return path


def speed(rate: str = "25/1", flag: str = "NDF", samples: int | None = None) -> str:
    words = f"<TIMECODE_RATE>{rate}</TIMECODE_RATE><TIMECODE_FLAG>{flag}</TIMECODE_FLAG>"
    for half, value in (("HI", (samples or 0) >> 32), ("LO", (samples or 0) & 0xFFFFFFFF)):
        name = f"TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_{half}"
        words += f"<{name}>{value}</{name}>" if samples is not None else ""
    return words


def test_a_take_with_ixml(tmp_path):
    tracks = f"<TRACK_LIST>{track(1, 'Boom')}{track(2, 'Ines')}</TRACK_LIST>"
    path = take(tmp_path / "T01.wav", xml=ixml(speed(samples=1_728_000_000), tracks))
    found = probe(path)
    assert found.channel_names == ("Boom", "Ines")
    assert found.start(PRODUCTION) == Start(900_000, "BWF time reference")
    assert [source.kind for source in found.found] == ["BWF time reference", "iXML"]


def test_a_recorder_that_was_set_to_another_rate_is_told(tmp_path):
    path = take(tmp_path / "T01.wav", xml=ixml(speed("30000/1001", "DF")))
    assert probe(path).start(PRODUCTION).notes == ("the recorder was set to 29.97DF; the clip is counted at 25",)
    drop = Timebase(R2997, True)
    assert probe(path).start(drop).notes == ()
    assert "the clip is counted at 29.97NDF" in probe(path).start(Timebase(R2997)).notes[0]


def test_a_reference_of_zero_in_a_file_of_ten_o_clock_is_none(tmp_path):
    found = probe(take(tmp_path / "T01.wav", reference=0))
    assert found.start(PRODUCTION) == Start(
        900_000, "", ("no source timecode: labelled from the file's time of day, 10:00:00",)
    )
    assert "its BWF time reference is zero, and it was begun at 10:00:00" in found.notes[0]


def test_ixml_steps_in_where_the_reference_is_zero(tmp_path):
    path = take(tmp_path / "T01.wav", reference=0, xml=ixml(speed(samples=1_728_000_000)))
    assert start_of(path) == Start(900_000, "iXML")


@pytest.mark.parametrize("time", ["00:00:00", "23:59:59"])
def test_a_reference_of_zero_at_midnight_is_midnight(time, tmp_path):
    assert start_of(take(tmp_path / "T01.wav", reference=0, time=time)) == Start(0, "BWF time reference")


def test_channels_named_in_the_older_way(tmp_path):
    assert probe(take(tmp_path / "T01.wav", comment="sTRK1=Boom\r\nsTRK2=Ines")).channel_names == ("Boom", "Ines")


def test_a_name_for_one_channel_of_two(tmp_path):
    path = take(tmp_path / "T01.wav", xml=ixml(tracks=f"<TRACK_LIST>{track(2, 'Ines')}</TRACK_LIST>"))
    assert probe(path).channel_names == ("", "Ines")


def test_names_are_one_line_of_what_can_be_seen(tmp_path):
    path = take(
        tmp_path / "T01.wav", xml=ixml(tracks=f"<TRACK_LIST>{track(1, ' a&#9;b&#10;' + 'c' * 99)}</TRACK_LIST>")
    )
    assert probe(path).channel_names == ("a b " + "c" * 56, "")


def test_ixml_that_cannot_be_read_is_told_and_harms_nothing(tmp_path):
    found = probe(take(tmp_path / "T01.wav", xml=b"<BWFXML>"))
    assert found.timecode_source == "BWF time reference"
    assert found.notes[0].startswith("its iXML is not XML that can be read")


# Channel names of cameras


@pytest.mark.parametrize("key", ["title", "handler_name"])
def test_named_tracks_of_a_camera(key, tmp_path):
    tones = ("-f", "lavfi", "-i", "anullsrc=r=48000:cl=mono:d=0.2")
    path = tmp_path / "A001.mov"
    ffmpeg("-f", "lavfi", "-i", "testsrc=s=64x64:d=0.2", *tones, *tones, "-map", "0", "-map", "1", "-map", "2", *H264,
           *PCM, "-metadata:s:a:1", f"{key}=Boom", path)  # fmt: skip
    assert probe(path).channel_names == ("", "Boom")


def test_what_a_writer_puts_for_no_name_is_none(tmp_path):
    path = make_clip(tmp_path / "A001.mov", R25, *H264, *PCM, frames=5)  # "SoundHandler"
    assert probe(path).channel_names == ()


def test_a_named_track_of_two_channels_names_both(tmp_path):
    path = make_clip(
        tmp_path / "A001.mov", R25, *H264, *PCM, "-metadata:s:a:0", "title=Boom", frames=5, tones=(400, 500)
    )
    assert probe(path).channel_names == ("Boom 1", "Boom 2")


# Several files, one clip


def test_sound_files_beside_the_picture_keep_their_names_in_the_order_of_channels(tmp_path):
    picture = probe(make_clip(tmp_path / "A001.mov", R25, *H264, *PCM, "-timecode", "10:00:00:00", frames=5))
    named = probe(take(tmp_path / "T01.wav", xml=ixml(tracks=f"<TRACK_LIST>{track(2, 'Ines')}</TRACK_LIST>")))
    whole = joined([picture], [named])
    assert (whole.channels, whole.channel_names) == (3, ("", "", "Ines"))
    assert whole.notes == ()


def test_sound_beside_the_picture_that_began_at_another_time_is_told(tmp_path):
    picture = probe(make_clip(tmp_path / "A001.mov", R25, *H264, "-timecode", "10:00:00:00", **SHORT))
    later = probe(take(tmp_path / "T01.wav", reference=1_728_048_000))
    assert joined([picture], [later]).notes == ("sound file 1 says that it began at 10:00:01:00, not with the picture",)


def test_a_break_between_two_files_of_a_clip_is_told(tmp_path):
    labels = ("23:59:59:22", "00:00:00:02", "00:00:00:20")  # five frames each: the third is late
    parts = [
        probe(make_clip(tmp_path / f"A00{number}.mov", R25, *H264, "-timecode", label, **SHORT))
        for number, label in enumerate(labels)
    ]
    assert joined(parts[:2]).notes == ()
    assert joined(parts).notes == ("timecode breaks at frame 10: file 3 goes on from 00:00:00:20 there",)


# No timecode anywhere


def test_the_files_clock_labels_what_has_no_timecode(tmp_path):
    path = make_clip(tmp_path / "A001.mp4", R25, *H264, "-metadata", "creation_time=2026-11-12T10:20:30Z", **SHORT)
    assert start_of(path) == Start(
        (10 * 3600 + 20 * 60 + 30) * 25, "", ("no source timecode: labelled from the file's time of day, 10:20:30",)
    )


def test_a_clock_that_says_midnight_is_a_clock(tmp_path):
    path = make_clip(tmp_path / "A001.mp4", R25, *H264, "-metadata", "creation_time=2026-11-12T00:00:00Z", **SHORT)
    assert start_of(path).notes == ("no source timecode: labelled from the file's time of day, 00:00:00",)


def test_a_time_of_day_that_drop_frame_skips_takes_the_next_label(tmp_path):
    """Sound counted in drop-frame: 10:01:00;00 does not exist (SMPTE ST 12-1)."""
    drop = Timebase(R2997, True)
    start = probe(take(tmp_path / "T01.wav", reference=0, time="10:01:00")).start(drop)
    assert (drop.label(start.frame), start.source) == ("10:01:00;02", "")


def test_ffmpeg_reports_the_same_start(clip):
    """ffmpeg's own report of a file, where it names a timecode."""
    for name in ("film.mov", "drop.mov", "fast.mov", "broadcast.mxf"):
        done = subprocess.run([ffmpeg_binary(), "-hide_banner", "-i", clip(name)], capture_output=True, check=False)
        assert f": {probe(clip(name)).start_timecode}" in done.stderr.decode(), name
