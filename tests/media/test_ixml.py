"""What a recorder says of its take. Element names as the iXML specification publishes them; bext lines by practice."""

import io

import pytest

from review.media.ixml import TakeNotes, names_in_description, read_ixml
from review.media.wav_chunks import read_chunks
from review.timecode import Rate


def ixml(speed: str = "", tracks: str = "") -> bytes:
    return f'<?xml version="1.0" encoding="UTF-8"?><BWFXML><SPEED>{speed}</SPEED>{tracks}</BWFXML>'.encode()


def track(index: int | str, name: str, function: str = "") -> str:
    return (
        f"<TRACK><CHANNEL_INDEX>9</CHANNEL_INDEX><INTERLEAVE_INDEX>{index}</INTERLEAVE_INDEX><NAME>{name}</NAME>"
        f"<FUNCTION>{function}</FUNCTION></TRACK>"
    )


def test_it_works():
    speed = (
        "<TIMECODE_RATE>30000/1001</TIMECODE_RATE><TIMECODE_FLAG>DF</TIMECODE_FLAG>"
        "<TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>1</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>"
        "<TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO>5</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO>"
        "<TIMESTAMP_SAMPLE_RATE>96000</TIMESTAMP_SAMPLE_RATE>"
    )
    tracks = f"<TRACK_LIST><TRACK_COUNT>2</TRACK_COUNT>{track(2, 'Ines')}{track(1, 'Boom')}</TRACK_LIST>"
    take = read_ixml(ixml(speed, tracks))
    assert take == TakeNotes(Rate(30000, 1001), True, (1 << 32) + 5, 96000, ("Boom", "Ines"))
    assert take.rate_in_words == "29.97DF"


@pytest.mark.parametrize(
    ("rate", "flag", "words"),
    [
        ("25/1", "NDF", "25"),
        ("25", "", "25"),
        ("24000/1001", "NDF", "23.976"),
        ("23.976", "", "23.976"),
        ("30000/1001", "NDF", "29.97NDF"),
        ("30000/1001", "", "29.97"),
        ("30000 / 1001", "df", "29.97DF"),
        ("17/1", "", ""),  # nobody shoots that
        ("25/0", "", ""),
        ("1e99999999", "", ""),
        ("twenty-five", "", ""),
    ],
)
def test_the_recorders_rate(rate, flag, words):
    speed = f"<TIMECODE_RATE>{rate}</TIMECODE_RATE><TIMECODE_FLAG>{flag}</TIMECODE_FLAG>"
    assert read_ixml(ixml(speed)).rate_in_words == words


def test_a_track_without_a_name_has_that_of_its_function_or_none():
    tracks = f"<TRACK_LIST>{track(1, '', 'MIX')}{track(3, 'Boom')}</TRACK_LIST>"
    assert read_ixml(ixml(tracks=tracks)).names == ("MIX", "", "Boom")


def test_tracks_without_an_index_are_counted():
    tracks = f"<TRACK_LIST>{track('', 'Boom')}{track('x', 'Ines')}{track(999999, 'far')}</TRACK_LIST>"
    assert read_ixml(ixml(tracks=tracks)).names == ("Boom", "Ines", "far")


def test_the_zeros_that_recorders_leave_behind_are_no_fault():
    assert read_ixml(ixml() + b"\0" * 500) == TakeNotes()


@pytest.mark.parametrize("data", [b"", b"\0\0", b"<BWFXML>", b"<OTHER/>"])
def test_what_is_no_ixml_is_refused(data):
    with pytest.raises(ValueError, match=r"^is "):
        read_ixml(data)


def test_names_in_a_bext_description():
    text = "sSPEED=025.000-ND\r\nsTAKE=01\r\nsTRK1=Boom\r\nsTRK3=Ines\r\nTRK2=Joe\r\nsTRK999999=far"
    assert names_in_description(text) == ("Boom", "Joe", "Ines")
    assert names_in_description("the goats, wide") == ()


# Chunks: RIFF, and ds64 as in EBU Tech 3306


def chunk(name: bytes, data: bytes, size: int | None = None) -> bytes:
    return name + (len(data) if size is None else size).to_bytes(4, "little") + data + b"\0" * (len(data) % 2)


def read(*chunks: bytes, form: bytes = b"RIFF") -> dict[bytes, bytes]:
    return read_chunks(io.BytesIO(form + b"\xff\xff\xff\xffWAVE" + b"".join(chunks)), (b"iXML",), 1000)


def test_a_chunk_behind_the_sound_is_found():
    assert read(chunk(b"fmt ", b"123"), chunk(b"data", bytes(100)), chunk(b"iXML", b"<a/>")) == {b"iXML": b"<a/>"}


@pytest.mark.parametrize("form", [b"RF64", b"BW64"])
def test_a_chunk_behind_the_sound_of_a_large_file_is_found(form):
    ds64 = chunk(b"ds64", bytes(8) + (100).to_bytes(8, "little") + bytes(12))
    data = chunk(b"data", bytes(100), size=0xFFFFFFFF)
    assert read(ds64, data, chunk(b"iXML", b"<a/>"), form=form) == {b"iXML": b"<a/>"}


def test_no_more_is_read_than_was_asked_for():
    assert len(read(chunk(b"iXML", bytes(5000)))[b"iXML"]) == 1000


def test_the_first_of_two_is_kept():
    assert read(chunk(b"iXML", b"<a/>"), chunk(b"iXML", b"<b/>")) == {b"iXML": b"<a/>"}


def test_another_kind_of_file_has_none():
    assert read(chunk(b"iXML", b"<a/>"), form=b"OggS") == {}
