"""Cuts that come back: taken in, looked at again, forgotten."""

import uuid

import pytest

from review.desk import lists, returned_cuts
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Activity, Clip, Cut
from review.refusals import NotAllowed, NotFound, Refusal
from review.timecode import Rate, Timebase

EDL = b"""TITLE: ASSEMBLY 1
001  61112A01 V     C        10:00:00:10 10:00:01:10 01:00:00:00 01:00:01:00
* FROM CLIP NAME: A001C001
002  NOBODY   V     C        11:00:00:00 11:00:01:00 01:00:01:00 01:00:02:00
003  BL       V     C        00:00:00:00 00:00:01:00 01:00:02:00 01:00:03:00
what is this
"""


@pytest.fixture
def cut(cast, a_clip) -> Cut:
    return returned_cuts.take_in(cast.editor, cast.kb04, "assembly.edl", EDL)


def test_a_cut_is_taken_in_and_its_footage_found(cast, a_clip, cut):
    assert (cut.name, cut.file_name, bytes(cut.content), cut.given_by) == (
        "ASSEMBLY 1",
        "assembly.edl",
        EDL,
        cast.editor,
    )
    assert cut.remarks == ["Line 6 is not a kind of line that is known; it was left out."]
    found, lost, black = cut.events.all()
    assert (found.sure, found.card, found.clip, found.in_frame, found.out_frame) == (
        "sure",
        a_clip.card,
        a_clip,
        10,
        35,
    )
    assert (found.number, found.reel, found.clip_name, found.channels, found.edit) == (
        *("001", "61112A01", "A001C001", "V", "C"),
    )
    assert (lost.sure, lost.clip, lost.why) == (
        "lost",
        None,
        "reel NOBODY is no card's, and the list names no clip",
    )
    assert black.sure == "none"


def test_what_happened_is_written_down(cut, cast):
    told = Activity.objects.get()
    assert (told.person, told.did, told.subject) == (cast.editor, "took in", str(cut.id))
    assert told.words == "the cut “ASSEMBLY 1”: 3 events, 1 sure, 0 likely, 1 not found"


def test_cards_that_came_since_are_found_when_it_is_looked_at_again(cut, cast, make_clip):
    late = make_clip("N1", card="KB04-261113-N01", start="11:00:00:00")
    late.card.reel = "NOBODY"
    late.card.save()
    returned_cuts.look_again(cast.producer, cut)
    assert [each.sure for each in cut.events.all()] == ["sure", "sure", "none"]
    assert cut.events.all()[1].clip == late
    assert Activity.objects.filter(did="looked again").exists()


def test_the_rate_can_be_put_right(cast, make_clip):
    fast = make_clip(timebase=Timebase(Rate(50)), frames=200)
    cut = returned_cuts.take_in(cast.editor, cast.kb04, "x.edl", EDL)
    assert cut.events.first().sure == "likely"  # the list was taken to count 25
    returned_cuts.look_again(cast.editor, cut, Rate(50))
    first = cut.events.first()
    assert (first.sure, first.clip, first.in_frame, first.out_frame) == ("sure", fast, 10, 60)


def test_a_rate_that_its_labels_rule_out_is_refused(cast, a_clip):
    high = EDL.replace(b"01:00:01:00", b"01:00:01:29")
    with pytest.raises(
        Refusal, match=r"Line 2 ends at 01:00:01:29, and a second has 25 frames at 25 fps. Choose the rate"
    ):
        returned_cuts.take_in(cast.editor, cast.kb04, "x.edl", high)


def test_an_event_that_could_not_be_read_is_one_of_its_events(cast, a_clip):
    broken = EDL.replace(b"10:00:00:10", b"10:00:00")
    cut = returned_cuts.take_in(cast.editor, cast.kb04, "x.edl", broken)
    first = cut.events.first()
    assert (cut.events.count(), first.sure, first.how_sure, first.read) == (3, "lost", "not read", False)
    assert "has not the four timecodes" in first.why
    assert "2 not found" in Activity.objects.get().words


@pytest.fixture
def twins(make_clip):
    """Two clips of a card that hold the first event's timecode, and one of another."""
    return make_clip(), make_clip("A001C009"), make_clip("B1", card="KB04-261112-B01", start="12:00:00:00")


def unnamed(cast) -> Cut:
    return returned_cuts.take_in(cast.editor, cast.kb04, "x.edl", EDL.replace(b"* FROM CLIP NAME: A001C001", b"*"))


def test_a_person_chooses_which_clip_it_is_and_may_take_that_back(cast, twins):
    cut = unnamed(cast)
    first = cut.events.first()
    assert (first.sure, first.clip, first.candidates[0]["clip"]) == ("likely", twins[0], twins[1].id)
    returned_cuts.choose(cast.producer, cut, 2, twins[1].id)
    first, lost, _ = cut.events.all()
    assert (first.sure, first.how_sure, first.clip, first.in_frame, first.out_frame) == (
        *("sure", "chosen by producer", twins[1], 10, 35),
    )
    assert [each["clip"] for each in first.candidates] == [twins[0].id] and lost.sure == "lost"
    told = Activity.objects.get(did="chose")
    assert (told.person, told.words) == (
        cast.producer,
        "KB04-261112-A01 A001C009 for event 001 (line 2) of the cut “ASSEMBLY 1”",
    )
    returned_cuts.choose(cast.producer, cut, 2, None)
    assert (cut.events.first().sure, cut.events.first().clip, cut.events.first().chosen_by) == ("likely", twins[0], "")
    assert "event 001 (line 2)" in Activity.objects.get(did="took back").words


