"""Handing out what was proposed: all of it or nothing, again when things change, and never one frame to two people."""

import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Split, Stint
from review.record import stints
from review.refusals import Refusal
from review.team import handing_out, stretches
from tests.seeing.test_coverage import see
from tests.splits import MINUTE, accept, given, lock_step, overlaps, plan

# What changed meanwhile -------------------------------------------------------------------------


def test_what_was_taken_meanwhile_is_told_and_nothing_is_handed_out(cast, crew, shoot):
    split = plan(cast)
    stints.take(cast.editor, shoot["A12-1"], 0, MINUTE)
    with pytest.raises(Refusal, match=r"editor holds 11:00:00:00 to 11:01:00:00 of KB04-261112-A01 A12-1\. Nothing"):
        accept(cast, split)
    assert Stint.objects.count() == 1
    split.refresh_from_db()
    assert split.state == "proposed"


def test_who_left_meanwhile_is_told(cast, crew, shoot):
    split = plan(cast)
    crew["ilse"].memberships.all().delete()
    with pytest.raises(Refusal, match="ilse cannot take footage any more: give their pieces to others"):
        accept(cast, split)


# Splitting again --------------------------------------------------------------------------------


def test_when_somebody_is_ill_what_is_begun_stays_and_the_rest_moves(cast, crew, shoot):
    accept(cast, plan(cast, {"ilse": 8, "bram": 8, "odd": 8}))
    begun = Stint.objects.filter(logger=crew["odd"]).first()
    see(crew["odd"], begun.clip, (0, MINUTE))
    marked = Stint.objects.filter(logger=crew["ilse"]).first()
    selecting.put(crew["ilse"], uuid.uuid4(), marked.clip, Mark(0, 25), 0)
    again = plan(cast, again=True)  # odd is ill
    assert not again.pieces.filter(clip__in=[begun.clip, marked.clip]).exists()
    assert again.pieces.values("clip").distinct().count() == 10
    assert "odd" not in given(again)
    accept(cast, again)
    held = Stint.objects.filter(ended_at=None)
    assert held.values("clip").distinct().count() == 12 and not overlaps()
    assert list(held.filter(logger=crew["odd"])) == [begun]
    assert marked in held
    assert set(Stint.objects.exclude(ended_at=None).values_list("ended_why", flat=True)) == {
        f"moved in split {again.id}"
    }


def test_a_new_days_cards_come_in(cast, crew, shoot, make_clip):
    accept(cast, plan(cast))
    for number in range(6):
        make_clip(f"A14-{number}", card="KB04-261114-A01", frames=10 * MINUTE, proxy_state="ready")
    accept(cast, plan(cast, {"ilse": 8, "bram": 8, "odd": 8}, again=True))
    held = Stint.objects.filter(ended_at=None)
    assert held.count() == 18 and not overlaps()
    assert sorted(held.filter(logger=person).count() for person in crew.values()) == [6, 6, 6]


def test_what_was_begun_since_the_proposal_is_told(cast, crew, shoot):
    accept(cast, plan(cast))
    again = plan(cast, {"bram": 8, "odd": 8}, again=True)
    stint = Stint.objects.filter(logger=crew["ilse"]).first()
    see(crew["ilse"], stint.clip, (0, 100))
    with pytest.raises(Refusal, match=f"ilse has begun .* of {stint.clip.name}. Split again: what is begun stays"):
        accept(cast, again)
    assert Stint.objects.filter(ended_at=None).count() == 12


def test_what_was_handed_back_since_the_proposal_does_no_harm(cast, crew, shoot):
    accept(cast, plan(cast))
    again = plan(cast, {"bram": 8, "odd": 8}, again=True)
    stints.hand_back(crew["ilse"], Stint.objects.filter(logger=crew["ilse"]).first())
    accept(cast, again)
    assert Stint.objects.filter(ended_at=None).count() == 12 and not overlaps()


# At once ----------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_two_splits_of_the_same_footage_accepted_at_once_never_both_hold(cast, crew, shoot):
    splits = [plan(cast), plan(cast, {"odd": 8, "ilse": 8})]
    told = lock_step(2, lambda at: handing_out.accept(cast.producer, Split.objects.get(id=splits[at].id), 1))
    assert sorted(isinstance(each, Refusal) for each in told) == [False, True]
    assert Stint.objects.filter(ended_at=None).count() == 12 and not overlaps()


@pytest.mark.django_db(transaction=True)
def test_loggers_who_take_while_a_split_is_accepted_never_get_the_same_frames(cast, crew, shoot):
    split = plan(cast, {"ilse": 8})
    crew_ = [crew["bram"], crew["odd"], cast.editor]

    def work(at):
        if at == 0:
            return handing_out.accept(cast.producer, Split.objects.get(id=split.id), 1)
        return stretches.take_stretch(crew_[at - 1], cast.kb04, 15)

    lock_step(4, work)
    assert Stint.objects.filter(ended_at=None).exists() and not overlaps()


def test_what_somebody_keeps_in_a_new_split_rests_no_longer(cast, crew, shoot):
    accept(cast, plan(cast, {"ilse": 8}))
    Stint.objects.update(touched_at=timezone.now() - timedelta(days=30))
    accept(cast, plan(cast, {"ilse": 8}, again=True))
    held = Stint.objects.filter(ended_at=None)
    assert held.exists() and not held.filter(touched_at__lt=stints.idle_before(cast.kb04)).exists()
