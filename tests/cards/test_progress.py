"""Progress in words: the house's own rules."""

import pytest

from review.cards.progress import bytes_line, in_bytes, in_time, left, percent

GB = 1_000_000_000


def test_it_works():
    assert left(6 * GB, 20 * GB, 0, 30) == 70
    assert bytes_line(6 * GB, 20 * GB, 0, 30) == "6.00 GB of 20.0 GB (30 %), 200 MB/s, 2 min left"


def test_what_an_earlier_run_read_says_nothing_of_the_speed():
    assert left(15 * GB, 20 * GB, 10 * GB, 50) == 50
    assert "100 MB/s" in bytes_line(15 * GB, 20 * GB, 10 * GB, 50)


@pytest.mark.parametrize(("done", "resumed", "seconds"), [(0, 0, 10), (5, 5, 10), (5, 0, 0.5)])
def test_nobody_can_tell_yet(done, resumed, seconds):
    assert left(done, 10, resumed, seconds) is None
    assert "left" not in bytes_line(done, 10, resumed, seconds)


def test_nothing_is_left_at_the_end():
    assert left(10, 10, 10, 0) == left(0, 0, 0, 0) == 0
    assert bytes_line(0, 0, 0, 0) == "0 bytes of 0 bytes (0 %)"


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (0, "0 bytes"),
        (999, "999 bytes"),
        (1000, "1.00 kB"),
        (999_400, "999 kB"),
        (999_600, "1.00 MB"),
        (12_345_678, "12.3 MB"),
        (800 * GB, "800 GB"),
        (1530 * GB, "1.53 TB"),
        (5_000_000 * GB, "5,000 TB"),
    ],
)
def test_bytes(count, words):
    assert in_bytes(count) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0.2, "1 s"), (59, "59 s"), (59.5, "1 min"), (61, "2 min"), (3600, "1 h 00 min"), (7441, "2 h 05 min")],
)
def test_time(seconds, words):
    assert in_time(seconds) == words


def test_percent_is_a_hundred_only_at_the_end():
    assert [percent(done, 1000) for done in (0, 999, 1000, 1001)] == [0, 99, 100, 100]
