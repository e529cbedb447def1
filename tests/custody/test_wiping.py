"""The wipe question as pages, reports and scripts ask it. The weighing itself is in cards/test_wiping.py."""

from datetime import timedelta

import pytest
from django.utils import timezone

from review.cards.wiping import WipeRule
from review.custody import wiping
from review.models import Card, Copy, Medium
from review.refusals import NotAllowed, Refusal
from tests.conftest import api_of, browser_of, see


@pytest.fixture
def kept(a_clip, cast):
    """A card proven by its checksums, with three copies that meet the usual rule."""
    card = a_clip.card
    card.proof = Card.Proof.CHECKSUMS
    card.save()
    for label, elsewhere in [("desk", False), ("shuttle", False), ("vault", True)]:
        medium = Medium.objects.create(
            production=cast.kb04, volume=f"named:{label}", label=label, kind="disk", elsewhere=elsewhere
        )
        now = timezone.now()
        card.copies.create(
            medium=medium, folder=f"/nowhere/{label}", state=Copy.State.SAME, proven_at=now, checked_at=now
        )
    return card


def test_it_works(kept, cast):
    assert wiping.answer(kept).may
    page = see(cast.logger, f"/cards/{kept.id}/")
    assert "Yes by this production" in page and "Rushlight never wipes anything" in page
    assert "your rule for wiping is met" in see(cast.logger, "/cards/?production=KB04")
    assert api_of(cast.logger).get(f"/api/v1/cards/{kept.id}/").json()["wipe"]["may"] is True


def test_when_a_copy_fails_every_page_says_no(kept, cast):
    kept.copies.filter(medium__label="shuttle").update(state=Copy.State.FAILED)
    words = "the copy on shuttle is not the same as the card, or is gone"
    assert words in see(cast.logger, f"/cards/{kept.id}/")
    assert "a copy went bad (shuttle)" in see(cast.logger, "/cards/?production=KB04")
    said = api_of(cast.logger).get(f"/api/v1/cards/{kept.id}/").json()["wipe"]
    assert said["may"] is False and words in said["line"]


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (Card.State.FOUND, "it has not been checked"),
        (Card.State.CHECKING, "it is being checked"),
        (Card.State.HELD, "it is held"),
        (Card.State.ACCEPTED, "a person accepted it although"),
    ],
)
def test_a_card_that_is_not_verified_is_not_to_be_wiped(kept, state, words):
    kept.state = state
    kept.save()
    assert words in wiping.answer(kept).line


@pytest.mark.parametrize("proof", [Card.Proof.PARTIAL, Card.Proof.NONE])
def test_copies_that_only_agree_with_each_other_prove_nothing(kept, proof):
    kept.proof = proof
    kept.save()
    assert "nothing made from the camera's own card" in wiping.answer(kept).line
    reader = Medium.objects.create(
        production=kept.production, volume="named:reader", label="reader", kind="camera-card"
    )
    kept.copies.create(medium=reader, folder="/nowhere/x", is_original=True, state=Copy.State.SAME)
    assert wiping.answer(Card.objects.get()).may


def test_a_retired_medium_does_not_count(kept):
    Medium.objects.filter(label="vault").update(retired_at=timezone.now())
    assert "2 copies are proven of 3" in wiping.answer(kept).line


def test_a_proof_that_is_overdue_is_said(kept):
    kept.copies.update(checked_at=timezone.now() - timedelta(days=400))
    assert wiping.answer(kept).line.endswith("Some of these proofs are older than they should be.")


def test_a_production_sets_its_own_rule(kept, cast):
    wiping.set_rule(cast.producer, cast.kb04, WipeRule(4, 2, 1))
    assert "3 copies are proven of 4" in wiping.answer(Card.objects.get()).line
    for rule in (WipeRule(0, 1, 0), WipeRule(3, 4, 0), WipeRule(3, 0, 0), WipeRule(2, 2, 3), WipeRule(10, 2, 1)):
        with pytest.raises(Refusal):
            wiping.set_rule(cast.owner, cast.kb04, rule)
    with pytest.raises(NotAllowed):
        wiping.set_rule(cast.logger, cast.kb04, WipeRule())


def test_asking_for_many_cards_is_few_queries(kept, make_clip, django_assert_max_num_queries):
    for number in range(2, 12):
        make_clip(card=f"KB04-261112-A{number:02}")
    with django_assert_max_num_queries(4):
        wiping.answers(Card.objects.all())


def test_the_rules_page_sets_both_rules(cast):
    page = browser_of(cast.producer)
    page.post("/rules/?production=KB04", {"name_rule": "{production} {number:3}"})
    page.post("/rules/?production=KB04", {"copies": "2", "devices": "2", "elsewhere": "1"})
    said = see(cast.logger, "/rules/?production=KB04")
    assert "KB04 003" in said and "2 proven copies on at least 2 devices, 1 of them elsewhere" in said
    assert "Set the wiping rule" not in said and "Set the wiping rule" in see(cast.producer, "/rules/?production=KB04")
    refused = page.post("/rules/?production=KB04", {"copies": "x"}, follow=True)
    assert refused.status_code == 400 and b"Write a whole number" in refused.content
