"""Writes a clip of synthetic footage as a camera or a sound recorder would: pictures and sound go through ffmpeg.

Files appear whole or not at all: they are written in a scratch folder on the same disk, then renamed.
"""

import os
import subprocess
import tempfile
import wave
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import ffmpeg
import numpy as np

from review.demo.avchd_stream import with_camera_data
from review.demo.lettering import BurnIn
from review.demo.painting import HEIGHT, Picture, Stage
from review.demo.places import Place, make_place, view_of
from review.demo.scenario import MOMENTS, Card, Clip
from review.demo.voices import RATE, listen
from review.media.ffmpeg import ffmpeg_binary

SIZE = (1280, 720)
AVCHD_SIZE = (1440, 1080)  # shown as 1920 x 1080
_PACKET = 192
# Told to x264 and not to ffmpeg, which would convert every picture to be sure of it.
_COLOURS = "colorprim=bt709:transfer=bt709:colormatrix=bt709"
_LAYOUTS = {2: "stereo", 4: "4.0"}


def write_movie(path: Path, card: Card, clip: Clip, scratch: Path, size: tuple[int, int] = SIZE) -> None:
    """A progressive .MOV (PCM sound) or .MP4 (AAC) with a timecode track."""
    sound = _write_sound(scratch / "sound.wav", card, clip)
    heard = ffmpeg.input(str(sound)).audio
    if card.mono_tracks:
        split = heard.filter_multi_output("channelsplit", channel_layout=_LAYOUTS[card.channels])
        heard = [split[channel] for channel in range(card.channels)]
    else:
        heard = [heard]
    movie = path.suffix.lower() == ".mov"
    options = {"c:a": "pcm_s16le"} if movie else {"c:a": "aac", "b:a": "160k"}
    options |= {"timecode": clip.start, "x264-params": _COLOURS}
    options |= {"metadata": f"creation_time={_clock(card, clip, 0).isoformat()}Z", "fflags": "+bitexact"}
    part = scratch / path.name
    _encode(_pictures(card, clip, size), size, card, heard, part, preset="ultrafast", crf=23, **options)
    os.replace(part, path)


def write_avchd(paths: list[Path], card: Card, clip: Clip, scratch: Path, size: tuple[int, int] = AVCHD_SIZE) -> None:
    """An interlaced recording, top field first, with MDPM and AC-3, over as many streams as there are `paths`."""
    raw, whole = scratch / "picture.h264", scratch / "whole.mts"
    sound = _write_sound(scratch / "sound.wav", card, clip)
    options = {"flags": "+ilme+ildct", "x264-params": f"aud=1:tff=1:{_COLOURS}", "aspect": "16/9", "g": 25}
    _encode(_fields(card, clip, size), size, card, [], raw, preset="ultrafast", crf=24, **options)
    stamps = [(label, _clock(card, clip, frame)) for frame, label in enumerate(_labels(card, clip))]
    raw.write_bytes(with_camera_data(raw.read_bytes(), stamps))
    picture = ffmpeg.input(str(raw), format="h264", framerate=str(card.timebase.rate.fraction))
    streams = [picture.video, ffmpeg.input(str(sound)).audio]
    options = {"c:v": "copy", "c:a": "ac3", "b:a": "256k", "fflags": "+bitexact"}
    options |= {"mpegts_m2ts_mode": 1, "mpegts_flags": "pat_pmt_at_frames"}
    _run(ffmpeg.output(*streams, str(whole), format="mpegts", **options))
    for path, part in zip(paths, _split(whole.read_bytes(), len(paths)), strict=True):
        (scratch / path.name).write_bytes(part)
    for path in paths:
        os.replace(scratch / path.name, path)


def write_take(path: Path, card: Card, clip: Clip, scratch: Path) -> None:
    """A polyphonic broadcast wave file; its bext time reference counts samples since midnight (EBU Tech 3285)."""
    sound = _write_sound(scratch / "sound.wav", card, clip)
    clock = _clock(card, clip, 0)
    bext = {
        "description": f"{card.name} {clip.name}",
        "originator": "Demo recorder",
        "origination_date": f"{clock:%Y-%m-%d}",
        "origination_time": f"{clock:%H:%M:%S}",
        "time_reference": _first_sample(card, clip),
    }
    metadata = {f"metadata:g:{place}": f"{key}={value}" for place, (key, value) in enumerate(bext.items())}
    part = scratch / path.name
    options = {"c:a": "pcm_s24le", "write_bext": 1, "fflags": "+bitexact"}
    _run(ffmpeg.input(str(sound)).output(str(part), format="wav", **options, **metadata))
    os.replace(part, path)


def _labels(card: Card, clip: Clip) -> Iterator[str]:
    first = card.timebase.frame(clip.start)
    return (card.timebase.label(first + frame) for frame in range(card.frames(clip)))


def _beats(card: Card, moment: str) -> dict[str, float]:
    """The moment's beats as seconds of the day."""
    rate = card.timebase.rate
    return {what: float(rate.seconds(card.timebase.frame(at))) for what, at in MOMENTS[moment].beats.items()}


def _clock(card: Card, clip: Clip, frame: int) -> datetime:
    """The camera's clock at a frame, to the whole second."""
    seconds = card.timebase.rate.seconds(card.timebase.frame(clip.start) + frame)
    return datetime.fromisoformat(card.date) + timedelta(seconds=int(seconds))


