"""A camera's own data in an H.264 stream: the timecode and clock that AVCHD cameras write as MDPM.

An unregistered SEI message before each picture: a UUID, "MDPM", a count, then five-byte records of a tag and four
bytes. 0x13 is the timecode (BCD: frames, seconds, minutes, hours), 0x18 and 0x19 the clock (zone, century, year, month;
day, hour, minute, second). The layout is the one ExifTool's H264.pm reads; there is no public standard.
"""

import re
from collections.abc import Iterable, Iterator
from datetime import datetime

_UUID = bytes.fromhex("17ee8c60f84d11d98cd60800200c9a66")
_DELIMITER = re.compile(rb"\x00\x00\x00\x01\x09.")  # x264 writes an access unit delimiter with a four-byte start code
_SEI, _UNREGISTERED = 0x06, 0x05
_STOP = 0x80


def with_camera_data(stream: bytes, stamps: Iterable[tuple[str, datetime]]) -> bytes:
    """`stream` (Annex B, delimiters before each picture) with a timecode label and a clock put into each picture.

    Raises ValueError when there are not as many stamps as pictures.
    """
    return b"".join(_stamped(stream, stamps))


def _stamped(stream: bytes, stamps: Iterable[tuple[str, datetime]]) -> Iterator[bytes]:
    done = 0
    for picture, (label, clock) in zip(_DELIMITER.finditer(stream), stamps, strict=True):
        yield stream[done : picture.end()]
        yield mdpm(label, clock)
        done = picture.end()
    yield stream[done:]


def mdpm(label: str, clock: datetime) -> bytes:
    """The whole SEI unit, start code and all."""
    hours, minutes, seconds, frames = (int(part) for part in re.split("[:;]", label))
    timecode = bytes([_bcd(frames), _bcd(seconds), _bcd(minutes), _bcd(hours)])
    century, year = divmod(clock.year, 100)
    date = bytes([0, _bcd(century), _bcd(year), _bcd(clock.month)])
    time = bytes([_bcd(clock.day), _bcd(clock.hour), _bcd(clock.minute), _bcd(clock.second)])
    message = _UUID + b"MDPM" + bytes([3]) + b"\x13" + timecode + b"\x18" + date + b"\x19" + time
    unit = bytes([_SEI, _UNREGISTERED, len(message)]) + message + bytes([_STOP])
    return b"\x00\x00\x00\x01" + _guarded(unit)


def _guarded(unit: bytes) -> bytes:
    """Put a 3 wherever two zeros would otherwise meet a byte up to 3, so that no start code appears inside."""
    guarded, zeros = bytearray(), 0
    for byte in unit:
        if zeros >= 2 and byte <= 3:
            guarded.append(3)
            zeros = 0
        guarded.append(byte)
        zeros = zeros + 1 if byte == 0 else 0
    return bytes(guarded)


def _bcd(number: int) -> int:
    return number // 10 << 4 | number % 10
