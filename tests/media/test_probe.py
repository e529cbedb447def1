"""What a file is, and every reason to refuse one."""

import json
import os
import subprocess
from fractions import Fraction

import pytest

from review.media import asking as module
from review.media.errors import MediaRefused
from review.media.probe import SOUND, VIDEO, AudioStream, Probe, probe
from review.timecode import Rate, Timebase

from .clips import FRAMES, H264, ffmpeg, make_clip, make_tones
from .conftest import CLIPS, MDPM, PRODUCTION, VECTORS

RATES = {"29.97DF": Timebase(Rate(30000, 1001), True), "29.97NDF": Timebase(Rate(30000, 1001))}


def test_it_works(clip):
    found = probe(clip("tracks.mov"))
    assert (found.container, found.kind, found.video_codec) == ("mov", VIDEO, "h264")
    assert (found.width, found.height, found.aspect) == (320, 180, Fraction(16, 9))
    assert (found.rate, found.frames, found.interlaced, found.variable_rate) == (Rate(25), FRAMES, False, False)
    assert found.audio == (AudioStream("pcm_s16le", 1, 48000),) * 4
    assert (found.channels, found.sample_rate) == (4, 48000)
    assert (found.start_timecode, found.drop, found.timecode_source) == ("10:00:00:00", False, "timecode track")
    assert found.start_frame(found.timebase(PRODUCTION)) == 900000
    assert found.length(found.timebase(PRODUCTION)) == FRAMES


@pytest.mark.parametrize("name", sorted(CLIPS))
def test_a_probe_survives_json(clip, name):
    found = probe(clip(name))
    assert Probe.from_dict(json.loads(json.dumps(found.as_dict()))) == found


@pytest.mark.parametrize(
    ("name", "rate", "label", "source"),
    [  # what ffmpeg was told to write
        ("film.mov", Rate(24000, 1001), "01:02:03:23", "timecode track"),
        ("drop.mov", Rate(30000, 1001), "00:10:00;02", "timecode track"),
        ("fast.mov", Rate(50), "09:59:59:49", "timecode track"),
        ("broadcast.mxf", Rate(30000, 1001), "01:00:00;02", "MXF material package"),
        ("camera.m2ts", Rate(25), MDPM["timecode"], "camera data in the H.264 stream"),
        ("pairs.m2ts", Rate(50), "10:00:00:25", "camera data in the H.264 stream"),
        ("stream.ts", Rate(60000, 1001), None, None),
        ("web.mkv", Rate(24000, 1001), None, None),
        ("forward.mp4", Rate(30000, 1001), None, None),
    ],
)
def test_rate_frames_and_start_timecode(clip, name, rate, label, source):
    found = probe(clip(name))
    timebase = found.timebase(PRODUCTION)
    assert (found.rate, found.frames, found.variable_rate) == (rate, FRAMES, False)
    assert (found.start_timecode, found.timecode_source, timebase.drop) == (label, source, ";" in (label or ""))
    assert found.start_frame(timebase) == (timebase.frame(label) if label else None)


def test_the_cameras_clock(clip):
    assert probe(clip("camera.m2ts")).shot_at == "2026-11-12T10:00:00"  # as ExifTool reads the same bytes


def test_pairs_of_frames_are_noted(clip):
    assert "counts pairs of frames" in probe(clip("pairs.m2ts")).notes[0]


def test_exiftool_reads_the_same_camera_data(clip):
    output = subprocess.run(
        ["exiftool", "-s3", "-TimeCode", "-DateTimeOriginal", clip("camera.m2ts")],
        capture_output=True,
        text=True,
        check=True,
    )
    assert output.stdout.splitlines() == [probe(clip("camera.m2ts")).start_timecode, MDPM["datetime"]]


def test_interlaced_picture_and_the_sound_before_it(clip):
    found = probe(clip("fields.m2ts"))
    assert (found.rate, found.frames, found.interlaced) == (Rate(25), FRAMES, True)
    assert found.picture_offset == pytest.approx(Fraction(12, 25), abs=0.01)  # the AC-3 encoder adds its delay


def test_the_aspect_is_as_seen(clip):
    assert probe(clip("wide.mov")).aspect == Fraction(16, 9)  # 720x576 at 64:45, common practice
    assert probe(clip("rotated.mp4")).aspect == Fraction(9, 16)


