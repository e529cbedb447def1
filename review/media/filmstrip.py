"""The filmstrip: a row of small pictures of a clip, about one a second, on sheets of a hundred.

They are the proxy's own key frames, so nothing else has to be decoded:

    frames     0 . . . . . . . . . . . 12 . . . . . . . . . . 24    a key frame every half second
    pictures   0                       -                      1     every other one, in a clip of 20 s or more
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from review.media.ffmpeg import run, source
from review.media.proxy import key_frame_step
from review.timecode import Timebase

SHORT_CLIP = 20  # seconds; below it every key frame is shown
COLUMNS, ROWS = 10, 10
PICTURE_WIDTH, PICTURE_HEIGHT = 160, 90


@dataclass(frozen=True)
class Filmstrip:
    """Picture i shows frame i * `every`. Sheets are filled row by row; the last may be empty towards its end."""

    every: int  # frames
    count: int
    columns: int
    rows: int
    picture_width: int
    picture_height: int
    files: tuple[str, ...]


def make_filmstrip(
    proxy: Path, timebase: Timebase, frames: int, folder: Path, progress: Callable[[int], None] | None = None
) -> Filmstrip:
    """Write `filmstrip-001.jpg`, ... into `folder` from a finished proxy of `frames` frames.

    `progress` is told the sheets done. Raises MediaFailed when ffmpeg fails.
    """
    key_frames = key_frame_step(timebase.rate)
    step = 1 if timebase.rate.seconds(frames) < SHORT_CLIP else 2
    count = -(-frames // (key_frames * step))
    sheets = -(-count // (COLUMNS * ROWS))
    pattern = str(folder.absolute()).replace("%", "%%") + "/filmstrip-%03d.jpg"
    small = (
        source(proxy, skip_frame="nokey", threads=1)["v:0"]
        .filter("select", f"not(mod(n,{step}))")
        .filter("scale", PICTURE_WIDTH, PICTURE_HEIGHT, force_original_aspect_ratio="decrease", out_range="full")
        .filter("pad", PICTURE_WIDTH, PICTURE_HEIGHT, "(ow-iw)/2", "(oh-ih)/2")
        .filter("format", "yuvj420p")
        .filter("tile", f"{COLUMNS}x{ROWS}")
        .output(pattern, format="image2", fps_mode="passthrough", threads=1, **{"c:v": "mjpeg", "q:v": 4})
    )
    run(small.get_args(overwrite_output=True), progress=progress)
    return Filmstrip(
        every=key_frames * step,
        count=count,
        columns=COLUMNS,
        rows=ROWS,
        picture_width=PICTURE_WIDTH,
        picture_height=PICTURE_HEIGHT,
        files=tuple(f"filmstrip-{number:03}.jpg" for number in range(1, sheets + 1)),
    )
