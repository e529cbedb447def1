"""The child that opens a media file and tells what it found, as JSON on its standard output.

Files from a card are hostile until proven otherwise, so they are opened here, in a process that may
crash, hang or fill its memory without harm, that writes no file and (where the system lets it) has no
network; never in a worker. It stands alone on purpose (only PyAV and the standard library): it is
started once per file and has to start fast.

    python -P probe_child.py FILE CONTAINERS SECONDS | ...

What is found is told raw (ticks, fractions as "n/d"); `probe.py` knows what it means. A file that
cannot be used is told as {"refused": why}, to be read after the file's name.
"""

import ctypes
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
MOST_CHANNELS = 512
MOST_PIXELS_A_SIDE = 16384
MOST_PIXELS = 100_000_000
MOST_SECONDS = 48 * 3600
MOST_PACKETS = 20_000_000  # in a stream: 48 hours of pictures at 60 a second are 10,400,000
MEMORY = 4 << 30
OPEN_FILES = 32
MOST_ATOMS = 100_000  # at the top: a fragmented recording has a few a second
LONGEST_TEXT = 1000
LONGEST_XML = 1 << 20
LONGEST_CAMERA_DATA = 1 + 255 * 5
PACKETS_TO_FIRST_PICTURE = 1000
MOST_INTERLACED = 30  # frames a second; a stream that claims more is told in fields
SLACK = Fraction(1, 5)  # seconds by which containers round their own length
PARTIAL = "It was probably copied in part: copy it again from the card."

_CAMERA_DATA = bytes.fromhex("17ee8c60f84d11d98cd60800200c9a66") + b"MDPM"
_ESTIMATED = ("mpegts", "mpeg", "mp3")  # their length is worked out from the data, so it cannot promise more
_INDEXED_AT_THE_END = (b"ftyp", b"mdat", b"wide", b"free", b"skip")
_WHOLE_ATOMS = (b"ftyp", b"mdat", b"moov", b"moof", b"wide", b"free", b"skip", b"uuid", b"meta")
_NO_NETWORK, _ONE_OF_MY_OWN = 0x40000000, 0x10000000  # Linux: CLONE_NEWNET, CLONE_NEWUSER
# What is told of the file's tags; the others may be of any size.
_TAGS = ("timecode", "creation_time", "date", "time_reference", "comment", "com.apple.quicktime.creationdate")
_CHANNEL_NAMES = ("title", "name", "track_name", "handler_name")


class Refused(Exception):
    pass


def main(path: str, containers: str, seconds: str) -> dict:
    _limit(resource.RLIMIT_AS, MEMORY)
    _limit(resource.RLIMIT_CPU, int(seconds))
    _limit(resource.RLIMIT_CORE, 0)
    _limit(resource.RLIMIT_FSIZE, 0)
    _limit(resource.RLIMIT_NOFILE, OPEN_FILES)
    _leave_the_network()
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


def _leave_the_network() -> None:
    """A second lock on a door that the protocol list shuts: where the system does not allow it, it is left."""
    with suppress(OSError, AttributeError):  # not Linux
        unshare = ctypes.CDLL(None).unshare
        # A user of its own would cost root the right to read what belongs to others, which a card's files may.
        if unshare(_NO_NETWORK) and os.geteuid():
            unshare(_NO_NETWORK | _ONE_OF_MY_OWN)


def _open(path: str, containers: str):
    try:
        return av.open(
            path, options={"format_whitelist": containers, "protocol_whitelist": "file"}, metadata_errors="replace"
        )
    except av.error.ArgumentError:
        raise Refused("is not video or sound: it is a kind of file that no camera or recorder writes") from None
    except av.error.FFmpegError as problem:
        with suppress(OSError), open(path, "rb") as file:
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
    if picture and picture.codec_context is None:
        raise Refused("has a picture of a kind that cannot be decoded")
    if picture:
        _refuse_absurd(picture.width, picture.height)
    _refuse_absurd_sound(sounds)
    if picture and picture.frames > MOST_PACKETS:
        raise Refused(f"says that it holds {picture.frames:,} pictures; {MOST_PACKETS:,} is the most that is read")
    first = FirstPicture(picture)
    if name == "mov" and all(stream.frames for stream in (*pictures, *sounds)):
        times = _times_from_index(container, picture, sounds, first, path)
    else:
        times = _times_from_packets(container, name, picture, sounds, first)
    if times["seconds"] > MOST_SECONDS:
        raise Refused(f"says it is {float(times['seconds']) / 3600:.0f} hours long; 48 is the most that is read")
    return {
        "container": name,
        "tags": {key: container.metadata[key][:LONGEST_TEXT] for key in _TAGS if key in container.metadata},
        "xml": next((xml[:LONGEST_XML] for key, xml in container.metadata.items() if key.endswith(".xml")), ""),
        "labels": [
            [stream.type, stream.metadata["timecode"][:LONGEST_TEXT]]
            for stream in container.streams
            if "timecode" in stream.metadata
        ],
        "picture": picture and _picture_facts(picture, first),
        "in_stream": first.timecodes(),
        "sounds": [_sound_facts(stream) for stream in sounds],
        "offset": str(_offset(picture, sounds)) if picture else "0",
        **times,
        "seconds": str(times["seconds"]),
    }


