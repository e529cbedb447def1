"""A short clip of each kind of the demo, made small, read back by PyAV and by ExifTool."""

import json
import subprocess
from dataclasses import replace
from datetime import datetime

import av
import numpy as np
import pytest

from review.cards.layouts.mpls import SEAMLESS, parse_playlist
from review.demo import avchd_card, footage
from review.demo.avchd_stream import mdpm, with_camera_data
from review.demo.frame_number import read_number
from review.demo.scenario import Clip, Setup, card

SMALL = (320, 180)


def short(card_name, clip_name, seconds=1, setup=0, **changes):
    """A card, and a clip of it cut down to its first seconds of one set-up."""
    of = card(card_name)
    clip = of.clip(clip_name)
    return of, replace(clip, setups=(replace(clip.setups[setup], seconds=seconds),), **changes)


def numbers(path):
    with av.open(str(path)) as movie:
        return [read_number(frame.to_ndarray(format="gray")) for frame in movie.decode(video=0)]


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    """An AVCHD recording of four seconds over two streams."""
    folder = tmp_path_factory.mktemp("avchd")
    of, clip = short("KB04-261112-B01", "00000", seconds=4)
    paths = [folder / avchd_card.stream_path(number) for number in (0, 1)]
    paths[0].parent.mkdir(parents=True)
    footage.write_avchd(paths, of, clip, scratch(folder), size=(320, 240))
    return folder, paths


def scratch(folder):
    made = folder / "scratch"
    made.mkdir(exist_ok=True)
    return made


def test_a_mov_has_the_scenarios_timecode_and_four_channels(tmp_path):
    of, clip = short("KB04-261112-A01", "A001C001")
    footage.write_movie(tmp_path / "A001C001.MOV", of, clip, scratch(tmp_path), size=SMALL)
    with av.open(str(tmp_path / "A001C001.MOV")) as movie:
        picture = movie.streams.video[0]
        assert picture.metadata["timecode"] == "07:58:00:00"
        assert (picture.average_rate, picture.codec.name) == (25, "h264")
        assert [(stream.codec.name, stream.channels) for stream in movie.streams.audio] == [("pcm_s16le", 4)]
    assert numbers(tmp_path / "A001C001.MOV") == [*range(25)]


def test_a_mov_can_have_mono_tracks(tmp_path):
    of, clip = short("KB04-261112-A02", "A002C002")
    footage.write_movie(tmp_path / "A002C002.MOV", of, clip, scratch(tmp_path), size=SMALL)
    with av.open(str(tmp_path / "A002C002.MOV")) as movie:
        assert [stream.channels for stream in movie.streams.audio] == [1, 1, 1, 1]


def test_an_mp4_has_aac_in_stereo(tmp_path):
    of, clip = short("KB04-261112-C01", "C0001")
    footage.write_movie(tmp_path / "C0001.MP4", of, clip, scratch(tmp_path), size=SMALL)
    with av.open(str(tmp_path / "C0001.MP4")) as movie:
        assert movie.streams.video[0].metadata["timecode"] == "07:58:05:00"
        assert [(stream.codec.name, stream.channels) for stream in movie.streams.audio] == [("aac", 2)]


def test_drop_frame_labels_are_drop_frame(tmp_path):
    of, clip = short("NR07-261113-A01", "A001C001")
    footage.write_movie(tmp_path / "A001C001.MOV", of, clip, scratch(tmp_path), size=SMALL)
    with av.open(str(tmp_path / "A001C001.MOV")) as movie:
        picture = movie.streams.video[0]
        assert picture.metadata["timecode"] == "19:59:57;00"
        assert picture.average_rate * 1001 == 30000
    assert numbers(tmp_path / "A001C001.MOV") == [*range(30)]


def test_the_lens_is_covered_when_the_scenario_says_so(tmp_path):
    of, clip = short("KB04-261112-A02", "A002C002", setup=1)
    footage.write_movie(tmp_path / "A002C002.MOV", of, clip, scratch(tmp_path), size=SMALL)
    with av.open(str(tmp_path / "A002C002.MOV")) as movie:
        luma = next(movie.decode(video=0)).to_ndarray(format="gray")
    assert luma[60:160].max() < 25


