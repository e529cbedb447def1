"""The four bytes in which a camera writes one timecode, wherever it keeps it, and labels counted at half the rate.

BCD digits, least first: frames, seconds, minutes, hours. Camera data in H.264 (ExifTool's H264.pm), clip XML
(published samples) and FFmpeg's S12M side data all use this order; the flag bits that share the bytes are those of
SMPTE ST 12-1.
"""

from review.timecode import Rate

_DROP = 0x40  # of the frames
_SECOND_OF_PAIR = 0x80  # of the hours at 25 pairs a second, of the seconds otherwise


def label_of_word(word: bytes, rate: Rate, pairs: bool = False) -> str:
    """The label that four bytes stand for, at `rate`; ';' where they say drop-frame and the rate can be.

    With `pairs` they count frames by twos, and a flag tells the second of two. Raises ValueError for what are no
    digits; whether the label exists at the rate is for `Timebase.frame` to say.
    """
    frames, seconds, minutes, hours = word
    ff, ss, mm, hh = bcd(frames & 0x3F), bcd(seconds & 0x7F), bcd(minutes & 0x7F), bcd(hours & 0x3F)
    if pairs:
        ff = 2 * ff + bool((hours if rate.nominal == 50 else seconds) & _SECOND_OF_PAIR)
    return f"{hh:02}:{mm:02}:{ss:02}{';' if frames & _DROP and rate.can_drop else ':'}{ff:02}"


def at_full_rate(label: str, base: int, rate: Rate) -> str:
    """`label`, which counts `base` frames a second, as the frames of `rate` are counted: the first of each pair if
    it counts pairs. Raises ValueError, in words that follow the source's name, if the two do not fit."""
    if base == rate.nominal:
        return label
    if 2 * base != rate.nominal or not label[-2:].isdecimal():
        raise ValueError(f"counts {base} frames a second, and the clip has {rate}")
    return f"{label[:-2]}{2 * int(label[-2:]):02}"


def bcd(byte: int) -> int:
    """Two decimal digits in one byte. Raises ValueError if they are not."""
    return int(f"{byte:02x}")
