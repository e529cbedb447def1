"""What a WAV file says about which take it belongs to, and where in it: the chunks fmt, bext and iXML.

`bext` holds the first sample as a count since midnight (EBU Tech 3285). In iXML, files with one FAMILY_UID belong to
one take: tracks recorded beside each other, or parts recorded one after another; TOTAL_FILES counts the files beside
each other (element names as public readers of iXML have them; what they mean, from memory).
"""

from dataclasses import dataclass
from typing import BinaryIO
from xml.etree.ElementTree import Element

from review.card_xml import child, parse_card_xml, text_of, whole_number
from review.cards.riff import chunks

_MOST_IXML = 1 << 20  # bytes
_REFERENCE_AT = 338  # bytes into bext, behind the texts and the date
_NEVER_WRITTEN = 0xFFFFFFFF  # stands for a size that was not known yet; one of ds64 has replaced it where there is one
_PCM_HEAD = 16  # bytes of fmt that every WAV file has
_HIGHEST_RATE = 1_000_000  # samples a second


@dataclass(frozen=True)
class WavFacts:
    """`time_reference` is the first sample, counted since midnight; None if the file does not say.

    `samples` are those that each channel is declared to have; `ends_at` is the byte behind the sound as declared, so
    that a file with fewer bytes was cut short. What iXML does not say is '' or 0.
    """

    sample_rate: int  # samples a second
    tracks: int
    samples: int
    ends_at: int
    time_reference: int | None = None
    family_uid: str = ""
    file_set_index: str = ""
    total_files: int = 0


def read_wav_facts(file: BinaryIO) -> WavFacts:
    """Read the chunks' small parts, never the sound. Raises ValueError if it is no WAV file that could be played."""
    head = reference = data = None
    family: dict[str, str] = {}
    for chunk in chunks(file):
        file.seek(chunk.offset)
        if chunk.name == b"fmt " and head is None:
            head = file.read(min(chunk.size, _PCM_HEAD))
        elif chunk.name == b"bext" and reference is None:
            reference = file.read(min(chunk.size, _REFERENCE_AT + 8))[_REFERENCE_AT:]
        elif chunk.name == b"iXML" and not family:
            family = _file_set(file.read(min(chunk.size, _MOST_IXML)))
        elif chunk.name == b"data" and data is None:
            data = chunk
    if head is None or len(head) < _PCM_HEAD or data is None:
        raise ValueError("it has no sound that could be played")
    tracks, rate = int.from_bytes(head[2:4], "little"), int.from_bytes(head[4:8], "little")
    size = 0 if data.size == _NEVER_WRITTEN else data.size
    bytes_a_sample = int.from_bytes(head[12:14], "little")  # of all channels
    if not (tracks and bytes_a_sample and 0 < rate <= _HIGHEST_RATE):
        raise ValueError("what it says about its own sound makes no sense")
    return WavFacts(
        rate,
        tracks,
        size // bytes_a_sample,
        data.offset + size,
        int.from_bytes(reference, "little") if reference is not None and len(reference) == 8 else None,
        family.get("FAMILY_UID", ""),
        family.get("FILE_SET_INDEX", ""),
        whole_number(family.get("TOTAL_FILES"), 1000) or 0,
    )


def _file_set(data: bytes) -> dict[str, str]:
    try:
        found: Element | None = child(parse_card_xml(data), "FILE_SET")
    except ValueError:
        return {}  # a take of its own, as if it had no iXML
    return {name: text_of(found, name) for name in ("FAMILY_UID", "FILE_SET_INDEX", "TOTAL_FILES")}
