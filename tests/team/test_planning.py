"""Planning a split: what is free and unwatched is proposed evenly, moved by hand, and accepted as stints."""

import json
import time
import uuid

import pytest

from review.marking import selecting, taking_notes
from review.marking.selecting import Mark
from review.media import lanes
from review.models import Activity, Card, Clip, Piece, SecondLook, Split, Stint
from review.record import stints
from review.refusals import Conflict, NotAllowed, NotFound, Refusal
from review.team import balance, handing_out, planning
from review.work.workshop import media_folder
from tests.seeing.test_coverage import see
from tests.splits import MINUTE, accept, given, plan

# Proposing --------------------------------------------------------------------------------------


def test_it_works(cast, crew, shoot):
    split = plan(cast)
    told = given(split)
    assert {name: len(theirs) for name, theirs in told.items()} == {"ilse": 6, "bram": 6}
    assert sorted(told["ilse"] + told["bram"]) == sorted(shoot)
    assert not Stint.objects.exists()  # nobody holds anything yet
    accept(cast, split)
    assert Stint.objects.filter(ended_at=None, split=split).count() == 12
    mine = Stint.objects.filter(logger=crew["ilse"], ended_at=None).values_list("clip__name", flat=True)
    assert list(mine) == told["ilse"]
    done = Activity.objects.get(did="accepted")
    assert (done.person, done.about) == (cast.producer, "stint")  # what open pages of stints listen for
    assert done.words == f"split {split.id}: 12 stretches to 2 people"


def test_each_is_kept_to_a_day(cast, crew, shoot):
    told = given(plan(cast))
    assert sorted({name[1:3] for name in theirs}.pop() for theirs in told.values()) == ["12", "13"]
    assert all(len({name[1:3] for name in theirs}) == 1 for theirs in told.values())


def test_each_is_kept_to_the_story_that_the_field_notes_tell(cast, crew, shoot):
    lines = ["date,timecode,camera,text,tag"]
    for day in ("12", "13"):
        for camera, tag in (("A", "the boat"), ("B", "the net")):
            lines += [f"2026-11-{day},{10 + hour}:04:00:00,{camera},seen,{tag}" for hour in range(3)]
    taking_notes.take(cast.producer, cast.kb04, "\n".join(lines).encode())
    told = given(plan(cast))
    assert sorted({name[0] for name in theirs}.pop() for theirs in told.values()) == ["A", "B"]
    assert all(len({name[0] for name in theirs}) == 1 for theirs in told.values())
    assert {name[0] for name in given(plan(cast, tags=["the net"]))["ilse"]} == {"B"}


def test_only_what_was_chosen_is_proposed(cast, crew, shoot):
    chosen = plan(cast, days=["2026-11-13"], cameras=["A"])
    assert set(chosen.pieces.values_list("clip__name", flat=True)) == {"A13-0", "A13-1", "A13-2"}
    assert plan(cast, {"ilse": 8}, cards=["KB04-261112-B01"]).pieces.count() == 3


def test_what_was_seen_or_is_held_is_not_proposed(cast, crew, shoot):
    see(cast.editor, shoot["A12-0"], (0, 10 * MINUTE))
    see(cast.editor, shoot["A12-1"], (0, 4 * MINUTE))
    stints.take(cast.editor, shoot["A12-2"], 0, 6 * MINUTE)
    pieces = plan(cast, {"ilse": 8}, days=["2026-11-12"], cameras=["A"]).pieces.order_by("clip")
    assert list(pieces.values_list("clip__name", "in_frame", "out_frame")) == [
        ("A12-1", 4 * MINUTE, 10 * MINUTE),
        ("A12-2", 6 * MINUTE, 10 * MINUTE),
    ]


def test_a_clip_seen_in_the_middle_stays_one_piece(cast, crew, shoot):
    see(cast.editor, shoot["A12-0"], (MINUTE, 2 * MINUTE), (5 * MINUTE, 6 * MINUTE))
    split = plan(cast, {"ilse": 8}, cards=["KB04-261112-A01"])
    piece = split.pieces.get(clip=shoot["A12-0"])
    assert (piece.in_frame, piece.out_frame) == (0, 10 * MINUTE)
    assert {each.piece.id: each.seconds for each in balance.weigh(split)}[piece.id] == 8 * 60


def test_what_somebody_holds_counts_as_theirs(cast, crew, make_clip, shoot):
    stints.hand_out(cast.producer, crew["ilse"], make_clip("HELD", card="KB04-261114-A01", frames=40 * MINUTE))
    split = plan(cast)
    assert {name: len(theirs) for name, theirs in given(split).items()} == {"ilse": 4, "bram": 8}
    told = balance.balance(split, balance.weigh(split))
    assert told.longest_off == pytest.approx(0)
    assert {each.person.username: each.total for each in told.shares} == {"ilse": 80 * 60, "bram": 80 * 60}


