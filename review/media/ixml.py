"""What a sound recorder says of its take: the iXML chunk of a WAV file, and the older habit of lines in bext.

iXML's element names as published by its authors; the lines "sTRK1=Boom" in bext's description are common practice,
no source.
"""

import re
from dataclasses import dataclass

from review.card_xml import child, local_name, parse_card_xml, text_of, whole_number
from review.timecode import Rate, TimecodeError

MOST_CHANNELS = 512

_FRACTION = re.compile(r"(\d{1,9})\s*/\s*(\d{1,9})|(\d{1,6}(\.\d{1,6})?)", re.ASCII)
_TRACK_LINE = re.compile(r"^s?TRK(\d{1,3})=(.*)$", re.MULTILINE)
_HALF = 0xFFFFFFFF


@dataclass(frozen=True)
class TakeNotes:
    """`samples` since midnight at `sample_rate` a second; `rate` and `drop` as the recorder was set; `names` of the
    channels in their order in the file, '' for one without. What is not said is None, 0 or ''."""

    rate: Rate | None = None
    drop: bool | None = None
    samples: int | None = None
    sample_rate: int = 0
    names: tuple[str, ...] = ()

    @property
    def rate_in_words(self) -> str:
        """'25', '29.97DF', '29.97NDF'; '29.97' if it is not said which; '' if there is no rate."""
        if self.rate is None:
            return ""
        return rate_in_words(self.rate, self.drop)


def rate_in_words(rate: Rate, drop: bool | None) -> str:
    """The way a rate is written where the kind matters."""
    if not rate.can_drop or drop is None:
        return str(rate)
    return f"{rate}{'DF' if drop else 'NDF'}"


def read_ixml(data: bytes) -> TakeNotes:
    """Read an iXML chunk. Raises ValueError, in words that follow its name, if it is none."""
    root = parse_card_xml(data)
    if local_name(root) != "BWFXML":
        raise ValueError("is XML of another kind")
    speed = child(root, "SPEED")
    high, low = (
        whole_number(text_of(speed, f"TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_{half}"), _HALF) for half in ("HI", "LO")
    )
    flag = text_of(speed, "TIMECODE_FLAG").upper()
    return TakeNotes(
        rate=_rate(text_of(speed, "TIMECODE_RATE")),
        drop={"DF": True, "NDF": False}.get(flag),
        samples=None if low is None else (high or 0) << 32 | low,
        sample_rate=whole_number(text_of(speed, "TIMESTAMP_SAMPLE_RATE"), _HALF)
        or whole_number(text_of(speed, "FILE_SAMPLE_RATE"), _HALF)
        or 0,
        names=_track_names(child(root, "TRACK_LIST")),
    )


def names_in_description(text: str) -> tuple[str, ...]:
    """The channels' names that a bext description gives; () if it gives none."""
    return _in_order({int(match[1]): match[2].strip() for match in _TRACK_LINE.finditer(text.replace("\r", "\n"))})


def _rate(text: str) -> Rate | None:
    """The standard rate that is meant: '24000/1001', '25/1', '29.97'."""
    written = _FRACTION.fullmatch(text)
    if not written:
        return None
    try:
        return Rate.parse(written[3] or f"{written[1]}/{written[2]}")
    except TimecodeError:
        return None


def _track_names(tracks) -> tuple[str, ...]:
    if tracks is None:
        return ()
    named = {}
    for place, track in enumerate((each for each in tracks if local_name(each) == "TRACK"), start=1):
        # The interleave index is the place in this file; the channel index is the recorder's own numbering.
        index = whole_number(text_of(track, "INTERLEAVE_INDEX"), MOST_CHANNELS) or place
        named.setdefault(index, text_of(track, "NAME") or text_of(track, "FUNCTION"))
    return _in_order(named)


def _in_order(named: dict[int, str]) -> tuple[str, ...]:
    last = max((index for index, name in named.items() if name and 0 < index <= MOST_CHANNELS), default=0)
    return tuple(named.get(index, "") for index in range(1, last + 1))
