"""Is frame n of the proxy frame n of the original? A few pictures are decoded again, and compared.

    original     .  .  .  n  .  .  .        a key picture, whose number its own time tells
                          |  closest to
    proxy        .  n-2 n-1  n  n+1 n+2  .

The pictures lie spread over the clip, with its first among them and one that is counted from the end:
a proxy that gained or lost a frame anywhere is off there, wherever the file's own times lead. Where the
picture stands still no difference can be seen, and none matters.
"""

import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from review.media.ffmpeg import CONTAINERS, die_with_parent
from review.media.recording import Part, Recording
from review.media.small import SIDE, distance, looks_like, small_pictures

SAMPLES = 5
TIMEOUT = 60  # seconds for the pictures of one part
_AROUND = 2  # frames compared to each side
_CHILD = Path(__file__).with_name("frame_match_child.py")


@dataclass(frozen=True)
class Match:
    """`compared` frames of the original were looked at; `wrong` are those whose proxy frame shows another picture."""

    compared: tuple[int, ...]
    wrong: tuple[int, ...]


def match_frames(
    recording: Recording, proxy: Path, first: int = 0, end: int | None = None, samples: int = SAMPLES
) -> Match:
    """Compare frames [first, end) of the recording, all by default, with those of `proxy`, which begins at `first`.

    `samples` is how many pictures are compared, three at least in a recording of one part. A recording without
    pictures has none to compare.
    """
    if recording.sound_only:
        return Match((), ())
    end = recording.frames if end is None else end
    compared, wrong = [], []
    for frame, picture, neighbour in _originals(recording, first, end, samples):
        if not first <= frame < end or frame in compared:
            continue
        start = max(first, frame - _AROUND)
        around = small_pictures(proxy, recording.rate, start - first, frame + _AROUND + 1 - start)
        compared.append(frame)
        if not _is_at(frame - start, picture, neighbour, around, recording):
            wrong.append(frame)
    return Match(tuple(compared), tuple(wrong))


def _is_at(place: int, picture: bytes, neighbour: bytes | None, around: list[bytes], recording: Recording) -> bool:
    """Whether the picture is the one at `place` of those around it in the proxy, which in turn is not its neighbour."""
    turned = recording.probe.rotation % 360
    distances = [distance(picture, each, turned) for each in around]
    # Where the rate varied, the picture may have been put a frame on or back.
    places = [place] if recording.steady else [place, place - 1, place + 1]
    if not any(looks_like(distances, each) for each in places if each >= 0):
        return False
    if neighbour is None or not recording.steady:
        return True
    # At the ends the proxy has nothing to show on one side, so the original's neighbour is held against it.
    return looks_like([distances[place], distance(neighbour, around[place], turned)], 0)


def _originals(recording: Recording, first: int, end: int, samples: int) -> Iterator[tuple[int, bytes, bytes | None]]:
    """Frames of the original, about [first, end), with their small pictures; of the first and last a neighbour's."""
    pieces = recording.pieces(first, end)
    each = max(3, samples // len(pieces))
    for piece in pieces:
        wanted = []
        for place in range(each):
            frame = piece.first + (piece.end - 1 - piece.first) * place // (each - 1)
            how = "exact" if place == each // 2 else "key"
            if frame in (0, piece.part.frames - 1):
                how = "last" if frame else "first"
            wanted.append(f"{frame}:{how}")
        for found in _ask_child(piece.part, recording, wanted):
            # Counted from the end, wherever its time says that it lies.
            counted = "after" in found and recording.steady
            frame = piece.before + (piece.part.frames - 1 - found["after"] if counted else found["frame"])
            neighbour = found["neighbour"]
            yield frame, bytes.fromhex(found["grey"]), bytes.fromhex(neighbour[0]) if neighbour else None


def _ask_child(part: Part, recording: Recording, frames: list[str]) -> list[dict]:
    files = "|".join(str(file.absolute()) for file in part.files)
    rate = recording.rate
    about = [files, CONTAINERS, TIMEOUT, f"{rate.numerator}/{rate.denominator}", SIDE, ",".join(frames)]
    try:
        child = subprocess.run(
            [sys.executable, "-P", str(_CHILD), *map(str, about)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=TIMEOUT * 2,
            preexec_fn=die_with_parent(),
        )
    except subprocess.TimeoutExpired:
        return []
    found = []
    for line in child.stdout.splitlines():
        try:
            found.append(json.loads(line))
        except ValueError:
            break  # it ended in the middle of a line
    return found
