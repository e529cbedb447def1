"""The child that opens a media file and tells what it found, as JSON on its standard output.

Files from a card are hostile until proven otherwise, so they are opened here, in a process that may
crash, hang or fill its memory without harm, and never in a worker. It stands alone on purpose (only
PyAV and the standard library): it is started once per file and has to start fast.

    python -P probe_child.py FILE CONTAINERS SECONDS

What is found is told raw (ticks, fractions as "n/d"); `probe.py` knows what it means. A file that
cannot be used is told as {"refused": why}, to be read after the file's name.
"""

import json
import os
import resource
import sys
from array import array
from collections import Counter
from contextlib import suppress
from fractions import Fraction
from itertools import pairwise

import av

MOST_STREAMS = 64
MOST_PIXELS_A_SIDE = 16384
MOST_SECONDS = 48 * 3600
MEMORY = 4 << 30
PACKETS_TO_FIRST_PICTURE = 1000
MOST_INTERLACED = 30  # frames a second; a stream that claims more is told in fields
SLACK = Fraction(1, 5)  # seconds by which containers round their own length
PARTIAL = "It was probably copied in part: copy it again from the card."

_CAMERA_DATA = bytes.fromhex("17ee8c60f84d11d98cd60800200c9a66") + b"MDPM"
_ESTIMATED = ("mpegts", "mpeg", "mp3")  # their length is worked out from the data, so it cannot promise more
_INDEXED_AT_THE_END = (b"ftyp", b"mdat", b"wide", b"free", b"skip")


class Refused(Exception):
    pass


def main(path: str, containers: str, seconds: str) -> dict:
    _limit(resource.RLIMIT_AS, MEMORY)
    _limit(resource.RLIMIT_CPU, int(seconds))
    _limit(resource.RLIMIT_CORE, 0)
    try:
        with _open(path, containers) as container:
            return _facts(container, path)
    except Refused as refusal:
        return {"refused": str(refusal)}
    except (av.error.FFmpegError, MemoryError) as problem:
        return {"refused": f"cannot be read to its end: {getattr(problem, 'strerror', None) or 'out of memory'}"}


def _limit(what: int, wanted: int) -> None:
    hard = resource.getrlimit(what)[1]
    resource.setrlimit(what, (wanted if hard == resource.RLIM_INFINITY else min(wanted, hard), hard))


def _open(path: str, containers: str):
    try:
        return av.open(
            path, options={"format_whitelist": containers, "protocol_whitelist": "file"}, metadata_errors="replace"
        )
    except av.error.ArgumentError:
        raise Refused("is not video or sound: it is a kind of file that no camera or recorder writes") from None
    except av.error.FFmpegError as problem:
        with open(path, "rb") as file:
            if file.read(8)[4:] in _INDEXED_AT_THE_END:
                raise Refused(f"ends before its index. {PARTIAL}") from None
        why = "it is damaged or another kind of file" if isinstance(problem, ValueError) else problem.strerror
        raise Refused(f"is not video or sound: {why}") from None


def _facts(container, path: str) -> dict:
    if len(container.streams) > MOST_STREAMS:
        raise Refused(f"has {len(container.streams)} streams; {MOST_STREAMS} is the most that are read")
    pictures = [s for s in container.streams.video if not s.disposition & av.stream.Disposition.attached_pic]
    sounds = list(container.streams.audio)
    if not pictures and not sounds:
        raise Refused("has neither picture nor sound in it")
    name = container.format.name.split(",")[0]
    _refuse_cut_short(path, name)
    picture = pictures[0] if pictures else None
    if picture and max(picture.width, picture.height) > MOST_PIXELS_A_SIDE:
        raise Refused(f"is {picture.width}x{picture.height}; pictures up to {MOST_PIXELS_A_SIDE} a side are read")
    first = FirstPicture(picture)
    if name == "mov" and all(stream.frames for stream in (*pictures, *sounds)):
        times = _times_from_index(container, picture, sounds, first, path)
    else:
        times = _times_from_packets(container, name, picture, sounds, first)
    if times["seconds"] > MOST_SECONDS:
        raise Refused(f"says it is {float(times['seconds']) / 3600:.0f} hours long; 48 is the most that is read")
    return {
        "container": name,
        "tags": dict(container.metadata),
        "labels": [
            [stream.type, stream.metadata["timecode"]] for stream in container.streams if "timecode" in stream.metadata
        ],
        "picture": picture and _picture_facts(picture, first),
        "camera_data": first.camera_data(),
        "sounds": [[s.codec_context.name, s.codec_context.channels, s.codec_context.sample_rate] for s in sounds],
        "offset": str(_offset(picture, sounds)) if picture else "0",
        **times,
        "seconds": str(times["seconds"]),
    }


def _refuse_cut_short(path: str, name: str) -> None:
    """Compare what the first bytes promise with the size of the file."""
    size = os.path.getsize(path)
    with open(path, "rb") as file:
        head = file.read(1024)
    if name == "mpegts":
        packet = 192 if head[4:5] == b"G" and head[196:197] == b"G" else 188
        if size % packet:
            raise Refused(f"ends early, in the middle of a packet. {PARTIAL}")
    if head[:4] in (b"RIFF", b"RF64", b"BW64"):
        promised = int.from_bytes(head[4:8], "little")
        if head[12:16] == b"ds64":
            promised = int.from_bytes(head[20:28], "little")
        if promised + 8 > size:
            raise Refused(f"ends early: {promised + 8 - size:,} of its bytes are missing. {PARTIAL}")


