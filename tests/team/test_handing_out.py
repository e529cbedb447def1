"""Handing out what was proposed: all that is free still, again when things change, never one frame to two people."""

import re
import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Activity, Split, Stint
from review.record import stints
from review.refusals import Refusal
from review.team import balance, handing_out, planning, stretches
from tests.seeing.test_coverage import see
from tests.splits import MINUTE, accept, given, lock_step, overlaps, plan

# What changed meanwhile -------------------------------------------------------------------------


def left_out(split):
    """Name of the clip of each piece that was left out, and why."""
    why = split.wanted["left_out"]
    return {piece.clip.name: why[str(piece.id)] for piece in split.pieces.filter(id__in=why)}


def test_what_was_taken_meanwhile_stays_where_it_is_and_the_rest_is_handed_out(cast, crew, shoot):
    split = plan(cast)
    taken = stints.take(cast.editor, shoot["A12-1"], 0, MINUTE)
    accepted = accept(cast, split)
    assert left_out(accepted) == {"A12-1": "editor holds it"}
    assert handing_out.left_out(accepted) == "KB04-261112-A01 A12-1 from 11:00:00:00 (editor holds it)"
    held = Stint.objects.filter(ended_at=None)
    assert held.count() == 12 and not overlaps() and list(held.filter(clip=shoot["A12-1"])) == [taken]
    done = Activity.objects.get(did="accepted")
    said = f"split {split.id}: 11 stretches to 2 people; left out: "
    assert done.words == said + "KB04-261112-A01 A12-1 from 11:00:00:00 (editor holds it)"


def test_many_that_are_left_out_are_counted(cast, crew, shoot):
    split = plan(cast)
    for name in sorted(shoot)[:7]:
        stints.take(cast.editor, shoot[name])
    assert re.fullmatch(
        r"(KB04-\S+ \S+ from \S+ \(editor holds it\)(, )?){5} and 2 more", handing_out.left_out(accept(cast, split))
    )


def test_when_everything_is_taken_meanwhile_nothing_is_handed_out_and_the_proposal_stays(cast, crew, shoot):
    split = plan(cast, cards=["KB04-261112-A01"])
    for name in ("A12-0", "A12-1", "A12-2"):
        stints.take(cast.editor, shoot[name])
    with pytest.raises(Refusal, match=r"Nothing of this can be handed out now: .*\(editor holds it\)\. Propose afresh"):
        accept(cast, split)
    split.refresh_from_db()
    assert split.state == "proposed" and Stint.objects.count() == 3


def test_a_split_that_was_accepted_first_is_told_and_nothing_is_handed_out(cast, crew, shoot):
    split, other = plan(cast), plan(cast, {"odd": 8}, cards=["KB04-261112-A01"])
    accept(cast, other)
    with pytest.raises(Refusal, match=rf"split {other.id} was handed out, and in it odd got something of KB04-\S+ A12"):
        accept(cast, split)
    assert Stint.objects.count() == 3


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


def test_what_the_absent_have_begun_moves_too_when_that_is_asked_for(cast, crew, shoot):
    accept(cast, plan(cast, {"ilse": 8, "bram": 8, "odd": 8}))
    theirs = {name: Stint.objects.filter(logger=crew[name]).first() for name in crew}
    for name in ("odd", "ilse"):
        see(crew[name], theirs[name].clip, (0, MINUTE))
    kept = plan(cast, again=True)
    told = {each.person.username: each for each in balance.balance(kept, balance.weigh(kept)).shares}
    assert told["odd"].is_away and told["odd"].held == told["odd"].begun == 9 * 60
    assert not told["ilse"].is_away and told["odd"].off == 0
    again = plan(cast, again=True, begun=True)  # odd is ill, ilse is here
    piece = again.pieces.get(clip=theirs["odd"].clip)
    assert (piece.in_frame, piece.out_frame) == (MINUTE, 10 * MINUTE)
    assert not again.pieces.filter(clip=theirs["ilse"].clip).exists()
    assert "odd" not in {each.person.username for each in balance.balance(again, balance.weigh(again)).shares}
    accept(cast, again)
    held = Stint.objects.filter(ended_at=None)
    assert not held.filter(logger=crew["odd"]).exists() and theirs["ilse"] in held and not overlaps()
    assert held.get(clip=theirs["odd"].clip).logger in (crew["ilse"], crew["bram"])


