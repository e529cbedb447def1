"""Days and times that stand among the words."""

from datetime import date, time

import pytest

from review.searching import when
from review.searching.wanted import Wanted

DAYS = [date(2026, 11, 12), date(2026, 11, 13), *(date(2026, 12, day) for day in range(1, 11))]


@pytest.mark.parametrize(
    ("text", "number", "words", "rest"),
    [
        ("she laughs, second day, wide", 2, "second day", "she laughs, , wide"),
        ("Day 12 gate", 12, "Day 12", "gate"),
        ("gate 3rd day", 3, "3rd day", "gate"),
        ("the Tenth  day", 10, "Tenth  day", "the"),
        ("day one, gate", 1, "day one", "gate"),
        ("gate Day Twelve", 12, "Day Twelve", "gate"),
        ("13 november gate", 2, "13 november", "gate"),
        ("gate, November 13", 2, "November 13", "gate"),
        ("gate 13th of Nov 2026", 2, "13th of Nov 2026", "gate"),
        ("Dec 1st, 2026", 3, "Dec 1st, 2026", ""),
    ],
)
def test_a_day_is_read_from_the_words(text, number, words, rest):
    read, (taken,) = when.read(Wanted(text=text), DAYS)
    assert (read.text, read.day, taken.words) == (rest, number, words)
    day = DAYS[number - 1]
    assert taken.meaning == f"day {number}, {day.day} {day:%b %Y}"


@pytest.mark.parametrize(
    "text",
    [
        *("a long day", "today 2", "day", "seconds today", "daylight 2", "day 12345", "day 0", "day 13", "day oneself"),
        *("14 november", "13 november 2025", "13 novembers", "113 november", "may", "1 dec99"),
    ],
)
def test_other_words_are_no_day(text):
    assert when.read(Wanted(text=text), DAYS) == (Wanted(text=text), [])


def test_a_day_that_is_chosen_is_not_read_again():
    asked = Wanted(text="day one", date=DAYS[1])
    assert when.read(asked, DAYS) == (asked, [])


@pytest.mark.parametrize(
    ("text", "since", "until", "words", "rest"),
    [
        ("09:40:42", time(9, 40, 12), time(9, 41, 12), "09:40:42", ""),
        ("rails 09:40:42:15 wide", time(9, 40, 12), time(9, 41, 12), "09:40:42:15", "rails wide"),
        ("9:40:42;15, rails", time(9, 40, 12), time(9, 41, 12), "9:40:42;15", "rails"),
        ("23:59:45", time(23, 59, 15), time(0, 0, 15), "23:59:45", ""),
        ("00:00:10", time(23, 59, 40), time(0, 0, 40), "00:00:10", ""),
    ],
)
def test_a_timecode_is_read_as_a_time_of_day(text, since, until, words, rest):
    read, (taken,) = when.read(Wanted(text=text), DAYS)
    assert (read.since, read.until, read.text, taken.words) == (since, until, rest, words)
    assert taken.meaning == f"the time of day, {since} to {until}"


@pytest.mark.parametrize("text", ["24:00:00", "09:60:00", "09:40", "109:40:42", "09:40:42:15:01", "1:2:3"])
def test_other_numbers_are_no_time(text):
    assert when.read(Wanted(text=text), DAYS) == (Wanted(text=text), [])


def test_a_time_that_is_chosen_is_not_read_again():
    asked = Wanted(text="09:40:42", until=time(10))
    assert when.read(asked, DAYS) == (asked, [])


def test_a_day_and_a_time_together():
    read, taken = when.read(Wanted(text="day two 09:40:42 rails"), DAYS)
    assert (read.day, read.since, read.text, len(taken)) == (2, time(9, 40, 12), "rails", 2)