class FirstPicture:
    """Decodes until the first picture is out: it tells what the container does not."""

    def __init__(self, stream):
        self.stream = stream
        self.frame = None
        self._tried = 0
        if stream:
            stream.codec_context.thread_count = 1

    @property
    def wanted(self) -> bool:
        return self.stream is not None and self.frame is None and self._tried < PACKETS_TO_FIRST_PICTURE

    def take(self, packet) -> None:
        self._tried += 1
        with suppress(av.error.InvalidDataError):  # a recording may begin with a packet that leans on one before it
            self.frame = next(iter(packet.decode()), None)

    @property
    def interlaced(self) -> bool:
        return bool((self.frame and self.frame.interlaced_frame) or self.stream.codec_context.field_order > 1)

    def camera_data(self) -> str | None:
        for data in self.frame.side_data if self.frame else ():
            if data.type.name == "SEI_UNREGISTERED" and bytes(data).startswith(_CAMERA_DATA):
                return bytes(data)[len(_CAMERA_DATA) :].hex()
        return None


def _picture_facts(stream, first: FirstPicture) -> dict:
    frame = first.frame
    if frame is None:
        raise Refused(f"has a picture coded as {stream.codec_context.name} that cannot be decoded")
    return {
        "codec": stream.codec_context.name,
        "width": frame.width,
        "height": frame.height,
        "pixel_aspect": str(stream.sample_aspect_ratio or 1),
        "rotation": frame.rotation,
        "interlaced": first.interlaced,
    }


def _times_from_index(container, picture, sounds, first: FirstPicture, path: str) -> dict:
    """MOV and MP4 carry a table of all their packets: no need to read the packets themselves."""
    size = os.path.getsize(path)
    for stream in (*container.streams.video, *sounds):
        end = max((entry.pos + entry.size for entry in stream.index_entries), default=0)
        if end > size:
            raise Refused(f"ends early: {end - size:,} of the bytes that its index lists are missing. {PARTIAL}")
    if not picture:
        return _sound_times(sounds[0], sounds[0].duration)
    for packet in container.demux(picture):
        if not first.wanted:
            break
        first.take(packet)
    return _picture_times(first, array("q", (e.timestamp for e in picture.index_entries if not e.is_discard)))


def _times_from_packets(container, name: str, picture, sounds, first: FirstPicture) -> dict:
    times, sound_ticks, end = array("q"), 0, Fraction(0)
    streams = [picture, *sounds] if picture else sounds
    for packet in container.demux(streams):
        if packet.stream is picture and first.wanted:
            first.take(packet)
        if packet.pts is None:
            continue
        if packet.stream is picture:
            times.append(packet.pts)
        elif packet.stream is sounds[0]:
            sound_ticks += packet.duration or 0
        end = max(end, (packet.pts + (packet.duration or 0)) * packet.time_base)
    promised = Fraction(container.duration or 0, av.time_base) + Fraction(container.start_time or 0, av.time_base)
    if name not in _ESTIMATED and end + SLACK < promised:
        raise Refused(f"ends early: its last {float(promised - end):.1f} seconds are missing. {PARTIAL}")
    return _picture_times(first, times) if picture else _sound_times(sounds[0], sound_ticks)


def _sound_times(stream, ticks: int) -> dict:
    seconds = (ticks or 0) * stream.time_base
    return {"samples": int(seconds * stream.codec_context.sample_rate), "seconds": seconds}


def _picture_times(first: FirstPicture, times: array) -> dict:
    """How many pictures there are, how long the usual one lasts and whether all last as long (give or take a tick)."""
    stream, times = first.stream, sorted(times)
    if not times:
        raise Refused("has a picture stream with no pictures in it")
    rate = stream.average_rate or Fraction(0)
    if first.interlaced and (stream.base_rate or 0) > MOST_INTERLACED:
        rate = stream.base_rate / 2
        times = _without_second_fields(times, 1 / (rate * stream.time_base))
    steps = Counter(after - before for before, after in pairwise(times))
    usual = steps.most_common(1)[0][0] if steps else 0
    return {
        "pictures": len(times),
        "average_rate": str(rate),
        "usual_step": str(usual * stream.time_base),
        "variable_rate": any(abs(step - usual) > 1 for step in steps),
        "seconds": (times[-1] - times[0] + usual) * stream.time_base,
    }


def _without_second_fields(times: list[int], frame: Fraction) -> list[int]:
    """Where a picture is coded as two fields each is a packet, half a frame apart: count the first only."""
    kept = times[:1]
    for time in times:
        if time - kept[-1] > frame * 3 / 4:
            kept.append(time)
    return kept


def _offset(picture, sounds) -> Fraction:
    starts = [stream.start_time * stream.time_base for stream in (picture, *sounds) if stream.start_time is not None]
    return (picture.start_time or 0) * picture.time_base - min(starts, default=0)


if __name__ == "__main__":
    print(json.dumps(main(*sys.argv[1:])))
