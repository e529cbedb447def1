"""The wipe question, weighed. The usual rule (three copies, two devices, one elsewhere) is common practice; the rest
is the house's own."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.wiping import KnownCopy, WipeRule, may_wipe

NOON = datetime(2026, 11, 12, 12, tzinfo=UTC)
DESK = KnownCopy("desk drive", "fs:1", False, NOON)
SHUTTLE = KnownCopy("shuttle", "fs:2", False, NOON + timedelta(hours=1))
VAULT = KnownCopy("vault", "fs:3", True, NOON + timedelta(hours=2))


def ask(*copies, rule=None, state=(), vouched=True, original_differs=False):
    return may_wipe(rule or WipeRule(), state=state, vouched=vouched, original_differs=original_differs, copies=copies)


def test_it_works():
    answer = ask(DESK, SHUTTLE, VAULT)
    assert answer.may
    assert answer.counted == (VAULT, SHUTTLE, DESK)
    assert answer.line == (
        "Yes by this production's rule (3 proven copies on at least 2 devices, 1 of them elsewhere), as proven on "
        "vault (12 Nov 2026 14:00), shuttle (12 Nov 2026 13:00), desk drive (12 Nov 2026 12:00)."
    )


@pytest.mark.parametrize(
    ("copies", "about", "reason"),
    [
        ((), {}, "0 copies are proven of 3"),
        ((DESK,), {}, "1 copy is proven of 3"),
        ((DESK, VAULT), {}, "2 copies are proven of 3"),
        (
            (DESK, SHUTTLE, KnownCopy("vault", "fs:3", True, None)),
            {},
            "2 copies are proven of 3; none is kept elsewhere",
        ),
        ((DESK, SHUTTLE, KnownCopy("desk two", "fs:9", False, NOON)), {}, "none is kept elsewhere"),
        ((VAULT, VAULT, VAULT), {}, "they are on 1 device, not 2"),
        ((DESK, SHUTTLE, VAULT), {"state": ["it is held"]}, "it is held"),
        ((DESK, SHUTTLE, VAULT), {"vouched": False}, "nothing made from the camera's own card proves the copies"),
        ((DESK, SHUTTLE, VAULT), {"original_differs": True}, "the camera's card holds something else"),
        (
            (DESK, SHUTTLE, VAULT, KnownCopy("old tape", "fs:4", True, NOON, failed=True)),
            {},
            "the copy on old tape is not the same as the card, or is gone",
        ),
        ((DESK, SHUTTLE, VAULT), {"rule": WipeRule(3, 2, 2)}, "only 1 is kept elsewhere"),
    ],
)
def test_not_yet_because(copies, about, reason):
    answer = ask(*copies, **about)
    assert not answer.may
    assert answer.line.startswith("Not yet, because ") and reason in answer.line


def test_a_production_may_ask_for_less():
    assert ask(DESK, rule=WipeRule(1, 1, 0)).may


def test_a_proof_that_is_too_old_is_said():
    late = KnownCopy("vault", "fs:3", True, NOON, overdue=True)
    assert ask(DESK, SHUTTLE, late).line.endswith("Some of these proofs are older than they should be.")


copies = st.lists(
    st.builds(
        KnownCopy,
        st.just("m"),
        st.sampled_from(["a", "b", "c"]),
        st.booleans(),
        st.none() | st.just(NOON),
        st.booleans(),
    ),
    max_size=6,
)


@given(copies, st.integers(1, 4), st.integers(1, 3), st.integers(0, 2), st.booleans())
def test_yes_is_said_only_of_what_meets_the_rule(copies, wanted, devices, elsewhere, vouched):
    answer = ask(*copies, rule=WipeRule(wanted, devices, elsewhere), vouched=vouched)
    good = [copy for copy in copies if copy.proven_at and not copy.failed]
    assert answer.may == (
        vouched
        and not any(copy.failed for copy in copies)
        and len(good) >= wanted
        and len({copy.device for copy in good}) >= devices
        and sum(copy.elsewhere for copy in good) >= elsewhere
    )
    assert bool(answer.reasons) != answer.may


@given(copies, st.integers(0, 5))
def test_a_copy_that_fails_never_turns_no_into_yes(copies, which):
    before = ask(*copies)
    if which < len(copies):
        copies[which] = KnownCopy("m", "a", False, NOON, failed=True)
        assert not ask(*copies).may or before.may
        assert not ask(*copies).may