def test_a_choice_stays_when_the_cut_is_looked_at_again(cast, twins):
    cut = unnamed(cast)
    returned_cuts.choose(cast.producer, cut, 2, twins[1].id)
    cut = returned_cuts.look_again(cast.editor, cut)
    assert (cut.events.first().clip, cut.events.first().chosen_by) == (twins[1], "producer")
    twins[1].delete()
    returned_cuts.look_again(cast.editor, cut)
    first = cut.events.first()
    assert (first.clip, first.chosen_by) == (twins[0], "")
    assert "producer had chosen a clip that is gone" in first.why


def test_choices_that_cannot_be(cast, twins, make_clip):
    cut = unnamed(cast)
    foreign = make_clip("N1", card="NR07-261112-A01", production=cast.nr07)
    for clip_id in (twins[2].id, foreign.id, 2**40):
        with pytest.raises(Refusal, match=r"That clip does not hold the timecode of event 001 \(line 2\)"):
            returned_cuts.choose(cast.editor, cut, 2, clip_id)
    with pytest.raises(NotFound, match="no event in line 1"):
        returned_cuts.choose(cast.editor, cut, 1, twins[1].id)
    assert cut.events.first().sure == "likely"


def test_a_choice_that_somebody_else_made_meanwhile_is_kept(cast, twins, monkeypatch):
    cut = unnamed(cast)
    known_clips = returned_cuts.known_clips

    def meanwhile(production):
        monkeypatch.undo()
        returned_cuts.choose(cast.producer, cut, 2, twins[1].id)
        return known_clips(production)

    monkeypatch.setattr(returned_cuts, "known_clips", meanwhile)
    with pytest.raises(Refusal, match="Somebody changed this cut meanwhile"):
        returned_cuts.look_again(cast.editor, cut)
    assert cut.events.first().chosen_by == "producer"


def test_the_same_file_twice_is_refused_and_says_where_it_is(cut, cast):
    with pytest.raises(Refusal, match="taken in already, as “ASSEMBLY 1”, by editor"):
        returned_cuts.take_in(cast.producer, cast.kb04, "again.edl", EDL)
    assert Cut.objects.count() == 1


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"", "There is nothing in it"), (b"hello", "is not a CMX3600 EDL"), (b"x" * 8_000_001, "has 8,000,001 bytes")],
)
def test_what_is_no_cut_is_refused(cast, content, words):
    with pytest.raises(Refusal, match=words):
        returned_cuts.take_in(cast.editor, cast.kb04, "x", content)


def test_a_name_of_ones_own_or_the_files(cast, a_clip):
    named = returned_cuts.take_in(cast.editor, cast.kb04, "a.edl", EDL, name="  Reel\x07 one ")
    untitled = returned_cuts.take_in(cast.editor, cast.kb04, "b.edl", EDL.replace(b"TITLE: ASSEMBLY 1", b""))
    assert (named.name, untitled.name) == ("Reel one", "b.edl")


def test_a_forgotten_cut_can_be_taken_in_again(cut, cast, a_clip):
    returned_cuts.forget(cast.editor, cut)
    assert not Cut.objects.exists()
    assert Activity.objects.filter(did="forgot").get().words == "the cut “ASSEMBLY 1” (assembly.edl)"
    assert returned_cuts.take_in(cast.editor, cast.kb04, "assembly.edl", EDL).events.count() == 3


def test_a_list_of_ours_comes_back_as_the_selects_it_was_made_of(cast, make_clip):
    clips = [make_clip(), make_clip("A001C002", start="23:59:59:00"), make_clip("B1", card="KB04-261112-B01")]
    marks = [(clips[0], 3, 40), (clips[1], 10, 50), (clips[2], 0, 50)]  # the second passes midnight
    made = [
        selecting.put(cast.logger, uuid.uuid4(), clip, Mark(in_frame, out_frame), 0).id
        for clip, in_frame, out_frame in marks
    ]
    edl = lists.export(lists.make(cast.editor, cast.kb04, "pull", made), "edl")
    cut = returned_cuts.take_in(cast.editor, cast.kb04, "pull.edl", edl.content)
    assert [(each.clip, each.in_frame, each.out_frame, each.sure) for each in cut.events.all()] == [
        (clips[0], 3, 40, "sure"),
        (clips[1], 10, 25, "sure"),
        (clips[1], 25, 50, "sure"),
        (clips[2], 0, 50, "sure"),
    ]


def test_a_clip_that_is_made_anew_leaves_the_event(cut, a_clip):
    Clip.objects.all().delete()
    assert cut.events.first().clip is None and cut.events.first().reel == "61112A01"


def test_who_may_not(cast, cut):
    with pytest.raises(NotAllowed, match="you must be an editor, a producer or an owner"):
        returned_cuts.take_in(cast.logger, cast.kb04, "x.edl", EDL)
    with pytest.raises(NotFound):
        returned_cuts.take_in(cast.stranger, cast.kb04, "x.edl", EDL)
    for deed in (returned_cuts.forget, returned_cuts.look_again):
        with pytest.raises(NotAllowed):
            deed(cast.media_manager, cut)
    with pytest.raises(NotAllowed):
        returned_cuts.choose(cast.logger, cut, 2, None)