def test_a_variable_rate_is_told_and_counted_by_the_clock(clip):
    found = probe(clip("variable.mp4"))
    assert (found.variable_rate, found.rate) == (True, Rate(30))
    assert found.frames == pytest.approx(30 + 3 * 30, abs=2)  # the last picture's own length is not written
    assert "the frame rate varies" in found.notes[0]


def test_a_rate_without_timecode_is_noted(tmp_path):
    found = probe(make_clip(tmp_path / "slow.mov", Rate(15), *H264, tones=()))
    assert found.rate == Rate(15)
    assert "15 frames a second is not a rate that timecode is defined for" in found.notes[0]


# Sound


def make_bwf(path, reference: int, sample_rate: int = 48000, samples: int = 48000):
    ffmpeg(
        *("-f", "lavfi", "-i", f"anullsrc=r={sample_rate}:cl=stereo", "-af", f"atrim=end_sample={samples}"),
        *("-c:a", "pcm_s24le", "-write_bext", "1", "-metadata", f"time_reference={reference}"),
        *("-metadata", "origination_date=2026-11-12", "-metadata", "origination_time=10:00:00", path),
    )
    return path


def test_a_recorders_file(tmp_path):
    found = probe(make_bwf(tmp_path / "take.wav", 1728000000))
    assert (found.kind, found.container, found.frames, found.rate) == (SOUND, "wav", 0, None)
    assert (found.samples, found.sample_rate, found.channels) == (48000, 48000, 2)
    assert (found.time_reference, found.timecode_source) == (1728000000, "BWF time reference")
    assert found.shot_at == "2026-11-12T10:00:00"
    assert found.timebase(PRODUCTION) == PRODUCTION


@pytest.mark.parametrize("vector", VECTORS["time_reference"], ids=lambda vector: f"{vector['rate']} {vector['label']}")
def test_samples_since_midnight_become_a_frame(vector, tmp_path):
    """EBU Tech 3285: the reference counts samples; which frame that is depends on the production's rate."""
    timebase = RATES.get(vector["rate"]) or Timebase(Rate.parse(vector["rate"]))
    found = probe(make_bwf(tmp_path / "take.wav", vector["time_reference"], vector["sample_rate"]))
    assert found.start_frame(timebase) == vector["frames"]
    assert timebase.label(vector["frames"]) == vector["label"]


@pytest.mark.parametrize(
    ("samples", "timebase", "frames"),
    [
        (48000, Timebase(Rate(25)), 25),
        (48001, Timebase(Rate(25)), 26),
        (1, Timebase(Rate(25)), 1),
        (48048, Timebase(Rate(24000, 1001)), 24),  # 1.001 s
        (48049, Timebase(Rate(24000, 1001)), 25),
    ],
)
def test_sound_is_as_long_as_the_frames_it_touches(samples, timebase, frames, tmp_path):
    assert probe(make_bwf(tmp_path / "take.wav", 0, samples=samples)).length(timebase) == frames


# Refusals


def refusal(path) -> str:
    with pytest.raises(MediaRefused) as caught:
        probe(path)
    assert str(caught.value).startswith(path.name)
    return str(caught.value)


def cut(source, path, part: float):
    path.write_bytes(source.read_bytes()[: int(source.stat().st_size * part)])
    return path


def test_no_file(tmp_path):
    assert "cannot be opened: No such file or directory" in refusal(tmp_path / "A001.mov")


def test_a_folder(tmp_path):
    (tmp_path / "A001.mov").mkdir()
    assert "is not a file" in refusal(tmp_path / "A001.mov")


def test_an_empty_file(tmp_path):
    (tmp_path / "A001.mov").touch()
    assert "is empty: it was probably copied in part; copy it again from the card" in refusal(tmp_path / "A001.mov")


def test_text(tmp_path):
    (tmp_path / "notes.mov").write_text("Slate 4, take 2: sun on the lens\n" * 50)
    assert refusal(tmp_path / "notes.mov") == "notes.mov is not video or sound: it is damaged or another kind of file"


@pytest.mark.parametrize(
    "text", ["ffconcat version 1.0\nfile '{other}'\n", "#EXTM3U\n#EXTINF:2,\n{other}\n#EXT-X-ENDLIST\n"]
)
def test_a_list_of_other_files(text, clip, tmp_path):
    (tmp_path / "A001.mp4").write_text(text.format(other=clip("film.mov")))
    assert "is not video or sound" in refusal(tmp_path / "A001.mp4")


