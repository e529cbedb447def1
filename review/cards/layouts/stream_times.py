"""When an AVCHD stream's pictures begin and end by its own clock, so that one can be seen to run on from another.

A stream is packets of 192 bytes: 4 of arrival time, then a transport packet (ISO/IEC 13818-1, which also has the clock
of 90,000 ticks a second in 33 bits and where a picture's time is written).
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import BinaryIO

PACKET_BYTES = 192
CLOCK = 1 << 33  # ticks after which it begins anew

_WINDOW = 2 * 1024 * 1024 // PACKET_BYTES * PACKET_BYTES  # bytes looked at, at each end
_REORDERED = 4  # pictures; encoders of cameras keep back no more
_LONGEST_STEP = 90_000 // 10  # ticks: a slower picture is no film, and tells nothing


@dataclass(frozen=True)
class StreamTimes:
    """In ticks of 90 kHz, from 0 up to CLOCK."""

    first: int  # the earliest picture
    last: int  # the latest
    step: int  # from one picture to the next

    def runs_on_into(self, later: "StreamTimes") -> bool:
        """Whether `later` begins with the picture after this stream's last, within a picture's time.

        Pictures are stored in another order than they are shown in, so a cut may lie between some that belong in
        front of the last one. A stream too short to tell that from one which begins anew runs on into none.
        """
        lasted = (self.last - self.first) % CLOCK
        ahead = (later.first - self.last + _REORDERED * self.step) % CLOCK
        return lasted > 2 * _REORDERED * self.step and ahead <= (_REORDERED + 2) * self.step


def read_stream_times(file: BinaryIO, size: int) -> StreamTimes | None:
    """Look at both ends of a stream of `size` bytes; None if they do not show the times of two pictures or more."""
    head = _picture_times(_window(file, 0))
    tail_at = max(0, size // PACKET_BYTES * PACKET_BYTES - _WINDOW)
    tail = _picture_times(_window(file, tail_at)) if tail_at else head
    if not head or not tail:
        return None
    steps = [after - before for before, after in pairwise(sorted(set(head))) if after - before <= _LONGEST_STEP]
    return StreamTimes(min(head) % CLOCK, max(tail) % CLOCK, min(steps)) if steps else None


def _window(file: BinaryIO, at: int) -> bytes:
    file.seek(at)
    return file.read(_WINDOW)


def _picture_times(data: bytes) -> list[int]:
    """The times of the pictures that begin in these packets, in the order of the packets. After the clock began anew
    they count on from its end."""
    times: list[int] = []
    stream = None
    for at in range(0, len(data) - PACKET_BYTES + 1, PACKET_BYTES):
        if data[at + 4] != 0x47 or not data[at + 5] & 0x40:  # no packet, or nothing begins in it
            continue
        number = int.from_bytes(data[at + 5 : at + 7], "big") & 0x1FFF
        if stream not in (None, number):
            continue
        time = _time_of_picture(data[at + 4 : at + PACKET_BYTES])
        if time is not None:
            stream = number
            times.append(time + CLOCK if times and times[0] - time > CLOCK // 2 else time)
    return times


def _time_of_picture(packet: bytes) -> int | None:
    """The presentation time of the picture that begins in a transport packet; None if none does."""
    content = 4
    if packet[3] & 0x20:  # an adaptation field
        content += 1 + packet[4]
    if not packet[3] & 0x10 or content + 14 > len(packet):
        return None
    begins = packet[content : content + 14]
    if begins[:3] != b"\0\0\1" or begins[3] & 0xF0 != 0xE0 or not begins[7] & 0x80:
        return None
    a, b, c, d, e = begins[9:14]
    return (a >> 1 & 7) << 30 | b << 22 | c >> 1 << 15 | d << 7 | e >> 1