def _refuse_absurd(width: int, height: int) -> None:
    if max(width, height) > MOST_PIXELS_A_SIDE:
        raise Refused(f"is {width}x{height}; pictures up to {MOST_PIXELS_A_SIDE} a side are read")
    if width * height > MOST_PIXELS:
        raise Refused(f"is {width}x{height}; pictures of up to {MOST_PIXELS:,} pixels are read")


def _refuse_absurd_sound(streams) -> None:
    if any(stream.codec_context is None or not stream.codec_context.channels for stream in streams):
        raise Refused("has sound of a kind that cannot be decoded")
    channels = sum(stream.codec_context.channels for stream in streams)
    if channels > MOST_CHANNELS:
        raise Refused(f"has {channels:,} channels of sound; {MOST_CHANNELS} is the most that are read")
    for stream in streams:
        if not 1000 <= stream.codec_context.sample_rate <= 1_000_000:
            raise Refused(f"has sound at {stream.codec_context.sample_rate:,} samples a second, which nothing records")


def _sound_facts(stream) -> list:
    name = next((stream.metadata[key] for key in _CHANNEL_NAMES if stream.metadata.get(key)), "")
    context = stream.codec_context
    return [context.name, context.channels, context.sample_rate, name[:LONGEST_TEXT]]


def _refuse_cut_short(path: str, name: str) -> None:
    """Compare what the first bytes promise with the size of the file."""
    size = os.path.getsize(path)
    with open(path, "rb") as file:
        head = file.read(1024)
    if name == "mpegts":
        packet = 192 if head[4:5] == b"G" and head[196:197] == b"G" else 188
        if size % packet:
            raise Refused(f"ends early, in the middle of a packet. {PARTIAL}")
    if name == "mov":
        _refuse_cut_atoms(path, size)
    if head[:4] in (b"RIFF", b"RF64", b"BW64"):
        promised = int.from_bytes(head[4:8], "little")
        if head[12:16] == b"ds64":
            promised = int.from_bytes(head[20:28], "little")
        if promised + 8 > size:
            raise Refused(f"ends early: {promised + 8 - size:,} of its bytes are missing. {PARTIAL}")


def _refuse_cut_atoms(path: str, size: int) -> None:
    """The index may be at the end, and be read without what it has lost."""
    at = 0
    with open(path, "rb") as file:
        for _ in range(MOST_ATOMS):
            file.seek(at)
            header = file.read(16)
            length = int.from_bytes(header[:4], "big")
            if length == 1:
                length = int.from_bytes(header[8:16], "big")
            if length < 8 or header[4:8] not in _WHOLE_ATOMS:
                return
            at += length
            if at > size:
                raise Refused(f"ends early: {at - size:,} of its bytes are missing. {PARTIAL}")


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

    def timecodes(self) -> dict[str, str]:
        """What the picture itself says of its timecode, as hexadecimal bytes."""
        found = {}
        for side in self.frame.side_data if self.frame else ():
            kind, data = side.type.name, bytes(side)
            if kind == "SEI_UNREGISTERED" and data.startswith(_CAMERA_DATA):
                found["camera_data"] = data[len(_CAMERA_DATA) :][:LONGEST_CAMERA_DATA].hex()
            elif kind == "S12M_TIMECODE" and data[:4] != bytes(4):  # how many there are, then the first as one number
                found["picture_timing"] = int.from_bytes(data[4:8], sys.byteorder).to_bytes(4).hex()
            elif kind == "GOP_TIMECODE":
                found["picture_groups"] = int.from_bytes(data, sys.byteorder).to_bytes(len(data)).hex()
        return found


def _picture_facts(stream, first: FirstPicture) -> dict:
    frame = first.frame
    if frame is None:
        raise Refused(f"has a picture coded as {stream.codec_context.name} that cannot be decoded")
    _refuse_absurd(frame.width, frame.height)
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
        if len(stream.index_entries) > MOST_PACKETS:
            raise Refused(f"lists {len(stream.index_entries):,} packets; {MOST_PACKETS:,} is the most that is read")
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
            if len(times) > MOST_PACKETS:
                raise Refused(f"holds more than {MOST_PACKETS:,} pictures; that is the most that is read")
        elif packet.stream is sounds[0]:
            sound_ticks += packet.duration or 0
        end = max(end, (packet.pts + (packet.duration or 0)) * packet.time_base)
    promised = Fraction(container.duration or 0, av.time_base) + Fraction(container.start_time or 0, av.time_base)
    if name not in _ESTIMATED and end + SLACK < promised:
        raise Refused(f"ends early: its last {float(promised - end):.1f} seconds are missing. {PARTIAL}")
    return _picture_times(first, times) if picture else _sound_times(sounds[0], sound_ticks)


def _sound_times(stream, ticks: int) -> dict:
    seconds = (ticks or 0) * stream.time_base
    if seconds <= 0:
        raise Refused("has a sound stream with no sound in it")
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
        "seconds_to_first": str(_seconds_to_first(first, times[0])),
        "seconds": (times[-1] - times[0] + usual) * stream.time_base,
    }


def _seconds_to_first(first: FirstPicture, start: int) -> Fraction:
    """How long after the first picture the first that could be decoded is shown."""
    if first.frame is None or first.frame.pts is None:
        return Fraction(0)
    return max(first.frame.pts - start, 0) * first.stream.time_base


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
