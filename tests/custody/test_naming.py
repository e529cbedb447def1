"""A production's own naming rule, from the folder's name to the card."""

import pytest

from review.custody import intake, naming
from review.models import Card
from review.refusals import NotAllowed, Refusal
from tests.conftest import check, film

RULE = "{date:DDMMYYYY}_{production}_{camera}{number:3}"


@pytest.fixture
def ruled(cast):
    naming.set_rule(cast.producer, cast.kb04, f" {RULE} ")
    cast.kb04.refresh_from_db()
    return cast.kb04


def test_it_works(ruled, root):
    film(root / "12112026_KB04_A003" / "A.MOV")
    card = check(root / "12112026_KB04_A003", ruled)
    assert card.state == "verified"
    assert (str(card.shoot_date), card.camera, card.number, card.reel) == ("2026-11-12", "A", 3, "61112A03")


def test_a_folder_is_found_by_the_rule_of_its_production(ruled, root):
    film(root / "on a shelf" / "12112026_KB04_A003" / "A.MOV")
    film(root / "NR07-261112-A01" / "A.MOV")
    intake.scan()
    assert {(card.production.code, card.name) for card in Card.objects.all()} == {
        ("KB04", "12112026_KB04_A003"),
        ("NR07", "NR07-261112-A01"),
    }


def test_a_misfit_is_held_and_told_by_that_rule(ruled, root):
    film(root / "30022026_KB04_A003" / "A.MOV")
    card = check(root / "30022026_KB04_A003", ruled)
    assert card.state == "held"
    (finding,) = [each for each in card.findings if each["code"] == "name-misfit"]
    assert "there is no 30 February" in finding["what"]
    assert "28022026_KB04_A003" in finding["next"]


def test_a_rule_without_the_production_serves_while_one_production_has_it(cast, root):
    naming.set_rule(cast.owner, cast.kb04, "CARD {number:3}")
    assert naming.read("CARD 007")[0] == cast.kb04
    naming.set_rule(cast.stranger, cast.nr07, "CARD {number:3}")
    assert naming.read("CARD 007") is None


def test_an_empty_rule_is_the_usual_one(ruled, cast):
    naming.set_rule(cast.owner, ruled, "")
    assert naming.read("KB04-261112-A01")[0] == ruled


def test_a_rule_that_cannot_be_used_is_refused(cast):
    with pytest.raises(Refusal, match="no part of a name"):
        naming.set_rule(cast.owner, cast.kb04, "{reel}")
    with pytest.raises(NotAllowed):
        naming.set_rule(cast.logger, cast.kb04, RULE)
