"""Kinds of medium. LTO: the LTO Program's compatibility rule, quoted in the trade press (blocksandfiles.com 2025-05-30;
agreeing: itjungle.com 2024-03-27); native capacities from memory. Lifetimes: common practice, no source."""

from datetime import date

import pytest

from review.cards.media_kinds import (
    KINDS,
    TAPES,
    drives_that_read,
    drives_that_write,
    kind_of,
    replacement,
    tape_generation,
)

READS = {
    1: [1],
    2: [2, 1],
    3: [3, 2, 1],
    4: [4, 3, 2],
    5: [5, 4, 3],
    6: [6, 5, 4],
    7: [7, 6, 5],
    8: [8, 7],
    9: [9, 8],
    10: [10],
}
WRITES = {1: [1], 2: [2, 1], 3: [3, 2], 4: [4, 3], 5: [5, 4], 6: [6, 5], 7: [7, 6], 8: [8, 7], 9: [9, 8], 10: [10]}


@pytest.mark.parametrize("number", range(1, 11))
def test_what_each_generation_of_drives_reads_and_writes(number):
    assert list(TAPES[number].reads) == READS[number]
    assert list(TAPES[number].writes) == WRITES[number]


def test_which_drives_read_a_tape():
    assert drives_that_read(6) == [6, 7]
    assert drives_that_read(7) == [7, 8]
    assert drives_that_read(8) == [8, 9]
    assert drives_that_read(9) == [9]
    assert drives_that_write(6) == [6, 7]
    assert drives_that_write(10) == [10]


def test_kinds_have_their_tape_generation():
    assert tape_generation("lto-8") == 8
    assert tape_generation("disk") is None and tape_generation("lto-99") is None
    assert kind_of("gone").key == "unknown"
    assert all(kind.words and kind.check_every for kind in KINDS.values())


def test_when_a_medium_is_to_be_replaced():
    assert replacement(KINDS["disk"], date(2026, 11, 12)) == (date(2029, 11, 12), date(2034, 11, 12))
    assert replacement(KINDS["optical"], date(2024, 2, 29)) == (date(2034, 2, 28), date(2049, 2, 28))
    assert replacement(KINDS["disk"], None) is None
    assert replacement(KINDS["cloud"], date(2026, 1, 1)) is None
