"""Files that lie, break or reach out: each is refused with a reason, soon, and nothing is opened but the file itself.

The ways of lying are of our own making, after the formats: QuickTime atoms, Matroska elements (both from memory).
"""

import os
import socket
import struct
import subprocess
import sys
import threading
import time
from contextlib import contextmanager

import pytest

from review.media import asking
from review.media import ffmpeg as running
from review.media.errors import MediaFailed, MediaRefused
from review.media.ffmpeg import CONTAINERS, run, source
from review.media.probe import probe
from review.timecode import Rate

from .clips import H264, PCM, ffmpeg, make_clip
from .test_probe import refusal

SOON = 20  # seconds; a healthy file takes a tenth of one


@contextmanager
def listener():
    """A port of this machine that nobody should knock on: its address, and the knocks."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.05)
        knocks, over = [], threading.Event()

        def listen():
            while not over.is_set():
                try:
                    knocks.append(server.accept())
                except TimeoutError:
                    continue

        thread = threading.Thread(target=listen)
        thread.start()
        try:
            yield f"127.0.0.1:{server.getsockname()[1]}", knocks
        finally:
            over.set()
            thread.join()


LISTS = {
    "concat": "ffconcat version 1.0\nfile '{other}'\nfile 'http://{host}/a.mp4'\n",
    "concat by address": "ffconcat version 1.0\nfile 'http://{host}/a.mp4'\n",
    "playlist": "#EXTM3U\n#EXT-X-TARGETDURATION:2\n#EXTINF:2,\nhttp://{host}/a.ts\n#EXTINF:2,\n{other}\n#EXT-X-ENDLIST\n",
    "variants": "#EXTM3U\n#EXT-X-STREAM-INF:BANDWIDTH=1\nhttp://{host}/a.m3u8\n",
    "session": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\n"
    "m=video 5004 RTP/AVP 96\na=rtpmap:96 H264/90000\n",
    "manifest": '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static"><Period><AdaptationSet>'
    '<Representation id="1" mimeType="video/mp4"><BaseURL>http://{host}/a.mp4</BaseURL></Representation>'
    "</AdaptationSet></Period></MPD>",
    "subtitles": "[Script Info]\nScriptType: v4.00+\n[Events]\nDialogue: 0,0:00:00.00,0:00:01.00,,,0,0,0,,{other}\n",
    "old redirect": "[Reference]\nRef1=http://{host}/a.mp4\n",
    "picture list": "# VobSub index file, v7 (do not modify this line!)\nid: en, index: 0\n"
    "timestamp: 00:00:00:000, filepos: 0\n",
}


@pytest.mark.parametrize("kind", LISTS)
@pytest.mark.parametrize("name", ["A001.mp4", "A001.mxf", "00001.MTS", "T01.wav"])
def test_a_list_that_calls_itself_footage_leads_nowhere(kind, name, clip, tmp_path):
    path = tmp_path / name
    with listener() as (host, knocks):
        path.write_text(LISTS[kind].format(other=clip("film.mov"), host=host))
        assert "is not video or sound" in refusal(path)
        with pytest.raises(MediaFailed):
            run(source(path).output("-", format="null").get_args(), timeout=SOON)
        assert not knocks


def test_the_child_refuses_an_address(tmp_path):
    with listener() as (host, knocks):
        command = [sys.executable, "-P", str(asking._CHILD), f"http://{host}/a.mp4", CONTAINERS, "5"]
        done = subprocess.run(command, capture_output=True, check=False, timeout=SOON)
        assert b"film" not in done.stdout
        assert not knocks


# Atoms


def atom(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I4s", 8 + len(data), name) + data


def atoms(data: bytes) -> dict[bytes, bytes]:
    found, at = {}, 0
    while at + 8 <= len(data):
        size = int.from_bytes(data[at : at + 4], "big")
        found[data[at + 4 : at + 8]] = data[at + 8 : at + size]
        at += size
    return found


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    path = tmp_path_factory.mktemp("small") / "A001.mov"
    return make_clip(path, Rate(25), *H264, *PCM, "-timecode", "10:00:00:00", frames=10).read_bytes()


def soon(path) -> str | None:
    """Why a file was refused, or None if it was read; either way in a bounded time."""
    begun = time.monotonic()
    try:
        probe(path, timeout=SOON - 5)
        why = None
    except MediaRefused as refused:
        why = str(refused)
    assert time.monotonic() - begun < SOON
    return why


@pytest.mark.parametrize("part", [0.01, 0.1, 0.3, 0.5, 0.8, 0.9, 0.95, 0.99, 0.999])
def test_a_mov_cut_anywhere_is_refused(part, small, tmp_path):
    path = tmp_path / "A001.mov"
    path.write_bytes(small[: int(len(small) * part)])
    assert soon(path).startswith("A001.mov ")


def test_atoms_within_atoms_without_end(tmp_path):
    deep = b""
    for _ in range(20_000):
        deep = atom(b"moov", deep)
    path = tmp_path / "A001.mov"
    path.write_bytes(atom(b"ftyp", b"qt  \0\0\0\0") + deep)
    assert "A001.mov ends before its index" in soon(path)


def test_an_atom_that_holds_itself(tmp_path):
    path = tmp_path / "A001.mov"
    path.write_bytes(atom(b"ftyp", b"qt  \0\0\0\0") + struct.pack(">I4sQ", 1, b"moov", 0) * 1000)
    assert soon(path)


def with_moov(data: bytes, change) -> bytes:
    """The file with another moov, at its end, where the places of the media stay as they are."""
    parts = atoms(data)
    assert list(parts)[-1] == b"moov"
    moov = change(parts[b"moov"])
    return data[: len(data) - len(parts[b"moov"]) - 8] + atom(b"moov", moov)


def test_thousands_of_streams(small, tmp_path):
    def change(moov: bytes) -> bytes:
        return moov + atom(b"trak", atoms(moov)[b"trak"]) * 5_000

    path = tmp_path / "A001.mov"
    path.write_bytes(with_moov(small, change))
    assert soon(path).startswith("A001.mov ")


@pytest.mark.parametrize("table", [b"stts", b"stsz", b"stsc", b"stco", b"ctts"])
@pytest.mark.parametrize("count", [1 << 31, (1 << 32) - 1, 100_000_000])
def test_a_table_that_says_it_has_thousands_of_millions_of_entries(table, count, small, tmp_path):
    at = small.find(table)
    if at < 0:
        small, at = small + atom(table, bytes(8)), len(small) + 4
    counted = at + (12 if table == b"stsz" else 8)
    path = tmp_path / "A001.mov"
    path.write_bytes(small[:counted] + struct.pack(">I", count) + small[counted + 4 :])
    soon(path)


def test_thousands_of_millions_of_pictures_in_one_entry(small, tmp_path):
    """One size for all and one duration for all: a table of a few bytes that stands for 2^31 pictures."""
    sizes, times = small.find(b"stsz") + 8, small.find(b"stts") + 12
    data = bytearray(small)
    data[sizes : sizes + 8] = struct.pack(">II", 1, 1 << 31)
    data[times : times + 8] = struct.pack(">II", 1 << 31, 1)
    path = tmp_path / "A001.mov"
    path.write_bytes(data)
    assert soon(path)


def test_the_same_for_sound(small, tmp_path):
    data = bytearray(small)
    sizes = small.rfind(b"stsz", 0, small.rfind(b"tmcd", 0, small.rfind(b"stsz"))) + 8
    data[sizes : sizes + 8] = struct.pack(">II", 1, (1 << 32) - 1)
    path = tmp_path / "A001.mov"
    path.write_bytes(data)
    soon(path)


# Sizes


def matroska_picture(path, width: int, height: int):
    """A raw picture of 300x301 whose header says another size (PixelWidth B0, PixelHeight BA)."""
    ffmpeg("-f", "lavfi", "-i", "color=s=300x301:d=0.04", "-c:v", "rawvideo", path)
    data = path.read_bytes()
    assert data.count(b"\xb0\x82\x01\x2c") == data.count(b"\xba\x82\x01\x2d") == 1
    data = data.replace(b"\xb0\x82\x01\x2c", b"\xb0\x82" + struct.pack(">H", width))
    path.write_bytes(data.replace(b"\xba\x82\x01\x2d", b"\xba\x82" + struct.pack(">H", height)))
    return path


@pytest.mark.parametrize(
    ("width", "height", "why"),
    [
        (65_535, 301, "is 65535x301; pictures up to 16384 a side are read"),
        (300, 65_535, "is 300x65535; pictures up to 16384 a side are read"),
        (16_000, 16_000, "is 16000x16000; pictures of up to 100,000,000 pixels are read"),
    ],
)
def test_absurd_pictures(width, height, why, tmp_path):
    assert why in soon(matroska_picture(tmp_path / "A001.mkv", width, height))


def wav(path, *, channels: int = 2, rate: int = 48_000, samples: int = 4_800):
    data = bytes(2 * channels * samples)
    header = struct.pack("<HHIIHH", 1, channels, rate, 2 * channels * rate % (1 << 32), 2 * channels, 16)
    body = b"WAVEfmt " + struct.pack("<I", 16) + header + b"data" + struct.pack("<I", len(data)) + data
    path.write_bytes(b"RIFF" + struct.pack("<I", len(body)) + body)
    return path


@pytest.mark.parametrize(
    ("about", "why"),
    [
        ({"channels": 4_000, "samples": 10}, "has sound of a kind that cannot be decoded"),
        ({"channels": 600, "samples": 10}, "has sound of a kind that cannot be decoded"),
        ({"rate": 10}, "has sound at 10 samples a second, which nothing records"),
        ({"rate": 2_000_000_000}, "T01.wav "),
        ({"rate": 0}, "T01.wav "),
        ({"samples": 0}, "T01.wav "),
    ],
)
def test_absurd_sound(about, why, tmp_path):
    assert why in soon(wav(tmp_path / "T01.wav", **about))


def test_pictures_that_cannot_be_decoded(tmp_path):
    """A stream of whole packets in which every picture is noise."""
    path = make_clip(tmp_path / "A001.mov", Rate(25), *H264, frames=50, tones=())
    data = path.read_bytes()
    media = atoms(data)[b"mdat"]
    at = data.index(media)
    path.write_bytes(data[:at] + b"\xff" * len(media) + data[at + len(media) :])
    assert soon(path)


# What is no file


def test_a_pipe_that_nobody_writes_to(tmp_path):
    os.mkfifo(tmp_path / "A001.mov")
    assert "is not a file" in soon(tmp_path / "A001.mov")


# The child's own bounds


def child_that(monkeypatch, tmp_path, body: str):
    script = tmp_path / "child.py"
    script.write_text(body)
    monkeypatch.setattr(asking, "_CHILD", script)


def test_a_child_that_never_stops_talking_is_cut_off(clip, tmp_path, monkeypatch):
    child_that(monkeypatch, tmp_path, "while True: print('[' * 100_000)")
    assert "made its reader break down" in soon(clip("film.mov"))


@pytest.mark.parametrize("words", ["", "{", "[" * 5_000_000])
def test_a_child_that_talks_nonsense_is_not_believed(words, clip, tmp_path, monkeypatch):
    child_that(monkeypatch, tmp_path, f"print({words[:1]!r} * {len(words)})")
    assert "made its reader break down" in soon(clip("film.mov"))


def test_a_child_that_hangs_is_ended(clip, tmp_path, monkeypatch):
    child_that(monkeypatch, tmp_path, "import time; time.sleep(600)")
    with pytest.raises(MediaRefused, match=r"could not be read in \d seconds"):
        probe(clip("film.mov"), timeout=1)


def test_the_child_cannot_write_a_file(tmp_path):
    code = (
        f"import sys; sys.path.insert(0, {str(asking._CHILD.parent)!r}); import probe_child, resource\n"
        "probe_child.main('/nowhere/A001.mov', 'mov', '5')\n"
        "print(resource.getrlimit(resource.RLIMIT_FSIZE)[0], resource.getrlimit(resource.RLIMIT_AS)[0])\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["0", str(4 << 30)]


# ffmpeg's bounds


@pytest.mark.parametrize(
    ("limit", "most"), [(running.resource.RLIMIT_FSIZE, 1 << 20), (running.resource.RLIMIT_AS, 64 << 20)]
)
def test_an_ffmpeg_that_outgrows_its_limits_fails(limit, most, tmp_path, monkeypatch):
    monkeypatch.setattr(running, "LIMITS", ((limit, most),))
    noise = ["-f", "lavfi", "-i", "testsrc=s=640x360:d=1", "-c:v", "rawvideo", "-y", str(tmp_path / "a.avi")]
    with pytest.raises(MediaFailed):
        run(noise, timeout=SOON)
    assert not (tmp_path / "a.avi").exists() or (tmp_path / "a.avi").stat().st_size <= 1 << 20
