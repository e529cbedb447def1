"""What WAV files say of their take. Chunks: EBU Tech 3285 (bext), EBU Tech 3306 (RF64), and files that ffmpeg wrote."""

import io
import struct
import subprocess

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.riff import chunks
from review.cards.wav_family import WavFacts, read_wav_facts
from review.media.ffmpeg import ffmpeg_binary
from tests.cards.whole_cards import wav


def facts(data):
    return read_wav_facts(io.BytesIO(data))


def test_it_works():
    data = wav(samples=480, start=1_728_000_000, tracks=2, family="KB04-T001", index="A", total=2)
    assert facts(data) == WavFacts(48_000, 2, 480, len(data), 1_728_000_000, "KB04-T001", "A", 2)


@pytest.mark.parametrize("form", [b"RF64", b"BW64"])
def test_long_files_take_their_size_from_ds64(form):
    data = wav(samples=480, form=form)
    assert (facts(data).samples, facts(data).ends_at) == (480, len(data))


@pytest.mark.parametrize("rf64", ["never", "always"])
def test_files_that_ffmpeg_wrote_are_read(tmp_path, rf64):
    path = tmp_path / "t.wav"
    command = [ffmpeg_binary(), "-v", "error", "-f", "lavfi", "-i", "sine=sample_rate=48000:duration=0.1"]
    command += ["-ac", "2", "-c:a", "pcm_s24le", "-rf64", rf64, "-write_bext", "1"]
    command += ["-metadata", "time_reference=1728000000", str(path)]
    subprocess.run(command, check=True, timeout=60)
    data = path.read_bytes()
    assert data[:4] == (b"RF64" if rf64 == "always" else b"RIFF")
    assert facts(data) == WavFacts(48_000, 2, 4800, len(data), 1_728_000_000)


def test_a_file_cut_short_still_says_how_long_it_was():
    assert facts(wav(samples=480, cut=100)).ends_at == len(wav(samples=480))


def test_a_size_that_was_never_written_is_no_sign_of_a_cut():
    data = wav(samples=480, form=b"RF64").replace(b"RF64", b"RIFF", 1).replace(b"ds64", b"JUNK", 1)
    assert (facts(data).samples, facts(data).ends_at) == (0, len(data) - 960)


def test_chunks_say_where_their_content_is():
    data = wav(samples=3, start=None)
    found = list(chunks(io.BytesIO(data)))
    assert [(each.name, each.size) for each in found] == [(b"fmt ", 16), (b"data", 6)]
    assert found[1].offset == len(data) - 6


def test_a_chunk_of_odd_length_is_followed_by_a_byte_of_padding():
    data = b"RIFF\0\0\0\0WAVE" + b"odd \3\0\0\0abc\0" + b"next\0\0\0\0"
    assert [each.name for each in chunks(io.BytesIO(data))] == [b"odd ", b"next"]


def test_other_chunks_above_4_gb_are_in_the_table():
    table = struct.pack("<QQQI4sQ", 0, 5, 0, 1, b"big ", 7)
    data = b"RF64\xff\xff\xff\xffWAVEds64" + struct.pack("<I", len(table)) + table + b"big \xff\xff\xff\xff"
    assert [each.size for each in chunks(io.BytesIO(data)) if each.name == b"big "] == [7]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "does not begin as a WAV"),
        (b"RIFF\0\0\0\0AVI ", "does not begin as a WAV"),
        (wav()[:12], "no sound"),
        (wav()[:30], "no sound"),
        (wav().replace(struct.pack("<I", 48_000), bytes(4), 1), "makes no sense"),
    ],
)
def test_what_is_no_sound_is_refused(data, words):
    with pytest.raises(ValueError, match=words):
        facts(data)


def test_ixml_that_cannot_be_read_is_as_none():
    assert facts(wav(family="F1").replace(b"<FILE_SET>", b"<FILE_SE&>")).family_uid == ""


@given(st.binary(max_size=400) | st.tuples(st.integers(0, 900), st.binary(max_size=40)).map(lambda cut: _spoilt(*cut)))
def test_any_bytes_are_facts_or_a_refusal(data):
    try:
        found = facts(data)
    except ValueError as problem:
        assert str(problem)
    else:
        assert found.samples >= 0 and found.sample_rate > 0 and found.tracks > 0


def _spoilt(at, noise):
    data = wav(samples=20, tracks=2, family="F1", form=b"RF64")
    return data[:at] + noise + data[at + len(noise) :]


def test_a_file_of_endless_chunks_is_given_up():
    data = b"RIFF\0\0\0\0WAVE" + b"junk\0\0\0\0" * 20_000
    assert sum(1 for _ in chunks(io.BytesIO(data))) == 10_000