def test_what_the_absent_keep_because_it_was_not_chosen_is_not_said_to_be_begun(cast, crew, shoot):
    accept(cast, plan(cast, {"odd": 8}))
    again = plan(cast, again=True, days=["2026-11-12"])
    (odd,) = (each for each in balance.balance(again, balance.weigh(again)).shares if each.is_away)
    assert (odd.person, odd.held, odd.begun) == (crew["odd"], 6 * 600, 0)


def test_a_piece_says_who_holds_it_now(cast, crew, shoot):
    accept(cast, plan(cast, {"odd": 8}, cards=["KB04-261112-A01"]))
    weighed = balance.weigh(plan(cast, again=True))
    assert {each.piece.clip.name for each in weighed if each.holder == "odd"} == {"A12-0", "A12-1", "A12-2"}
    assert {each.holder for each in weighed} == {"odd", ""}


def test_a_new_days_cards_come_in(cast, crew, shoot, make_clip):
    accept(cast, plan(cast))
    for number in range(6):
        make_clip(f"A14-{number}", card="KB04-261114-A01", frames=10 * MINUTE, proxy_state="ready")
    accept(cast, plan(cast, {"ilse": 8, "bram": 8, "odd": 8}, again=True))
    held = Stint.objects.filter(ended_at=None)
    assert held.count() == 18 and not overlaps()
    assert sorted(held.filter(logger=person).count() for person in crew.values()) == [6, 6, 6]


def test_what_was_begun_since_the_proposal_stays_and_the_rest_is_handed_out(cast, crew, shoot):
    accept(cast, plan(cast))
    again = plan(cast, {"bram": 8, "odd": 8}, again=True)
    stint = Stint.objects.filter(logger=crew["ilse"]).first()
    see(crew["ilse"], stint.clip, (0, 100))
    accepted = accept(cast, again)
    assert left_out(accepted) == {stint.clip.name: "ilse has begun it"}
    held = Stint.objects.filter(ended_at=None)
    assert held.count() == 12 and not overlaps() and list(held.filter(logger=crew["ilse"])) == [stint]


def test_what_was_moved_by_hand_is_kept_when_somebody_begins_watching(cast, crew, shoot):
    accept(cast, plan(cast))
    again = plan(cast, {"bram": 8, "odd": 8}, again=True)
    theirs = Stint.objects.filter(logger=crew["ilse"])
    moved = again.pieces.get(clip=theirs.last().clip)
    planning.move(cast.producer, again, 1, {moved.id: "ilse"})
    see(crew["ilse"], theirs.first().clip, (0, 100))
    accept(cast, again)
    assert set(theirs.filter(ended_at=None)) == {theirs.first(), theirs.last()}


def test_what_its_own_logger_began_and_is_to_keep_is_not_left_out(cast, crew, shoot):
    accept(cast, plan(cast))
    again = plan(cast, again=True)  # everybody keeps what they have
    stint = Stint.objects.filter(logger=crew["ilse"]).first()
    see(crew["ilse"], stint.clip, (0, 100))
    assert left_out(accept(cast, again)) == {} and Stint.objects.filter(ended_at=None).count() == 12


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


@pytest.mark.django_db(transaction=True)
def test_loggers_who_begin_while_a_split_is_accepted_keep_it_or_have_lost_it(cast, crew, shoot):
    accept(cast, plan(cast))
    again = plan(cast, {"odd": 8}, again=True)
    watched = {name: Stint.objects.filter(logger=crew[name]).first() for name in ("ilse", "bram")}

    def work(at):
        if at == 0:
            return handing_out.accept(cast.producer, Split.objects.get(id=again.id), 1)
        name = ("ilse", "bram")[at - 1]
        return see(crew[name], watched[name].clip, (0, 100))

    lock_step(3, work)
    again.refresh_from_db()
    assert again.state == "accepted" and not overlaps()
    held = Stint.objects.filter(ended_at=None)
    assert held.count() == 12
    for name, stint in watched.items():
        kept = held.filter(id=stint.id).exists()
        assert kept is (left_out(again).get(stint.clip.name) == f"{name} has begun it")


def test_what_somebody_keeps_in_a_new_split_rests_no_longer(cast, crew, shoot):
    accept(cast, plan(cast, {"ilse": 8}))
    Stint.objects.update(touched_at=timezone.now() - timedelta(days=30))
    accept(cast, plan(cast, {"ilse": 8}, again=True))
    held = Stint.objects.filter(ended_at=None)
    assert held.exists() and not held.filter(touched_at__lt=stints.idle_before(cast.kb04)).exists()
