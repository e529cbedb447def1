"""A small H.264 stream whose pictures say their timecode in picture timing messages (ITU-T H.264 clause D.1.3).

No free encoder writes them, so they are put into the stream of field_coded.py bit by bit.
"""

from .field_coded import _nal, _sequence, field_coded

_SEI = 0x06
_DELIMITER = b"\0\0\0\1\x09"


def with_picture_timing(frames: int, label: str) -> bytes:
    """`frames` pictures at 25 a second; the first says `label`, the others count on from it within its second."""
    hours, minutes, seconds, first = (int(part) for part in label.split(":"))
    plain = field_coded(frames, whole_every=1)
    plain = plain.replace(_nal(0x67, _sequence()), _nal(0x67, _sequence()[:-2] + "10"))  # pic_struct_present_flag
    stream = b""
    for number, unit in enumerate(plain.split(_DELIMITER)[1:]):
        at = unit.index(b"\0\0\0\1\x65")  # the picture itself
        timing = "0000" + "1" + "00" + "0" + "00000" + "1" + "0" + "0"  # a frame, progressive, no discontinuity
        timing += f"{first + number:08b}{seconds:06b}{minutes:06b}{hours:05b}" + 24 * "0"
        timing += "1" + "0" * (-(len(timing) + 1) % 8)
        message = f"{1:08b}{len(timing) // 8:08b}" + timing
        stream += _DELIMITER + unit[:at] + _nal(_SEI, message) + unit[at:]
    return stream
