"""How commands say how far they are: the house's own rules."""

import io

import pytest

from review.management.progress_line import ProgressLine

GB = 1_000_000_000


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture
def clock():
    class Clock:
        now = 0.0

        def __call__(self):
            return self.now

    return Clock()


def read_through(line, clock, *, start=0, total=20 * GB, rate=200_000_000):
    done = start
    while True:
        line.tell("check KB04-261112-A03", min(done, total), total, in_bytes=True)
        if done >= total:
            return
        clock.now += 0.5
        done += rate // 2


def test_in_a_log_there_is_a_line_every_ten_per_cent(clock):
    stream = io.StringIO()
    line = ProgressLine(stream, clock)
    read_through(line, clock)
    line.end()
    lines = stream.getvalue().splitlines()
    assert len(lines) == 11
    assert lines[0] == "check KB04-261112-A03: 0 bytes of 20.0 GB (0 %)"
    assert lines[5] == "check KB04-261112-A03: 10.0 GB of 20.0 GB (50 %), 200 MB/s, 50 s left"
    assert lines[10] == "check KB04-261112-A03: 20.0 GB of 20.0 GB (100 %), 200 MB/s"


def test_on_a_terminal_one_line_changes_and_is_cleared(clock):
    stream = Terminal()
    line = ProgressLine(stream, clock)
    read_through(line, clock, total=GB)
    line.end()
    told = stream.getvalue()
    assert "\n" not in told and told.endswith("\r\033[K")
    assert "\r\033[Kcheck KB04-261112-A03: 400 MB of 1.00 GB (40 %), 200 MB/s, 3 s left" in told


def test_what_goes_on_says_from_where_and_its_speed_is_its_own(clock):
    stream = io.StringIO()
    line = ProgressLine(stream, clock)
    line.begin("check KB04-261112-A03", 15 * GB)
    read_through(line, clock, start=15 * GB)
    lines = stream.getvalue().splitlines()
    assert lines[0] == "check KB04-261112-A03: goes on from 15.0 GB of 20.0 GB (75 %)"
    assert lines[1].endswith("16.0 GB of 20.0 GB (80 %), 200 MB/s, 20 s left")


def test_what_somebody_else_began_is_not_said_to_go_on(clock):
    stream = io.StringIO()
    read_through(ProgressLine(stream, clock), clock, start=15 * GB)
    assert stream.getvalue().splitlines()[:2] == [
        "check KB04-261112-A03: 15.0 GB of 20.0 GB (75 %)",
        "check KB04-261112-A03: 16.0 GB of 20.0 GB (80 %), 200 MB/s, 20 s left",
    ]


def test_frames_are_told_in_per_cent(clock):
    stream = io.StringIO()
    line = ProgressLine(stream, clock)
    for done in (0, 250, 500):
        line.tell("proxy A001C001", done, 1000, in_bytes=False)
        clock.now += 30
    assert stream.getvalue().splitlines() == [
        "proxy A001C001: 0 %",
        "proxy A001C001: 25 %, 2 min left",
        "proxy A001C001: 50 %, 1 min left",
    ]


def test_nothing_is_told_before_the_whole_is_known(clock):
    stream = io.StringIO()
    line = ProgressLine(stream, clock)
    line.tell("check KB04-261112-A03", 0, 0, in_bytes=True)
    line.end()
    assert stream.getvalue() == ""