def test_who_has_half_the_hours_gets_half(cast, crew, shoot):
    told = given(plan(cast, {"ilse": 8, "bram": 4}))
    assert {name: len(theirs) for name, theirs in told.items()} == {"ilse": 8, "bram": 4}


def test_no_more_is_handed_out_than_the_hours_hold_and_the_urgent_first(cast, crew, shoot):
    split = plan(cast, {"ilse": 0.5, "bram": 0.5}, urgent_days=["2026-11-13"])
    assert split.pieces.count() == 6
    assert {name[1:3] for theirs in given(split).values() for name in theirs} == {"13"}
    assert split.wanted["rest"] == 3600
    assert plan(cast, {"ilse": 0.5, "bram": 0.5}, minutes_an_hour=0).pieces.count() == 12
    assert plan(cast, {"ilse": 1, "bram": 1}, minutes_an_hour=30).pieces.count() == 6


def test_a_long_clip_is_cut_where_it_is_quiet_and_in_no_select(cast, crew, make_clip):
    clip = make_clip("LONG", frames=120 * MINUTE, proxy_state="ready", has_lanes=True)
    folder = media_folder(clip.id)
    folder.mkdir(parents=True)
    said = {"speech": [[0, 60 * MINUTE + 500], [60 * MINUTE + 700, 120 * MINUTE]], "silence": [], "cuts": []}
    (folder / lanes.FILE).write_text(json.dumps(said))
    one, other = plan(cast).pieces.order_by("in_frame")
    assert one.out_frame == other.in_frame and 60 * MINUTE + 500 <= one.out_frame <= 60 * MINUTE + 700
    selecting.put(cast.logger, uuid.uuid4(), clip, Mark(60 * MINUTE + 400, 60 * MINUTE + 800), 0)
    one, other = plan(cast).pieces.order_by("in_frame")
    assert one.out_frame == other.in_frame
    assert one.out_frame not in range(60 * MINUTE + 401, 60 * MINUTE + 800)
    assert {one.logger.username, other.logger.username} == {"ilse", "bram"}


def test_a_second_look_is_for_somebody_else(cast, crew, shoot):
    see(crew["ilse"], shoot["A12-0"], (0, 10 * MINUTE))
    for name in ("A12-0", "A12-1"):
        SecondLook.objects.create(clip=shoot[name], in_frame=0, out_frame=5 * MINUTE, asked_by=cast.producer)
    split = plan(cast, cards=["KB04-261112-A01"], seconds=True)
    pieces = {(piece.clip.name, piece.second): piece for piece in split.pieces.select_related("clip", "logger")}
    assert pieces["A12-0", True].logger == crew["bram"]
    assert pieces["A12-0", True].out_frame == 5 * MINUTE
    assert pieces["A12-1", True].logger != pieces["A12-1", False].logger
    accept(cast, split)
    assert Stint.objects.filter(second=True, ended_at=None).count() == 2
    see(crew["bram"], shoot["A12-0"], (0, 10 * MINUTE))
    again = plan(cast, cards=["KB04-261112-A01"], seconds=True, again=True)
    assert not again.pieces.filter(clip=shoot["A12-0"]).exists()  # two have seen it


def test_nothing_to_hand_out_is_told(cast, crew, shoot):
    with pytest.raises(Refusal, match="nothing to hand out in what you chose: all of it is seen or held"):
        plan(cast, cards=["KB04-261199-Z01"])
    accept(cast, plan(cast, {"ilse": 8}))
    with pytest.raises(Refusal, match="nothing to hand out"):
        plan(cast)


@pytest.mark.parametrize(
    ("hours", "wanted", "words"),
    [
        ({}, {}, "Choose at least one logger"),
        ({"nobody": 8}, {}, "'nobody' cannot take footage of KB04"),
        ({"media-manager": 8}, {}, "'media-manager' cannot take footage"),
        ({"ilse": 0}, {}, "ilse cannot have 0 hours"),
        ({"ilse": 25}, {}, "ilse cannot have 25 hours"),
        ({"ilse": 8}, {"days": ["12.11.2026"]}, "'12.11.2026' is not a date"),
        ({"ilse": 8}, {"minutes_an_hour": -1}, "Minutes of footage to an hour go from 1 to 600"),
    ],
)
def test_what_cannot_be_is_refused(cast, crew, shoot, hours, wanted, words):
    with pytest.raises(Refusal, match=words):
        planning.propose(cast.producer, cast.kb04, wanted, hours)
    assert not Split.objects.exists()


