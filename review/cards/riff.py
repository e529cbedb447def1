"""The chunks of a WAV file in its three forms: RIFF, and RF64 or BW64 above 4 GB (EBU Tech 3306, ITU-R BS.2088)."""

from collections.abc import Iterator
from typing import BinaryIO, NamedTuple

_FORMS = (b"RIFF", b"RF64", b"BW64")
_SEE_DS64 = 0xFFFFFFFF  # "the size is in the ds64 chunk"
_MOST_CHUNKS = 10_000
_MOST_SIZES = 64  # in the table of ds64
_FARTHEST = 1 << 62  # bytes; no file system has more


class Chunk(NamedTuple):
    name: bytes  # four
    offset: int  # of its content, in bytes from the start of the file
    size: int  # bytes of its content, as declared: a file that was cut short has fewer


def chunks(file: BinaryIO) -> Iterator[Chunk]:
    """The chunks in their order, from the start of `file`; sizes above 4 GB are looked up in `ds64`.

    It reads the headers alone, and at most 10,000 of them; a file that ends early gives what came before that.
    Raises ValueError if it is no WAV file. The caller may move about in `file` between chunks.
    """
    file.seek(0)
    head = file.read(12)
    if head[:4] not in _FORMS or head[8:] != b"WAVE":
        raise ValueError("it does not begin as a WAV file does")
    position, large = 12, {}
    for _ in range(_MOST_CHUNKS):
        file.seek(position)
        header = file.read(8)
        if len(header) < 8:
            return
        name, size = header[:4], int.from_bytes(header[4:], "little")
        if name == b"ds64":
            large = _large_sizes(file.read(min(size, 28 + 12 * _MOST_SIZES)))
        elif size == _SEE_DS64:
            size = large.get(name, size)
        yield Chunk(name, position + 8, size)
        position += 8 + size + size % 2
        if position > _FARTHEST:
            return


def _large_sizes(ds64: bytes) -> dict[bytes, int]:
    """What ds64 holds: the sizes of the whole and of `data`, samples, then a table of other chunks and their sizes."""
    sizes = {
        ds64[at : at + 4]: int.from_bytes(ds64[at + 4 : at + 12], "little") for at in range(28, len(ds64) - 11, 12)
    }
    if len(ds64) >= 16:
        sizes[b"data"] = int.from_bytes(ds64[8:16], "little")
    return sizes
