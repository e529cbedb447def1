import json
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from review.media.probe import Probe, probe
from review.media.proxy import ProxyFacts, make_proxy
from review.timecode import Rate, Timebase

from .clips import B_FRAMES, FRAMES, H264, PCM, ffmpeg, make_clip, with_camera_data
from .field_coded import field_coded

R23976, R25, R2997, R50, R5994 = Rate(24000, 1001), Rate(25), Rate(30000, 1001), Rate(50), Rate(60000, 1001)
PRODUCTION = Timebase(R25)
VECTORS = json.loads((Path(__file__).parent.parent / "data" / "timecode_vectors.json").read_text())
MDPM = next(vector for vector in VECTORS["mdpm"] if "payload_hex" in vector)

INTERLACED = ("-flags", "+ildct+ilme", "-x264-params", "tff=1")
M2TS = ("-c:a", "ac3", "-b:a", "256k", "-f", "mpegts", "-mpegts_m2ts_mode", "1")
TONES = (500, 800, 1100, 1400)


def _camera_stream(path: Path, rate: Rate, payload: bytes) -> Path:
    raw = make_clip(path.with_suffix(".264"), rate, *H264, "-x264-params", "aud=1:bframes=0", "-f", "h264", tones=())
    framerate = f"{rate.numerator}/{rate.denominator}"
    data = with_camera_data(raw.read_bytes(), payload)
    ffmpeg("-f", "h264", "-framerate", framerate, "-i", "pipe:0", "-c", "copy", *M2TS[4:], path, stdin=data)
    return path


def _variable(path: Path) -> Path:
    slow_end = "setpts='if(lt(N,30),N,30+(N-30)*3)'"  # thirty pictures at the rate, then thirty that last three times
    return make_clip(path, Rate(30), "-vf", slow_end, *H264, "-c:a", "aac")


def _rotated(path: Path) -> Path:
    upright = make_clip(path.with_suffix(".up.mp4"), R25, *H264, tones=())
    ffmpeg("-display_rotation", "90", "-i", upright, "-c", "copy", path)
    return path


def _two_fields(path: Path, whole_every: int = 0) -> Path:
    raw = field_coded(FRAMES, whole_every)
    ffmpeg("-f", "h264", "-framerate", "25", "-i", "pipe:0", "-c", "copy", *M2TS[4:], path, stdin=raw)
    return path


CLIPS: dict[str, Callable[[Path], Path]] = {
    "tracks.mov": lambda path: make_clip(path, R25, *H264, *PCM, "-timecode", "10:00:00:00", tracks=4),
    "channels.mov": lambda path: make_clip(path, R25, *H264, *PCM, "-timecode", "10:00:00:00", tones=TONES),
    "film.mov": lambda path: make_clip(path, R23976, *H264, *PCM, "-timecode", "01:02:03:23"),
    "drop.mov": lambda path: make_clip(path, R2997, *H264, *PCM, "-timecode", "00:10:00;02"),
    "fast.mov": lambda path: make_clip(path, R50, *H264, *PCM, "-timecode", "09:59:59:49"),
    "stream.ts": lambda path: make_clip(path, R5994, *B_FRAMES, "-c:a", "ac3", "-f", "mpegts"),
    "fields.m2ts": lambda path: make_clip(path, R25, *H264, *INTERLACED, *M2TS, sound_first=Fraction(12, 25)),
    "web.mkv": lambda path: make_clip(path, R23976, *B_FRAMES, *PCM),
    "late.mp4": lambda path: make_clip(path, R25, *B_FRAMES, "-c:a", "aac", sound_first=Fraction(12, 25)),
    "forward.mp4": lambda path: make_clip(path, R2997, *B_FRAMES, "-c:a", "aac", "-movflags", "+faststart"),
    "broadcast.mxf": lambda path: make_clip(
        path, R2997, "-c:v", "mpeg2video", "-q:v", "2", *PCM, "-timecode", "01:00:00;02"
    ),
    "wide.mov": lambda path: make_clip(path, R25, *H264, "-vf", "setsar=64/45", size=(720, 576), tones=()),
    "rotated.mp4": _rotated,
    "variable.mp4": _variable,
    "camera.m2ts": lambda path: _camera_stream(path, R25, bytes.fromhex(MDPM["payload_hex"])),
    "paired.m2ts": _two_fields,
    "mixed.m2ts": lambda path: _two_fields(path, whole_every=3),
    # Twelfth pair, second frame of it (bit 7 of the hours at 50 a second), from 10:00:00.
    "pairs.m2ts": lambda path: _camera_stream(path, R50, b"MDPM\x01\x13\x12\x00\x00\x90"),
}


@pytest.fixture(scope="session")
def clip(tmp_path_factory) -> Callable[[str], Path]:
    """The path of a clip of CLIPS by its name; made when first asked for."""
    folder = tmp_path_factory.mktemp("clips")
    return cache(lambda name: CLIPS[name](folder / name))


@dataclass(frozen=True)
class Proxied:
    probe: Probe
    timebase: Timebase
    facts: ProxyFacts
    path: Path


@pytest.fixture(scope="session")
def proxied(clip, tmp_path_factory) -> Callable[[str], Proxied]:
    """A clip of CLIPS with its proxy; made when first asked for."""
    folder = tmp_path_factory.mktemp("proxies")

    @cache
    def make(name: str) -> Proxied:
        found, destination = probe(clip(name)), folder / f"{name}.part"
        timebase = found.timebase(PRODUCTION)
        return Proxied(found, timebase, make_proxy([clip(name)], found, timebase, destination), destination)

    return make
