"""The camera's data in AVCHD, byte by byte. Byte order: ExifTool's H264.pm; flag bits: SMPTE ST 12-1.

The packaged exiftool carries no sample file, so the message that its own sample (M2TS.mts of its source's tests) holds
stands here in hexadecimal, with what exiftool 12.57 reads of it. Streams made for the test are read by both in
test_probe.py.
"""

import pytest

from review.media.camera_data import CameraData, read_camera_data
from review.timecode import Rate

from .conftest import MDPM, VECTORS

R25, R2997, R50, R5994 = Rate(25), Rate(30000, 1001), Rate(50), Rate(60000, 1001)
RECORD = next(vector for vector in VECTORS["mdpm"] if "bytes" in vector)


def timecode(record: str) -> bytes:
    return bytes([1, 0x13]) + bytes.fromhex(record)


def test_it_works():
    data = read_camera_data(bytes.fromhex(MDPM["payload_hex"]).removeprefix(b"MDPM"), R25)
    assert data == CameraData(label=MDPM["timecode"], shot_at="2026-11-12T10:00:00")


def test_exiftools_sample_has_a_clock_and_no_timecode():
    message = bytes.fromhex("071802200812193123162470caf4ffff71ffffffff7f00006584e010113000e106ffffff")
    assert read_camera_data(message, R25) == CameraData(
        shot_at="2008-12-31T23:16:24"
    )  # DateTimeOriginal, less its zone


def test_the_bytes_are_frames_seconds_minutes_hours():
    assert read_camera_data(timecode(RECORD["bytes"]), R25).label == RECORD["label"]


@pytest.mark.parametrize(
    ("record", "rate", "label"),
    [
        ("5900 0010", R2997, "10:00:00;19"),  # 0x40 of the frames: drop-frame
        ("1900 0010", R2997, "10:00:00:19"),
        ("5900 0010", R25, "10:00:00:19"),  # there is none at 25: the bit means something else there
        ("9980 80d0", R25, "10:00:00:19"),  # the other flags
        ("1200 0010", R50, "10:00:00:24"),  # pairs, first of two
        ("1200 0090", R50, "10:00:00:25"),  # second of two: bit 7 of the hours at 50
        ("5280 0010", R5994, "10:00:00;25"),  # and of the seconds at 60
    ],
)
def test_flag_bits_are_told_from_digits(record, rate, label):
    assert read_camera_data(timecode(record), rate).label == label


@pytest.mark.parametrize("records", ["", "01", "0113 00", "0113 ffffffff", "0013 00000010"])
def test_what_makes_no_sense_is_left_out(records):
    assert read_camera_data(bytes.fromhex(records), R25) == CameraData()
