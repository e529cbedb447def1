"""Costly answers are worked out once for a version, and never believed for too long."""

import pytest

from review import remembered
from review.remembered import Remembered


@pytest.fixture
def clock(monkeypatch):
    """What the time is, in seconds; to be set."""
    now = [0.0]
    monkeypatch.setattr(remembered.time, "monotonic", lambda: now[0])
    return now


def test_it_works_out_an_answer_once_for_a_version(clock):
    kept, asked = Remembered(most=2), []
    for version in ("a", "a", "b", "b"):
        assert kept.get("key", version, lambda version=version: asked.append(version) or version) == version
    assert asked == ["a", "b"]


def test_an_answer_is_worked_out_again_when_it_is_too_old(clock):
    kept, answers = Remembered(most=2, seconds=60), iter("xyz")
    assert kept.get("key", 1, lambda: next(answers)) == "x"
    clock[0] = 59.9
    assert kept.get("key", 1, lambda: next(answers)) == "x"
    clock[0] = 60.0
    assert kept.get("key", 1, lambda: next(answers)) == "y"


def test_what_was_asked_longest_ago_is_forgotten_first(clock):
    kept, answers = Remembered(most=2), iter(range(10))
    for key in ("one", "two", "one", "three"):
        kept.get(key, 1, lambda: next(answers))
    assert [kept.get(key, 1, lambda: next(answers)) for key in ("one", "three", "two")] == [0, 2, 3]


def test_a_failure_is_not_remembered(clock):
    kept = Remembered(most=2)
    with pytest.raises(ZeroDivisionError):
        kept.get("key", 1, lambda: 1 // 0)
    assert kept.get("key", 1, lambda: "there") == "there"
