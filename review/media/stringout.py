"""A stringout: stretches of proxies one after the other, each with its card, clip and running source timecode on a
strip below the picture.

The strip is joined to each picture before any change of rate, so the label always is that of the frame above it.
Every stretch becomes a file with a whole number of frames and exactly their sound; the files are then joined without
being coded again, so that cuts lie where they should however many there are.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

import ffmpeg
import numpy as np

from review.media.errors import MediaFailed
from review.media.ffmpeg import run
from review.media.form import HEIGHT, SAMPLE_RATE, WIDTH, file_options, picture_coding, sample_at
from review.media.letters import tile
from review.timecode import Rate, Timebase

STRIP_HEIGHT = 32  # pixels below the picture
_GROUND, _INK, _SIZE, _MARGIN = 24, 228, 18, 8
_LEAD = Fraction(1, 4)  # of a frame: a seek to just before a frame finds it whatever the rounding


@dataclass(frozen=True)
class Scene:
    """Frames [in_frame, out_frame) of a clip, to be shown from its `proxy`. `words` say which card and clip."""

    proxy: Path
    timebase: Timebase
    start_frame: int  # of the clip, since midnight
    in_frame: int
    out_frame: int
    channels: int  # of the proxy
    words: str

    @property
    def frames(self) -> int:
        return self.out_frame - self.in_frame

    @property
    def seconds(self) -> Fraction:
        return self.timebase.rate.seconds(self.frames)

    def label(self, frame: int) -> str:
        return self.timebase.label(self.start_frame + frame)


def cuts(scenes: Sequence[Scene], rate: Rate) -> list[int]:
    """Where each scene begins and the last ends, in frames of the stringout: as near as frames allow, never empty."""
    at, ends = Fraction(0), [0]
    for scene in scenes:
        at += scene.seconds
        ends.append(max(ends[-1] + 1, round(at * rate.fraction)))
    return ends


def make_stringout(
    scenes: Sequence[Scene],
    rate: Rate,
    workshop: Path,
    destination: Path,
    progress: Callable[[int], None] = lambda done: None,
) -> int:
    """Write the scenes in order to `destination`, an MP4 at `rate`, and return its length in frames.

    `workshop` is a folder for what is made on the way; `progress` is told the frames done. Raises MediaFailed.
    """
    if not scenes:
        raise MediaFailed("there is nothing to string together")
    ends = cuts(scenes, rate)
    parts = []
    for number, (scene, begin, end) in enumerate(zip(scenes, ends, ends[1:], strict=False)):
        part = workshop / f"part-{number:05}.mov"
        _make_part(scene, rate, begin, end, part, lambda done, begun=begin: progress(begun + done))
        parts.append(part)
    _join(parts, workshop / "parts.txt", destination)
    for part in parts:
        part.unlink()
    return ends[-1]


def _make_part(scene: Scene, rate: Rate, begin: int, end: int, part: Path, progress: Callable[[int], None]) -> None:
    own = scene.timebase.rate
    lead = _LEAD / own.fraction if scene.in_frame else Fraction(0)
    read = ffmpeg.input(str(scene.proxy.absolute()), ss=_seconds(own.seconds(scene.in_frame) - lead))
    picture = (
        _a_frame_each(read.video.filter("trim", end_frame=scene.frames), own)
        .filter("scale", WIDTH, HEIGHT, force_original_aspect_ratio="decrease", force_divisible_by=2)
        .filter("pad", WIDTH, HEIGHT, "(ow-iw)/2", "(oh-ih)/2")
        .filter("setsar", 1)
        .filter("format", "yuv420p")
    )
    size = f"{WIDTH}x{STRIP_HEIGHT}"
    strip = ffmpeg.input("pipe:0", f="rawvideo", pix_fmt="gray", s=size, framerate=str(own.fraction))
    strip = _a_frame_each(strip.video, own).filter("setsar", 1).filter("format", "yuv420p")
    both = ffmpeg.filter([picture, strip], "vstack")
    if own != rate:
        # At each moment the last frame that had begun by then; the last of all counts only if something follows it.
        both = _a_frame_each(both.filter("tpad", stop_mode="clone", stop=2), own)
        both = both.filter("fps", str(rate.fraction), round="up")
    frames = end - begin
    both = both.filter("tpad", stop_mode="clone", stop=frames).filter("trim", end_frame=frames)
    both = both.filter("setpts", f"N/({rate.fraction})/TB")
    samples = sample_at(end, rate) - sample_at(begin, rate)
    if scene.channels:
        sound = read.audio.filter("atrim", start=_seconds(lead)).filter("asetpts", "PTS-STARTPTS")
        sound = sound.filter("pan", _down_to_two(scene.channels)).filter("aresample", SAMPLE_RATE).filter("apad")
    else:
        sound = ffmpeg.input(f"anullsrc=r={SAMPLE_RATE}:cl=stereo", f="lavfi").audio
    sound = sound.filter("atrim", end_sample=samples)
    options = picture_coding(rate) | {"c:a": "pcm_s16le", "format": "mov", "threads": 1}
    made = ffmpeg.output(both, sound, str(part.absolute()), **options)
    run(made.get_args(overwrite_output=True), progress=progress, feed=_strips(scene))


def _a_frame_each(pictures, rate: Rate):
    """The pictures, timed one after the other on a clock of one tick a frame: two streams on clocks of their own would
    be joined into more pictures than either has, and what is padded has no time that can be relied upon."""
    return pictures.filter("settb", str(1 / rate.fraction)).filter("setpts", "N")


def _down_to_two(channels: int) -> str:
    """ffmpeg's words for what is heard on the left and on the right: two as they are, else all of them on both."""
    if channels == 2:
        return "stereo|c0<c0|c1<c1"
    mixed = "+".join(f"c{channel}" for channel in range(channels))
    return f"stereo|c0<{mixed}|c1<{mixed}"  # "<" brings the sum of them down to one


