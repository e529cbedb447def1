"""A person's own keys and measures."""

import pytest

from review.crew import habits
from review.refusals import Refusal


def test_it_works(cast):
    assert habits.of(cast.logger) == {"keys": {}, "catch_seconds": 10}
    habits.keep(cast.logger, keys={"markIn": ["["], "toggle": ["Space", "Shift K"], "loop": []})
    habits.keep(cast.logger, catch_seconds=15)
    cast.logger.refresh_from_db()
    assert habits.of(cast.logger) == {
        "keys": {"markIn": ["["], "toggle": ["Space", "Shift K"], "loop": []},
        "catch_seconds": 15,
    }
    assert habits.of(cast.editor)["catch_seconds"] == 10


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"markIn": ["I"], "markOut": ["I"]}, "cannot do two things"),
        ({"markIn": ["two keys"]}, "is no key"),
        ({"markIn": [7]}, "is no key"),
        ({"mark in": ["I"]}, "nothing that a key can do"),
        ({"markIn": "I"}, "nothing that a key can do"),
        ({f"intent{'x' * (n % 30)}{chr(97 + n % 26)}{'y' * (n // 26)}": [] for n in range(500)}, "is the most"),
    ],
)
def test_keys_that_cannot_be_are_refused(cast, keys, words):
    with pytest.raises(Refusal, match=words):
        habits.keep(cast.logger, keys=keys)
    assert habits.of(cast.logger)["keys"] == {}


@pytest.mark.parametrize("seconds", [0, 601])
def test_the_catch_has_bounds(cast, seconds):
    with pytest.raises(Refusal, match="1 to 600"):
        habits.keep(cast.logger, catch_seconds=seconds)
