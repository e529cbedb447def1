"""The camera's own data in an AVCHD stream: the "MDPM" message in each picture of the H.264.

It holds five-byte records, a tag and four bytes, of which three matter here: 0x13 the timecode, 0x18
and 0x19 the camera's clock. Layout as ExifTool's H264.pm reads it.
"""

from dataclasses import dataclass

from review.media.timecode_word import bcd, label_of_word
from review.timecode import Rate

_TIMECODE, _CLOCK_YEAR, _CLOCK_DAY = 0x13, 0x18, 0x19


@dataclass(frozen=True)
class CameraData:
    """`label` is the picture's timecode; `pairs` says that the camera counted frames by twos."""

    label: str | None = None
    drop: bool = False
    pairs: bool = False
    shot_at: str | None = None  # the camera's clock, ISO, in its own zone


def read_camera_data(records: bytes, rate: Rate) -> CameraData:
    """Read what follows the letters "MDPM": a count, then the records. What makes no sense is left out."""
    end = min(len(records), 1 + 5 * records[0]) if records else 0
    found = {records[at]: records[at + 1 : at + 5] for at in range(1, end - 4, 5)}
    clock = _clock(found.get(_CLOCK_YEAR), found.get(_CLOCK_DAY))
    if _TIMECODE not in found:  # many cameras have a clock only
        return CameraData(shot_at=clock)
    pairs = rate.nominal > 30  # two bits hold the tens of frames, so no more than thirty can be counted
    try:
        label = label_of_word(found[_TIMECODE], rate, pairs)
    except ValueError:
        return CameraData(shot_at=clock)
    return CameraData(label, ";" in label, pairs, clock)


def _clock(year: bytes | None, day: bytes | None) -> str | None:
    if not year or not day:
        return None
    try:
        century, years, month = (bcd(byte) for byte in year[1:])
        date, hour, minute, second = (bcd(byte) for byte in day)
    except ValueError:
        return None
    return f"{century:02}{years:02}-{month:02}-{date:02}T{hour:02}:{minute:02}:{second:02}"