def test_only_who_hands_out_plans(cast, crew, shoot):
    for person in (cast.logger, cast.editor, cast.media_manager):
        with pytest.raises(NotAllowed, match="To hand out stints in KB04 you must be a producer or an owner"):
            planning.propose(person, cast.kb04, {}, {"ilse": 8})
    with pytest.raises(NotFound):
        planning.propose(cast.stranger, cast.kb04, {}, {"ilse": 8})
    split = plan(cast)
    for act in (planning.move, handing_out.accept):
        with pytest.raises(NotAllowed):
            act(cast.logger, split, 1, *([{}] if act is planning.move else []))
    with pytest.raises(NotAllowed):
        planning.discard(cast.logger, split)


# Moving by hand ---------------------------------------------------------------------------------


def test_pieces_are_moved_by_hand(cast, crew, shoot):
    split = plan(cast)
    piece = split.pieces.filter(logger=crew["ilse"]).first()
    moved = planning.move(cast.producer, split, 1, {piece.id: "odd"})
    assert moved.version == 2
    piece.refresh_from_db()
    assert piece.logger == crew["odd"]
    planning.move(cast.producer, split, 2, {piece.id: None})
    accept(cast, split)
    assert Stint.objects.count() == 11  # nobody's is left unassigned


def test_two_who_move_at_once_are_told(cast, crew, shoot):
    split = plan(cast)
    piece = split.pieces.first()
    planning.move(cast.producer, split, 1, {piece.id: "odd"})
    for act in (
        lambda: planning.move(cast.owner, split, 1, {piece.id: "ilse"}),
        lambda: handing_out.accept(cast.owner, split, 1),
    ):
        with pytest.raises(Conflict, match="Somebody moved pieces of this split") as told:
            act()
        assert told.value.current.version == 2
    piece.refresh_from_db()
    assert piece.logger == crew["odd"] and not Stint.objects.exists()


def test_a_piece_is_not_moved_to_who_cannot_have_it(cast, crew, shoot):
    split = plan(cast)
    piece = split.pieces.first()
    for name in ("media-manager", "stranger", "nobody"):
        with pytest.raises(Refusal, match="cannot take footage of KB04"):
            planning.move(cast.producer, split, 1, {piece.id: name})
    with pytest.raises(NotFound, match="no such piece in this split"):
        planning.move(cast.producer, split, 1, {piece.id + 10_000: "ilse"})


def test_nobody_is_moved_the_second_look_at_their_own_first(cast, crew, shoot):
    SecondLook.objects.create(clip=shoot["A12-0"], in_frame=0, out_frame=MINUTE, asked_by=cast.producer)
    split = plan(cast, cards=["KB04-261112-A01"], seconds=True)
    first = split.pieces.get(clip=shoot["A12-0"], second=False)
    with pytest.raises(Refusal, match="would have the first and the second look at A12-0"):
        planning.move(cast.producer, split, 1, {split.pieces.get(second=True).id: first.logger.username})


def test_a_discarded_split_gives_nobody_anything(cast, crew, shoot):
    split = plan(cast)
    assert planning.discard(cast.producer, split).state == "discarded"
    assert planning.discard(cast.producer, split).state == "discarded"  # twice is once
    with pytest.raises(Refusal, match="This split was discarded already"):
        handing_out.accept(cast.producer, split, 1)
    assert not Stint.objects.exists()


def test_a_split_is_accepted_once(cast, crew, shoot):
    split = plan(cast)
    accept(cast, split)
    for act in (lambda: handing_out.accept(cast.producer, split, 1), lambda: planning.discard(cast.producer, split)):
        with pytest.raises(Refusal, match="was accepted already"):
            act()
    assert Stint.objects.count() == 12


# Much -------------------------------------------------------------------------------------------


def test_six_thousand_clips_take_seconds_and_few_queries(cast, crew, make_clip, django_assert_max_num_queries):
    card = make_clip("FIRST").card
    cards = [card]
    for day in range(1, 31):
        cards.append(
            Card.objects.create(
                production=cast.kb04, name=f"KB04-2610{day:02}-A01", folder=f"/nowhere/{day}", reel=f"610{day:02}A01",
                shoot_date=f"2026-10-{day:02}", camera="AB"[day % 2], state="verified",
            )
        )  # fmt: skip
    first = Clip.objects.get()
    Clip.objects.bulk_create(
        [
            Clip(
                card=cards[at % 31], name=f"C{at}", kind="video", files=[], frames=25 * (60 + at * 7919 % 900),
                rate_numerator=25, rate_denominator=1, drop=False, start_frame=first.start_frame, channels=2,
                proxy_state="ready",
            )
            for at in range(6000)
        ],
        batch_size=500,
    )  # fmt: skip
    began = time.process_time()
    with django_assert_max_num_queries(61):
        split = plan(cast, {"ilse": 8, "bram": 6, "odd": 4}, minutes_an_hour=0)
    spent = time.process_time() - began
    assert spent < 5  # seconds of processor; under one when this was written
    assert Piece.objects.filter(split=split).count() == 6001
    told = balance.balance(split, balance.weigh(split))
    assert told.longest_off <= 5
