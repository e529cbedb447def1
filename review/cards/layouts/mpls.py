"""The playlists of BDMV (AVCHD's .MPL, Blu-ray's .mpls): which streams follow each other.

    0   "MPLS" and a four-digit version         start of the playlist:
    8   offset of the playlist (big-endian)     +6   number of PlayItems
                                                +10  PlayItems, each led by its 16-bit length:
                                                     clip "00001", codec "M2TS", 12 bits, 4-bit connection

The format has no free standard; this is the layout that public readers of such discs agree on.
"""

import struct
from typing import NamedTuple

MAX_BYTES = 4 * 1024 * 1024
SEAMLESS = 6  # the connection of a file that continues the one before it

_SHORTEST_ITEM = 11  # bytes up to and with the connection


class PlayItem(NamedTuple):
    clip: str  # the five characters that name the stream, in lower case
    connection: int


def parse_playlist(data: bytes) -> list[PlayItem]:
    """Read a playlist. Raises ValueError, in words that follow its name, for anything that is not a whole one."""
    if data[:4] != b"MPLS":
        raise ValueError("does not begin as a playlist does")
    try:
        (start,) = struct.unpack_from(">I", data, 8)
        (count,) = struct.unpack_from(">H", data, start + 6)
        items = []
        position = start + 10
        for _ in range(count):
            length, clip, codec, flags = struct.unpack_from(">H5s4sH", data, position)
            if length < _SHORTEST_ITEM or codec != b"M2TS" or not clip.isalnum():
                raise ValueError(f"has a damaged entry, {len(items) + 1} of {count}")
            items.append(PlayItem(clip.decode("ascii").lower(), flags & 0xF))
            position += 2 + length
    except struct.error:
        raise ValueError("ends too early") from None
    if position > len(data):
        raise ValueError("ends too early")
    return items