def _first_sample(card: Card, clip: Clip) -> int:
    return int(card.timebase.rate.seconds(card.timebase.frame(clip.start)) * RATE)


def _pictures(card: Card, clip: Clip, size: tuple[int, int]) -> Iterator[Picture]:
    """Every picture of the clip, each valid until the next is asked for."""
    picture = Picture(*size)
    burn_in = BurnIn(*size, f"{card.name}  {clip.name}")
    for frame, (label, (second, scene)) in enumerate(zip(_labels(card, clip), _scenes(card, clip, size), strict=True)):
        scene.paint(picture, second)
        burn_in.write(picture, label, frame)
        yield picture


def _fields(card: Card, clip: Clip, size: tuple[int, int]) -> Iterator[Picture]:
    """Interlaced pictures, top field first: the lower field is half a line lower and from half a frame later."""
    picture, field = Picture(*size), Picture(size[0], size[1] // 2)
    burn_in = BurnIn(*size, f"{card.name}  {clip.name}")
    half = float(card.timebase.rate.seconds(1)) / 2
    fields = [_scenes(card, clip, (size[0], size[1] // 2), lines) for lines in (-0.25, 0.25)]
    for frame, (label, *scenes) in enumerate(zip(_labels(card, clip), *fields, strict=True)):
        for line, (second, scene) in enumerate(scenes):
            scene.paint(field, second + line * half)
            picture.show_field(field, line)
        burn_in.write(picture, label, frame)
        yield picture


def _scenes(card: Card, clip: Clip, size: tuple[int, int], lines: float = 0.0) -> Iterator[tuple[float, Place]]:
    """For each frame its second of the day and the place to paint; `lines` lowers the camera by parts of a line."""
    rate, frame = card.timebase.rate, card.timebase.frame(clip.start)
    for setup in clip.setups:
        name = MOMENTS[setup.moment].place
        view = view_of(name, setup.view)
        view = replace(view, y=view.y + lines * HEIGHT / view.zoom / size[1])
        scene = make_place(name, Stage(*size, view), _beats(card, setup.moment))
        for _ in range(setup.seconds * rate.nominal):
            yield float(rate.seconds(frame)), scene
            frame += 1


def _write_sound(path: Path, card: Card, clip: Clip) -> Path:
    """A plain WAV of all the clip's sound, exactly as long as its pictures."""
    rate, start = card.timebase.rate, card.timebase.frame(clip.start)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(card.channels)
        file.setsampwidth(2)
        file.setframerate(RATE)
        frame = start
        for setup in clip.setups:
            edges = [int(rate.seconds(each) * RATE) for each in (frame, frame + setup.seconds * rate.nominal)]
            beats = _beats(card, setup.moment)
            heard = listen(edges[0], edges[1] - edges[0], MOMENTS[setup.moment].place, beats, card.channels)
            file.writeframes(heard.astype("<i2").tobytes())
            frame += setup.seconds * rate.nominal
    return path


def _encode(pictures, size: tuple[int, int], card: Card, sound: list, path: Path, **options) -> None:
    """Pipe `pictures` through x264 into `path`, with `sound` (ffmpeg-python streams) beside them."""
    rate = card.timebase.rate.fraction
    raw = ffmpeg.input("pipe:", format="rawvideo", pix_fmt="yuv420p", s="{}x{}".format(*size), framerate=str(rate))
    options = {"c:v": "libx264", "g": 50, "threads": 1} | options
    command = ffmpeg.output(raw.video, *sound, str(path), **options).compile(ffmpeg_binary(), overwrite_output=True)
    with (
        tempfile.TemporaryFile() as words,
        subprocess.Popen([*command, "-loglevel", "error"], stdin=subprocess.PIPE, stderr=words) as child,
    ):
        try:
            for picture in pictures:
                child.stdin.write(picture.data)
        except BrokenPipeError:
            pass  # ffmpeg has ended; what it said is told below
        child.stdin.close()
        _check(child.wait(), words, path)


def _run(stream) -> None:
    command = stream.compile(ffmpeg_binary(), overwrite_output=True)
    with tempfile.TemporaryFile() as words:
        code = subprocess.run([*command, "-loglevel", "error", "-nostdin"], stderr=words, check=False).returncode
        _check(code, words, Path(command[-1]))


def _check(code: int, words, path: Path) -> None:
    if code:
        words.seek(0)
        said = words.read().decode(errors="replace").strip()
        raise RuntimeError(f"ffmpeg could not write {path.name} (code {code}): {said}. Is there room on the disk?")


def _split(stream: bytes, count: int) -> list[bytes]:
    """Cut a transport stream in `count` parts, each from a key picture on, as cameras do near 4 GB."""
    packets = np.frombuffer(stream, dtype=np.uint8).reshape(-1, _PACKET)
    pid = (packets[:, 5] & 0x1F).astype(int) << 8 | packets[:, 6]
    key = (packets[:, 7] & 0x20 > 0) & (packets[:, 8] > 0) & (packets[:, 9] & 0x40 > 0)  # may be entered here
    video = pid[np.flatnonzero(key)[0]]
    tables, keys = np.flatnonzero(pid == 0), np.flatnonzero(key & (pid == video))[1:]
    cuts = [0]
    for part in range(1, count):
        at = keys[np.abs(keys - len(packets) * part // count).argmin()]
        cuts.append(int(tables[tables < at][-1]))
    edges = [*cuts, len(packets)]
    return [stream[begin * _PACKET : end * _PACKET] for begin, end in pairwise(edges)]