def test_a_still_picture(tmp_path):
    ffmpeg("-f", "lavfi", "-i", "testsrc", "-frames:v", "1", "-f", "image2", tmp_path / "still.png")
    assert "it is a kind of file that no camera or recorder writes" in refusal(tmp_path / "still.png")


def test_a_mov_without_its_index(clip, tmp_path):
    assert "ends before its index" in refusal(cut(clip("tracks.mov"), tmp_path / "A001.mov", 0.8))


@pytest.mark.parametrize("part", [0.3, 0.99])
def test_an_mp4_whose_index_comes_first(clip, tmp_path, part):
    path = cut(clip("forward.mp4"), tmp_path / "A001.mp4", part)
    missing = clip("forward.mp4").stat().st_size - path.stat().st_size
    assert f"ends early: {missing:,} of its bytes are missing" in refusal(path)
    data = bytearray(path.read_bytes())
    media = data.index(b"mdat") - 4
    data[media : media + 4] = (len(data) - media).to_bytes(4, "big")  # as if that were all the media there ever was
    path.write_bytes(data)
    message = refusal(path)
    assert "of the bytes that its index lists are missing" in message
    assert "It was probably copied in part: copy it again from the card." in message


@pytest.mark.parametrize("name", ["stream.ts", "fields.m2ts"])
def test_a_stream_cut_in_a_packet(clip, tmp_path, name):
    assert "ends early, in the middle of a packet" in refusal(cut(clip(name), tmp_path / name, 0.5001))


@pytest.mark.parametrize("name", ["web.mkv", "broadcast.mxf"])
@pytest.mark.parametrize("part", [0.3, 0.8])
def test_a_file_shorter_than_it_says(clip, tmp_path, name, part):
    assert "ends early: its last " in refusal(cut(clip(name), tmp_path / name, part))


def test_a_recording_cut_short(tmp_path):
    whole = make_bwf(tmp_path / "whole.wav", 0)
    message = refusal(cut(whole, tmp_path / "take.wav", 0.5))
    missing = whole.stat().st_size - (tmp_path / "take.wav").stat().st_size
    assert f"ends early: {missing:,} of its bytes are missing" in message


def test_a_picture_too_large(tmp_path):
    ffmpeg("-f", "lavfi", "-i", "color=s=16400x16:d=0.1", "-c:v", "ffv1", tmp_path / "A001.mkv")
    assert "is 16400x16; pictures up to 16384 a side are read" in refusal(tmp_path / "A001.mkv")


def test_too_many_streams(tmp_path):
    silence = ("-f", "lavfi", "-i", "anullsrc=d=0.05:r=8000")
    ffmpeg(*silence, *("-map", "0:a") * 65, "-c:a", "pcm_s16le", tmp_path / "A001.mkv")
    assert "has 65 streams; 64 is the most that are read" in refusal(tmp_path / "A001.mkv")


def test_too_many_frames_a_second(tmp_path):
    path = make_clip(tmp_path / "A001.mov", Rate(300), *H264, tones=())
    assert "has 300.00 frames a second; 1 to 240 are read" in refusal(path)


def test_a_recording_of_three_days(tmp_path):
    path = make_clip(tmp_path / "A001.mov", Rate(25), "-vf", "setpts=N*36*3600/TB", *H264, frames=2, tones=())
    assert "says it is 72 hours long; 48 is the most that is read" in refusal(path)


def test_a_file_that_takes_too_long(clip):
    with pytest.raises(MediaRefused, match=r"film\.mov could not be read in 0 seconds: the file is damaged"):
        probe(clip("film.mov"), timeout=0.001)


def test_a_file_that_brings_its_reader_down(clip, tmp_path, monkeypatch):
    (tmp_path / "child.py").write_text("import os\nos.kill(os.getpid(), 11)\n")
    monkeypatch.setattr(module, "_CHILD", tmp_path / "child.py")
    assert r"made its reader break down (code -11)" in refusal(clip("film.mov"))


def test_the_file_is_not_touched(clip):
    path = clip("tracks.mov")
    before = (path.stat().st_mtime_ns, path.read_bytes(), sorted(os.listdir(path.parent)))
    probe(path)
    assert (path.stat().st_mtime_ns, path.read_bytes(), sorted(os.listdir(path.parent))) == before


def test_plain_wav(tmp_path):
    found = probe(make_tones(tmp_path / "tones.wav", 3))
    assert (found.channels, found.samples, found.time_reference, found.timecode_source) == (3, 48000, None, None)
