"""A person trusts a card that is held, and says why."""

import subprocess

import pytest

from review.custody import intake
from review.models import Card
from review.refusals import NotAllowed, NotFound, Refusal
from tests.conftest import check, film, work_off

NAME = "KB04-261112-A01"
REASON = "The second recording was started by mistake."


@pytest.fixture
def held(cast, root):
    """A card that is held for an empty file, with one good clip."""
    film(root / NAME / "A001C001.MOV")
    (root / NAME / "A001C002.MOV").touch()
    card = check(root / NAME, cast.kb04)
    assert card.state == "held"
    return card


def test_it_works(held, cast):
    intake.accept(held, cast.media_manager, f"  {REASON} ")
    assert (held.state, held.accepted_by, held.accepted_reason) == ("accepted", cast.media_manager, REASON)
    assert held.accepted_at and held.findings  # what was found stays on record
    work_off()
    assert held.clips.get().proxy_state == "ready"


@pytest.mark.parametrize("reason", ["", "   ", "ok", "\n\n\n"])
def test_it_needs_a_reason(held, cast, reason):
    with pytest.raises(Refusal, match="Say why this card may be trusted") as refused:
        intake.accept(held, cast.media_manager, reason)
    assert refused.value.field == "reason"
    assert Card.objects.get().state == "held"


def test_a_card_that_is_not_held_cannot_be_accepted(make_card, cast):
    with pytest.raises(Refusal, match="KB04-261112-A01 is not held now, so there is nothing to accept"):
        intake.accept(make_card().card, cast.owner, REASON)


def test_accepting_twice_keeps_the_first_persons_name(held, cast):
    intake.accept(held, cast.media_manager, REASON)
    with pytest.raises(Refusal, match="is not held now"):
        intake.accept(held, cast.owner, "I say so too.")
    assert Card.objects.get().accepted_by == cast.media_manager


def test_a_second_check_with_the_same_findings_keeps_the_acceptance(held, cast, root):
    intake.accept(held, cast.media_manager, REASON)
    again = check(root / NAME, cast.kb04)
    assert (again.state, again.accepted_by, again.accepted_reason) == ("accepted", cast.media_manager, REASON)


def test_a_new_finding_drops_the_acceptance(held, cast, root):
    intake.accept(held, cast.media_manager, REASON)
    (root / NAME / "A001C003.MOV").touch()
    assert check(root / NAME, cast.kb04).state == "held"


def test_another_finding_in_place_of_the_accepted_one_drops_it_too(held, cast, root):
    intake.accept(held, cast.media_manager, REASON)
    (root / NAME / "A001C002.MOV").write_text("not footage")
    assert check(root / NAME, cast.kb04).state == "held"


def test_a_card_whose_known_fault_is_mended_is_verified(held, cast, root):
    intake.accept(held, cast.media_manager, REASON)
    film(root / NAME / "A001C002.MOV")
    mended = check(root / NAME, cast.kb04)
    assert (mended.state, [each["code"] for each in mended.findings]) == ("verified", ["no-checksums"])


def test_a_fault_in_what_was_right_when_it_was_accepted_holds_it_again(held, cast, root):
    intake.accept(held, cast.media_manager, REASON)
    film(root / NAME / "A001C001.MOV", frames=20)
    assert "altered-since" in [each["code"] for each in check(root / NAME, cast.kb04).findings]


def test_what_was_altered_and_then_proven_is_said(make_card, cast, root):
    taken = make_card(NAME)
    film(taken.folder / "CLIP" / "A001C001.MOV", frames=20)
    assert check(taken.folder, cast.kb04).state == "held"
    listed = subprocess.run(["md5sum", "CLIP/A001C001.MOV"], cwd=taken.folder, capture_output=True, check=True).stdout
    (root / f"{NAME}.md5").write_bytes(listed)
    proven = check(taken.folder, cast.kb04)
    assert (proven.state, proven.proof) == ("verified", "checksums")
    assert "mended-since" in [finding["code"] for finding in proven.findings]


def test_an_acceptance_does_not_come_back_once_it_was_dropped(held, cast, root):
    intake.accept(held, cast.media_manager, REASON)
    (root / NAME / "A001C003.MOV").touch()
    check(root / NAME, cast.kb04)
    again = check(root / NAME, cast.kb04)
    assert again.state == "held"  # two findings now, of which a person saw one
    assert (again.accepted_by, again.accepted_reason) == (cast.media_manager, REASON)  # which stays on record


def test_more_of_what_is_told_as_a_number_is_new(cast, root):
    """Of many findings alike the first 50 are told and the rest counted."""
    film(root / NAME / "A001C001.MOV")
    for number in range(60):
        (root / NAME / f"B{number:03}.TXT").touch()
    intake.accept(check(root / NAME, cast.kb04), cast.media_manager, REASON)
    (root / NAME / "B999.TXT").touch()
    assert check(root / NAME, cast.kb04).state == "held"


@pytest.mark.parametrize("role", ["logger", "editor", "producer"])
def test_who_does_not_answer_for_cards_does_not_accept_them(held, cast, role):
    with pytest.raises(NotAllowed, match="To accept a held card in KB04 you must be a media manager or an owner"):
        intake.accept(held, getattr(cast, role), REASON)
    assert Card.objects.get().state == "held"


def test_a_stranger_accepts_nothing(held, cast):
    with pytest.raises(NotFound):
        intake.accept(held, cast.stranger, REASON)