def test_avchd_is_interlaced_and_its_fields_are_different_moments(recording):
    _, paths = recording
    with av.open(str(paths[0])) as stream:
        picture = stream.streams.video[0]
        assert picture.average_rate == 25
        assert stream.streams.audio[0].codec.name == "ac3"
        frames = list(stream.decode(picture))
    assert all(frame.interlaced_frame for frame in frames)
    luma = [frame.to_ndarray(format="gray")[40:200].astype(int) for frame in frames]
    assert any(np.abs(each[0::2] - each[1::2]).max() > 60 for each in luma)


def test_avchd_goes_on_in_the_next_stream_where_the_first_ends(recording):
    _, paths = recording
    assert [number for path in paths for number in numbers(path)] == [*range(100)]
    assert all(path.stat().st_size % 192 == 0 for path in paths)


def test_exiftool_reads_the_camera_data(recording):
    _, paths = recording
    command = ["exiftool", "-json", "-ee", "-G3", "-H264:TimeCode", "-H264:DateTimeOriginal", str(paths[0])]
    found = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)[0]
    codes = [value for key, value in found.items() if key.endswith("TimeCode")]
    clocks = [value for key, value in found.items() if key.endswith("DateTimeOriginal")]
    assert codes[:26] == [f"08:31:08:{frame:02}" for frame in range(25)] + ["08:31:09:00"]
    assert clocks[0].startswith("2026:11:12 08:31:08")
    assert clocks[25].startswith("2026:11:12 08:31:09")


def test_the_playlist_names_the_streams_and_their_seam(recording):
    folder, _ = recording
    avchd_card.write_indexes(folder, [[(0, 2.0), (1, 2.0)]])
    root = folder / "PRIVATE/AVCHD/BDMV"
    items = parse_playlist((root / "PLAYLIST/00000.MPL").read_bytes())
    assert [(item.clip, item.connection) for item in items] == [("00000", 1), ("00001", SEAMLESS)]
    assert (root / "INDEX.BDM").read_bytes()[:8] == b"INDX0100"
    assert (root / "MOVIEOBJ.BDM").read_bytes()[:8] == b"MOBJ0100"
    assert [(root / f"CLIPINF/0000{number}.CPI").read_bytes()[:8] for number in (0, 1)] == [b"HDMV0100"] * 2


def test_camera_data_never_looks_like_a_start_code():
    unit = mdpm("00:00:00:00", datetime(2000, 1, 1))
    assert b"\x00\x00\x00" not in unit[4:] and b"\x00\x00\x01" not in unit[4:]


def test_a_stamp_too_few_is_refused():
    picture = b"\x00\x00\x00\x01\x09\x10"
    with pytest.raises(ValueError, match="shorter"):
        with_camera_data(picture * 2, [("00:00:00:00", datetime(2026, 11, 12))])


def test_a_take_starts_at_the_cameras_time_of_day(tmp_path):
    of, clip = short("KB04-261112-S01", "T001")
    footage.write_take(tmp_path / "T001.WAV", of, clip, scratch(tmp_path))
    with av.open(str(tmp_path / "T001.WAV")) as sound:
        # EBU Tech 3285: samples since midnight.
        assert int(sound.metadata["time_reference"]) == (8 * 3600 + 31 * 60) * 48_000
        assert (sound.metadata["date"], sound.metadata["creation_time"]) == ("2026-11-12", "08:31:00")
        stream = sound.streams.audio[0]
        assert (stream.codec.name, stream.channels, stream.rate, stream.duration) == ("pcm_s24le", 4, 48_000, 48_000)


def test_a_failure_of_ffmpeg_is_told(tmp_path):
    of, clip = short("KB04-261112-A01", "A001C001")
    clip = Clip(clip.name, clip.start, (Setup("lens cap", "wide", 1),))
    with pytest.raises(RuntimeError, match="ffmpeg could not write"):
        footage.write_movie(tmp_path / "A001C001.XYZ", of, clip, scratch(tmp_path), size=SMALL)