def _seconds(exact: Fraction) -> str:
    """To the microsecond, which is as fine as ffmpeg reads."""
    return f"{float(exact):.6f}"


def _strips(scene: Scene) -> Iterator[bytes]:
    ground = np.full((STRIP_HEIGHT, WIDTH), _GROUND, dtype=np.uint8)
    figures = _figures()
    wide = sum(figures[letter].shape[1] for letter in scene.label(scene.in_frame))
    _write(ground, _fitted(scene.words, WIDTH - wide - 3 * _MARGIN), _MARGIN)
    for frame in range(scene.in_frame, scene.out_frame):
        strip, left = ground.copy(), WIDTH - _MARGIN - wide
        for letter in scene.label(frame):
            _write(strip, figures[letter], left)
            left += figures[letter].shape[1]
        yield strip.tobytes()


def _write(strip: np.ndarray, letters: np.ndarray, left: int) -> None:
    top = (STRIP_HEIGHT - letters.shape[0]) // 2
    strip[top : top + letters.shape[0], left : left + letters.shape[1]] = letters


@lru_cache(maxsize=1)
def _figures() -> dict[str, np.ndarray]:
    figures = {each: tile(each, _SIZE, ground=_GROUND, ink=_INK, advance=0.64) for each in "0123456789"}
    return figures | {each: tile(each, _SIZE, ground=_GROUND, ink=_INK, advance=0.34) for each in ":;"}


def _fitted(words: str, most: int) -> np.ndarray:
    """The words, cut short in the middle if they are wider than `most` pixels: both ends tell cards apart."""
    keep = len(words)
    while True:
        said = words if keep == len(words) else f"{words[: keep // 2]}…{words[len(words) - keep // 2 :]}"
        letters = tile(said, _SIZE, ground=_GROUND, ink=_INK)
        if letters.shape[1] <= most:
            return letters
        keep = min(keep - 1, keep * most // letters.shape[1])


def _join(parts: Sequence[Path], listing: Path, destination: Path) -> None:
    listing.write_text("".join(f"file '{part.name}'\n" for part in parts))
    read = ffmpeg.input(str(listing.absolute()), f="concat", safe=0)
    options = file_options() | {"c:v": "copy", "c:a": "aac", "b:a": "128k"}
    run(ffmpeg.output(read.video, read.audio, str(destination.absolute()), **options).get_args(overwrite_output=True))
