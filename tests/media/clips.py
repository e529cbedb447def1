"""Small clips made on the spot: every picture carries its own number, and a tone starts on a known frame."""

import subprocess
import wave
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from review.demo.frame_number import paint_number, read_number
from review.media.ffmpeg import ffmpeg_binary
from review.timecode import Rate

FRAMES = 60
TONE_FROM = 20  # the frame on which the tone starts
H264 = ("-c:v", "libx264", "-preset", "ultrafast", "-crf", "12", "-pix_fmt", "yuv420p")
B_FRAMES = ("-c:v", "libx264", "-preset", "veryfast", "-bf", "3", "-g", "24", "-pix_fmt", "yuv420p")
PCM = ("-c:a", "pcm_s16le")
INTRA = ("-c:v", "mjpeg", "-q:v", "2", "-pix_fmt", "yuvj420p")  # every picture by itself, in the full range of levels


def ffmpeg(*arguments, stdin: bytes | None = None) -> None:
    command = [ffmpeg_binary(), "-hide_banner", "-loglevel", "error", "-y", *map(str, arguments)]
    done = subprocess.run(command, input=stdin, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()


def numbered_pictures(frames: int, width: int, height: int) -> bytes:
    """Grey pictures that carry their numbers, one after another, one byte a pixel."""
    shade = np.linspace(60, 180, width, dtype=np.uint8)[np.newaxis].repeat(height, axis=0)
    pictures = np.empty((frames, height, width), dtype=np.uint8)
    for number, picture in enumerate(pictures):
        picture[:] = np.roll(shade, 3 * number, axis=1)
        paint_number(picture, number)
    return pictures.tobytes()


def make_clip(
    path: Path,
    rate: Rate,
    *coding: str,
    frames: int = FRAMES,
    size: tuple[int, int] = (320, 180),
    tones: tuple[int, ...] = (1000,),
    tracks: int = 1,
    sound_first: Fraction = Fraction(0),
) -> Path:
    """A numbered clip with a tone (Hz) a channel in each of `tracks` tracks, starting on frame TONE_FROM.

    The sound starts `sound_first` seconds before the picture; `coding` is the rest of the command.
    """
    width, height = size
    starts = float(sound_first + rate.seconds(TONE_FROM))
    voice = "|".join(f"0.5*sin(2*PI*{tone}*t)*gte(t,{starts:.9f})" for tone in tones)
    lasts = float(sound_first + rate.seconds(frames))
    sound = f"aevalsrc='{voice}':s=48000:d={lasts}"
    ffmpeg(
        *("-itsoffset", f"{float(sound_first):.9f}", "-f", "rawvideo", "-pix_fmt", "gray", "-s", f"{width}x{height}"),
        *("-framerate", f"{rate.numerator}/{rate.denominator}", "-i", "pipe:0"),
        *(("-f", "lavfi", "-i", sound) if tones else ()),
        *("-map", "0:v", *(("-map", "1:a") * tracks if tones else ())),
        *("-fps_mode", "passthrough"),
        *coding,
        path,
        stdin=numbered_pictures(frames, width, height),
    )
    return path


def make_tones(path: Path, channels: int, seconds: float = 1.0, rate: int = 48000) -> Path:
    """A WAV whose channel i holds a tone of `tone(i)` Hz."""
    time = np.arange(int(seconds * rate)) / rate
    samples = np.stack([0.4 * np.sin(2 * np.pi * tone(channel) * time) for channel in range(channels)], axis=1)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((samples * 32767).astype("<i2").tobytes())
    return path


def tone(channel: int) -> int:
    return 400 + 300 * channel


def with_camera_data(annex_b: bytes, payload: bytes) -> bytes:
    """The H.264 stream with an MDPM message (exiftool's H264.pm tells its form) after each access unit delimiter."""
    identity = bytes.fromhex("17ee8c60f84d11d98cd60800200c9a66")
    body = identity + payload
    message = bytes([5, len(body)]) + body + b"\x80"
    escaped = bytearray()
    for byte in message:
        if byte <= 3 and escaped[-2:] == b"\0\0":
            escaped.append(3)
        escaped.append(byte)
    delimiter = b"\0\0\0\1\x09"
    first, *rest = annex_b.split(delimiter)
    assert not first and rest, "the stream has no access unit delimiters"
    return b"".join(delimiter + unit[:1] + b"\0\0\0\1\x06" + bytes(escaped) + unit[1:] for unit in rest)


def damage(path: Path, first: int, end: int) -> Path:
    """Overwrite the pictures [first, end) of a MOV or MP4: its index still lists them."""
    data = bytearray(path.read_bytes())
    with av.open(str(path)) as container:
        entries = sorted(container.streams.video[0].index_entries, key=lambda entry: entry.timestamp)
        holes = [(entry.pos, entry.size) for entry in entries[first:end]]
    for start, size in holes:
        data[start : start + size] = b"\xff" * size
    path.write_bytes(data)
    return path


def numbers(path: Path) -> list[int | None]:
    """The number in each picture, in the order in which they are shown."""
    with av.open(str(path)) as container:
        return [read_number(frame.to_ndarray(format="gray")) for frame in container.decode(video=0)]
