"""The clock of AVCHD streams. Packets and times: ISO/IEC 13818-1; PyAV reads the same streams for comparison."""

import io
import subprocess

import av
import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.layouts.stream_times import StreamTimes, read_stream_times
from review.media.ffmpeg import ffmpeg_binary
from tests.cards.whole_cards import FRAME, SECOND, stream

CLOCK = 1 << 33


def times(data):
    return read_stream_times(io.BytesIO(data), len(data))


def test_it_works():
    assert times(stream(SECOND, 50)) == StreamTimes(SECOND, SECOND + 49 * FRAME, FRAME)


@pytest.fixture(scope="module")
def real(tmp_path_factory):
    """A stream that ffmpeg wrote, with pictures out of order and sound."""
    path = tmp_path_factory.mktemp("real") / "00000.mts"
    command = [ffmpeg_binary(), "-v", "error", "-f", "lavfi", "-i", "testsrc2=size=320x240:rate=25:duration=4"]
    command += ["-f", "lavfi", "-i", "sine=duration=4", "-c:v", "libx264", "-preset", "ultrafast", "-bf", "2", "-g"]
    command += ["12", "-c:a", "ac3", "-f", "mpegts", "-mpegts_m2ts_mode", "1", str(path)]
    subprocess.run(command, check=True, timeout=60)
    return path


def test_a_stream_that_ffmpeg_wrote_has_the_times_that_pyav_finds(real):
    with av.open(str(real), format="mpegts") as movie:
        found = sorted(packet.pts for packet in movie.demux(video=0) if packet.pts is not None)
    assert times(real.read_bytes()) == StreamTimes(found[0], found[-1], 3600)


@pytest.mark.parametrize("share", [0.3, 0.41, 0.5, 0.77])
def test_a_stream_cut_anywhere_runs_on_into_its_rest(real, share):
    data = real.read_bytes()
    cut = int(len(data) * share) // 192 * 192
    assert times(data[:cut]).runs_on_into(times(data[cut:]))
    assert not times(data[cut:]).runs_on_into(times(data[:cut]))


@pytest.mark.parametrize(("late", "runs_on"), [(-6, False), (0, True), (1, True), (2, False), (25, False)])
def test_the_next_picture_must_be_where_it_belongs_within_a_pictures_time(late, runs_on):
    """Six pictures early is more than encoders of cameras keep back."""
    first = times(stream(SECOND, 50))
    assert first.runs_on_into(times(stream(SECOND + (50 + late) * FRAME, 50))) is runs_on


def test_the_clock_begins_anew_after_33_bits():
    first = times(stream(CLOCK - 60 * FRAME, 50))
    across = times(stream(CLOCK - 10 * FRAME, 50))
    assert across == StreamTimes(CLOCK - 10 * FRAME, 39 * FRAME, FRAME)
    assert first.runs_on_into(across)
    assert across.runs_on_into(times(stream(40 * FRAME, 50)))


def test_recordings_that_each_begin_at_the_same_time_do_not_run_on():
    same = times(stream(126_000, 60))
    assert not same.runs_on_into(same)


def test_a_stream_of_a_few_pictures_runs_on_into_none():
    assert not times(stream(126_000, 3)).runs_on_into(times(stream(126_000 + 3 * FRAME, 50)))


def test_both_ends_of_a_long_stream_are_looked_at_and_not_what_lies_between():
    data = stream(SECOND, 40_000)
    assert len(data) > 7_000_000

    class Counting(io.BytesIO):
        count = 0

        def read(self, size=-1):
            found = super().read(size)
            Counting.count += len(found)
            return found

    assert read_stream_times(Counting(data), len(data)) == StreamTimes(SECOND, SECOND + 39_999 * FRAME, FRAME)
    assert Counting.count <= 4 * 1024 * 1024


@given(st.binary(max_size=800) | st.binary(max_size=192).map(lambda noise: stream(0, 2) + noise + stream(0, 2)))
def test_any_bytes_have_times_or_none(data):
    found = times(data)
    assert found is None or (0 <= found.first < CLOCK and 0 <= found.last < CLOCK and found.step > 0)
