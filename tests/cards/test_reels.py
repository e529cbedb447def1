"""Reels. What is legal in a CMX3600 list (eight of A-Z0-9, reserved words): common practice, no source."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.reels import RESERVED, reel_for


def test_it_works():
    assert reel_for("KB04-261112-A03", []) == "61112A03"


def test_two_cards_of_a_day_differ():
    assert reel_for("KB04-261112-B01", ["61112A03"]) == "61112B01"


def test_a_clash_gets_a_reel_that_no_regular_card_can_have():
    taken = ["61112A03"]  # ten years earlier
    for expected in ("KB043001", "KB043002", "KB043003"):
        assert reel_for("KB04-361112-A03", taken) == expected
        taken.append(expected)


@pytest.mark.parametrize(
    ("name", "reel"),
    [
        ("kb04-261112-a03", "KB042001"),
        ("A001_C002", "A001C001"),
        ("1234", "X1234001"),
        ("Übung", "UBUNG001"),
        ("---", "CARD001"),
        ("", "CARD001"),
        ("AX", "AX001"),
    ],
)
def test_a_name_that_does_not_fit_gets_its_letters_and_a_count(name, reel):
    assert reel_for(name, []) == reel


def test_taken_reels_are_compared_without_regard_to_case():
    assert reel_for("AX", ["ax001"]) == "AX002"


def test_the_count_outgrows_the_name():
    taken = {f"AX{number:03}" for number in range(1, 1000)}
    assert reel_for("AX", taken) == "AX1000"


NAMES = st.text(max_size=20) | st.sampled_from(["BARS", "BL", "KB04-261112-A03", "KB04-361112-A03"])


@given(st.lists(NAMES, max_size=30))
def test_every_reel_is_legal_and_no_two_are_the_same(names):
    taken = []
    for name in names:
        reel = reel_for(name, taken)
        assert re.fullmatch("[A-Z0-9]{1,8}", reel) and reel not in RESERVED and reel not in taken
        taken.append(reel)
