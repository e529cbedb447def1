"""The chunks of a WAV file, in its three forms: RIFF, and RF64 or BW64 above 4 GB (EBU Tech 3306, ITU-R BS.2088)."""

from collections.abc import Collection
from typing import BinaryIO

_MOST_CHUNKS = 10_000
_FORMS = (b"RIFF", b"RF64", b"BW64")
_SEE_DS64 = 0xFFFFFFFF


def read_chunks(file: BinaryIO, wanted: Collection[bytes], most: int) -> dict[bytes, bytes]:
    """What is in the first chunk of each name in `wanted`, up to `most` bytes of it; {} for no WAV file.

    A file that ends early or makes no sense gives what came before that.
    """
    found: dict[bytes, bytes] = {}
    head = file.read(12)
    if head[:4] not in _FORMS or head[8:] != b"WAVE":
        return found
    data_size = None
    for _ in range(_MOST_CHUNKS):
        header = file.read(8)
        if len(header) < 8 or len(found) == len(set(wanted)):
            break
        name, size, start = header[:4], int.from_bytes(header[4:], "little"), file.tell()
        if name == b"ds64":
            data_size = int.from_bytes(file.read(28)[8:16], "little")
        elif name == b"data" and size == _SEE_DS64 and data_size is not None:
            size = data_size
        if name in wanted and name not in found:
            found[name] = file.read(min(size, most))
        if size >= 1 << 62:
            break
        file.seek(start + size + size % 2)
    return found
