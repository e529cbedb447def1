"""A small H.264 stream in which a picture may be coded as its two fields, as many 1080i camcorders do.

No free encoder makes one, so it is written bit by bit after ITU-T H.264 clause 7.3: 16x32 samples, every macroblock
I_PCM, one grey a picture.
"""


def grey(number: int) -> int:
    return 40 + 3 * number


def field_coded(frames: int, whole_every: int = 0) -> bytes:
    """An Annex B stream of `frames` interlaced frames at 25 a second; picture n is of grey(n).

    Every `whole_every`th is coded as a frame, the others as a pair of fields.
    """
    stream = b""
    for number in range(frames):
        stream += _nal(0x09, "00010000") + _nal(0x67, _sequence()) + _nal(0x68, _picture_parameters())
        identity = _ue(number % 2)
        if whole_every and (number + 1) % whole_every == 0:
            stream += _nal(0x65, _slice("0", identity, number, macroblocks=2))
        else:
            stream += _nal(0x65, _slice("10", identity, number)) + _nal(0x61, _slice("11", None, number))
    return stream


def _sequence() -> str:
    level = f"{77:08b}{0:08b}{30:08b}"  # Main profile, level 3
    counts = _ue(0) + _ue(0) + _ue(2) + _ue(1) + "0"
    size = _ue(0) + _ue(0) + "00" + "1" + "0"  # one macroblock wide, two high in a frame; fields allowed
    timing = "1" + "0000" + "1" + f"{1:032b}{50:032b}" + "1" + "0000"  # fifty fields a second
    return level + counts + size + timing


def _picture_parameters() -> str:
    return _ue(0) + _ue(0) + "00" + _ue(0) * 3 + "0" + "00" + _ue(0) * 3 + "000"


def _slice(structure: str, idr: str | None, number: int, macroblocks: int = 1) -> str:
    bits = _ue(0) + _ue(7) + _ue(0) + "0000" + structure + (idr + "00" if idr else "0") + _ue(0)
    for _ in range(macroblocks):
        bits += _ue(25)
        bits += "0" * (-len(bits) % 8) + f"{grey(number):08b}" * 256 + f"{128:08b}" * 128
    return bits


def _ue(value: int) -> str:
    digits = f"{value + 1:b}"
    return "0" * (len(digits) - 1) + digits


def _nal(header: int, bits: str) -> bytes:
    bits += "1"
    bits += "0" * (-len(bits) % 8)
    unit = bytearray()
    for byte in int(bits, 2).to_bytes(len(bits) // 8, "big"):
        if byte <= 3 and unit[-2:] == b"\0\0":
            unit.append(3)
        unit.append(byte)
    return b"\0\0\0\1" + bytes([header]) + bytes(unit)
