"""The child that decodes a few pictures of a camera file, to be compared with the proxy's.

It goes its own way to them: PyAV rather than the ffmpeg that made the proxy, one picture at a time by
the time it has in the file. Files from a card may be hostile, so it is a process with limits, and it
stands alone (only PyAV and the standard library), as `probe_child.py` does.

    python -P frame_match_child.py FILE[|FILE...] CONTAINERS SECONDS RATE SIDE FRAME:HOW[,FRAME:HOW...]

HOW is `first` (the picture that the file begins with), `key` (the key picture at or before the frame),
`exact` (that picture, or the frame's own where that one was told before) or `last` (the last key picture,
or the very last one where that one was told before). For each it tells a JSON line: {"frame": its number
by its time, "after": how many pictures come after the last, "grey": its small picture in hex,
"neighbour": those beside the first and the very last}. What cannot be had is left out.
"""

import json
import resource
import sys
from collections import deque
from fractions import Fraction
from itertools import chain, islice

import av

MEMORY = 4 << 30
MOST_PACKETS = 600  # read for one picture: twenty seconds at thirty a second
MOST_PIXELS_A_SIDE = 16384
BACK = (0, 2, 10)  # seconds before a frame to look for a key picture, where it is not found at once


def main(files: str, containers: str, seconds: str, rate: str, side: str, frames: str) -> None:
    _limit(resource.RLIMIT_AS, MEMORY)
    _limit(resource.RLIMIT_CPU, int(seconds))
    _limit(resource.RLIMIT_CORE, 0)
    joined = "|" in files
    options = {"format_whitelist": containers, "protocol_whitelist": "concat,file" if joined else "file"}
    with av.open(f"concat:{files}" if joined else files, options=options, metadata_errors="replace") as container:
        stream = next(s for s in container.streams.video if not s.disposition & av.stream.Disposition.attached_pic)
        if max(stream.width, stream.height) > MOST_PIXELS_A_SIDE:
            return
        stream.codec_context.thread_count = 1
        if stream.codec_context.name == "h264":
            stream.codec_context.options = {"skip_loop_filter": "all"}  # it cannot be seen at this size
        told = set()
        for wanted in frames.split(","):
            number, _, how = wanted.partition(":")
            time = (int(number) - Fraction(1, 2)) / Fraction(rate)  # a picture's own time may be rounded
            pictures = _find(container, stream, max(Fraction(0), time), how, told)
            if not pictures:
                continue
            told.add(pictures[0].pts)
            time = (pictures[0].pts - (stream.start_time or 0)) * stream.time_base
            small = [_grey(picture, int(side)) for picture in pictures]
            found = {"frame": round(time * Fraction(rate)), "grey": small[0], "neighbour": small[1:]}
            if how == "last":
                found["after"] = _after(container, stream, pictures[0].pts, 1 / (Fraction(rate) * stream.time_base))
            print(json.dumps(found), flush=True)


def _limit(what: int, wanted: int) -> None:
    hard = resource.getrlimit(what)[1]
    resource.setrlimit(what, (wanted if hard == resource.RLIM_INFINITY else min(wanted, hard), hard))


def _find(container, stream, time: Fraction, how: str, told: set[int]) -> list:
    """The picture asked for and, of the first and the last, its neighbour; nothing where it cannot be had."""
    start = stream.start_time or 0
    look = {"first": _first, "key": _key, "exact": _exact, "last": _last}[how]
    for back in BACK:
        try:
            if how != "first":  # it is asked for before all others
                container.seek(start + round(max(Fraction(0), time - back) / stream.time_base), stream=stream)
            found = look(_pictures(container, stream), start + time / stream.time_base, told)
        except av.error.FFmpegError:
            found = []
        if found or time <= back:
            return found
    return []


def _first(pictures, *_) -> list:
    return list(islice(pictures, 2))


def _key(pictures, *_) -> list:
    return list(islice((picture for picture in pictures if picture.key_frame), 1))


def _exact(pictures, time, told) -> list:
    key = next(pictures, None)
    if key is None or key.pts not in told:
        return [key] if key else []
    return list(islice((picture for picture in pictures if picture.pts >= time), 1))


def _last(pictures, time, told) -> list:
    key = next(pictures, None)
    if key is None or key.pts not in told:
        return [key] if key else []
    return list(deque(chain([key], pictures), 2))[::-1]


def _after(container, stream, time: int, frame: Fraction) -> int:
    """How many pictures are shown after the one at `time`, to the end of the file; two fields are one picture."""
    container.seek(time, stream=stream)
    kept = [time]
    for later in sorted(packet.pts for packet in container.demux(stream) if packet.pts is not None):
        if later - kept[-1] > frame * 3 / 4:
            kept.append(later)
    return len(kept) - 1


def _pictures(container, stream):
    """Whole pictures, in the order in which they are shown, from the first key picture on."""
    for packet in _from_key(container, stream):
        for picture in _decoded(packet):
            if not picture.is_corrupt and picture.pts is not None:
                yield picture


def _from_key(container, stream):
    """The packets from the first key picture on; the decoder is handed nothing that leans on one before it."""
    begun = False
    for count, packet in enumerate(container.demux(stream)):
        begun = begun or packet.is_keyframe
        if begun:
            yield packet
        if count == MOST_PACKETS:
            return


def _decoded(packet) -> list:
    try:
        return packet.decode()
    except av.error.InvalidDataError:
        return []


def _grey(picture, side: int) -> str:
    plane = picture.reformat(side, side, "gray", interpolation="AREA").planes[0]
    data = bytes(plane)
    return b"".join(data[row * plane.line_size : row * plane.line_size + side] for row in range(side)).hex()


if __name__ == "__main__":
    main(*sys.argv[1:])
