"""What is read of a file agrees with what two other programs read of it.

exiftool has its own readers of every container; what a timecode track holds it does not print. ffprobe is not
installed (the project's ffmpeg comes without one), so ffmpeg's own report of its input stands for it.
"""

import json
import re
import subprocess
from fractions import Fraction

import pytest

from review.media.ffmpeg import ffmpeg_binary
from review.media.probe import SOUND, probe
from review.timecode import Rate

from .test_file_sources import take

PICTURES = ("tracks.mov", "channels.mov", "film.mov", "drop.mov", "fast.mov", "forward.mp4", "wide.mov", "camera.m2ts")
REPORTED = (*PICTURES, "broadcast.mxf", "web.mkv", "stream.ts", "fields.m2ts")


def exiftool(path) -> dict:
    done = subprocess.run(["exiftool", "-json", "-n", "-a", path], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)[0]


@pytest.mark.parametrize("name", PICTURES)
def test_exiftool_reads_the_same_pictures(name, clip):
    found, theirs = probe(clip(name)), exiftool(clip(name))
    assert (theirs["ImageWidth"], theirs["ImageHeight"]) == (found.width, found.height)
    if found.container == "mov":
        assert Rate.nearest(Fraction(theirs["VideoFrameRate"]).limit_denominator(1001)) == found.rate
        seconds = float(found.rate.seconds(found.frames))
        assert theirs["Duration"] == pytest.approx(seconds, abs=0.05)  # of the longest track


def test_exiftool_reads_the_same_take(tmp_path):
    path = take(tmp_path / "T01.wav")
    found, theirs = probe(path), exiftool(path)
    assert theirs["TimeReference"] == found.time_reference == 1_728_000_000
    assert theirs["DateTimeOriginal"] == found.shot_at.replace("-", ":").replace("T", " ")
    assert (theirs["NumChannels"], theirs["SampleRate"]) == (found.channels, found.sample_rate)


@pytest.mark.parametrize("name", REPORTED)
def test_ffmpeg_reports_the_same_streams(name, clip):
    done = subprocess.run([ffmpeg_binary(), "-hide_banner", "-i", clip(name)], capture_output=True, check=False)
    said, found = done.stderr.decode(), probe(clip(name))
    picture = re.search(r"Video: (\w+).*?(\d{2,5})x(\d{2,5}).*?([\d.]+) fps", said)
    assert (picture[1], int(picture[2]), int(picture[3])) == (found.video_codec, found.width, found.height)
    assert Rate.parse(picture[4]) == found.rate
    sounds = re.findall(r"Audio: (\w+).*? (\d+) Hz, (mono|stereo|4.0|4 channels)", said)
    channels = {"mono": 1, "stereo": 2}
    assert [(codec, int(rate), channels.get(layout, 4)) for codec, rate, layout in sounds] == [
        (stream.codec, stream.sample_rate, stream.channels) for stream in found.audio
    ]


def test_ffmpeg_reports_the_same_length_of_a_take(tmp_path):
    path = take(tmp_path / "T01.wav")
    done = subprocess.run([ffmpeg_binary(), "-hide_banner", "-i", path], capture_output=True, check=False)
    hours, minutes, seconds = re.search(r"Duration: (\d+):(\d+):([\d.]+)", done.stderr.decode()).groups()
    found = probe(path)
    assert found.kind == SOUND
    length = 3600 * int(hours) + 60 * int(minutes) + float(seconds)
    assert length == pytest.approx(found.samples / found.sample_rate, abs=0.01)
