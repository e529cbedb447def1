"""The folders and indexes of an AVCHD card: enough of each for a reader to follow, and no more.

Every file starts with its magic and the offsets of its sections (big-endian), as public readers of BDMV agree; the
sections that only a player would use are left empty. Times are in ticks of 45 kHz.
"""

import struct
from pathlib import Path

TICKS = 45_000
_NEW, _SEAMLESS = 1, 6  # how a stream follows the one before it
_ROOT = Path("PRIVATE/AVCHD/BDMV")


def stream_path(number: int) -> Path:
    return _ROOT / "STREAM" / f"{number:05}.MTS"


def write_indexes(card: Path, recordings: list[list[tuple[int, float]]]) -> None:
    """Write all that is not footage. Each recording is a list of (stream number, seconds), joined without a seam."""
    root = card / _ROOT
    for folder in ("CLIPINF", "PLAYLIST", "STREAM", "AUXDATA"):
        (root / folder).mkdir(parents=True, exist_ok=True)
    (root / "INDEX.BDM").write_bytes(_sections(b"INDX0100", _block(bytes(34)), _block(struct.pack(">H", 0))))
    (root / "MOVIEOBJ.BDM").write_bytes(_sections(b"MOBJ0100", _block(bytes(4) + struct.pack(">H", 0))))
    for number, seconds in (stream for recording in recordings for stream in recording):
        packets = (card / stream_path(number)).stat().st_size // 192
        (root / "CLIPINF" / f"{number:05}.CPI").write_bytes(_clip_information(packets, seconds))
    (root / "PLAYLIST" / "00000.MPL").write_bytes(_playlist(recordings))


def _playlist(recordings: list[list[tuple[int, float]]]) -> bytes:
    items, marks = [], []
    for recording in recordings:
        for place, (number, seconds) in enumerate(recording):
            if place == 0:
                marks.append(struct.pack(">BBHIHI", 0, 1, len(items), TICKS, 0xFFFF, 0))
            items.append(_play_item(number, _SEAMLESS if place else _NEW, round(seconds * TICKS)))
    playlist = struct.pack(">HHH", 0, len(items), 0) + b"".join(items)
    playback = _block(struct.pack(">BBHQH", 0, 1, 0, 0, 0))
    return _sections(b"MPLS0100", playback, _block(playlist), _block(struct.pack(">H", len(marks)) + b"".join(marks)))


def _play_item(number: int, connection: int, ticks: int) -> bytes:
    body = f"{number:05}".encode() + b"M2TS" + struct.pack(">HBII", connection, 0, TICKS, TICKS + ticks)
    body += bytes(8) + struct.pack(">BBH", 0, 0, 0)  # what the viewer may do; random access and stills
    streams = struct.pack(">H7B5x", 0, 1, 1, 0, 0, 0, 0, 0)  # one picture and one sound stream
    body += struct.pack(">H", len(streams)) + streams
    return struct.pack(">H", len(body)) + body


def _clip_information(packets: int, seconds: float) -> bytes:
    information = struct.pack(">HBBII", 0, 1, 1, 0, 3_000_000) + struct.pack(">I", packets) + bytes(128)
    ticks = round(seconds * TICKS)
    sequence = struct.pack(">BBIBBHIII", 0, 1, 0, 1, 0, 0x1011, 0, TICKS, TICKS + ticks)
    return _sections(b"HDMV0100", _block(information), _block(sequence))


def _block(body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + body


def _sections(magic: bytes, first: bytes, *others: bytes) -> bytes:
    """Magic, the offset of each section but the first, then the sections; the first is always at byte 40."""
    offsets, position = [], 40 + len(first)
    for section in others:
        offsets.append(position)
        position += len(section)
    header = magic + b"".join(struct.pack(">I", offset) for offset in offsets)
    return header.ljust(40, b"\0") + first + b"".join(others)
