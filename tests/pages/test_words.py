"""Lengths as people say them: the browser says the same (tests/browser/test_arithmetic.py)."""

from fractions import Fraction

import pytest

from review.pages.words import duration

SAID = [
    (0, "0 s"),
    (Fraction(42, 10), "4.2 s"),
    (Fraction(21, 2), "11 s"),  # a half is rounded up, also from an even second
    (Fraction(23, 2), "12 s"),
    (Fraction(1199, 20), "1 min 00 s"),
    (750, "12 min 30 s"),
    (3839, "1 h 03 min"),
]


@pytest.mark.parametrize(("seconds", "words"), SAID)
def test_a_length_in_words(seconds, words):
    assert duration(seconds) == words
