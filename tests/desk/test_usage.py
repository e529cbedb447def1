"""What of the footage is in the cuts, and which selects made it."""

import uuid
from fractions import Fraction

import pytest

from review.desk import returned_cuts, usage
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Select

LINE = "{:03}  {} V     C        10:00:00:{:02} 10:00:01:{:02} 01:00:0{}:00 01:00:0{}:00\n"


@pytest.fixture
def take_in(cast):
    def take(name: str, *events: tuple[str, int]):
        lines = "".join(LINE.format(at + 1, reel, start, start, at, at + 1) for at, (reel, start) in enumerate(events))
        return returned_cuts.take_in(cast.editor, cast.kb04, f"{name}.edl", lines.encode(), name=name)

    return take


def test_frames_used_twice_count_once(cast, a_clip, make_clip, take_in):
    make_clip("B1", card="KB04-261112-B01")
    take_in("one", ("61112A01", 0), ("61112A01", 10))
    used, unused = usage.by_card(cast.kb04)
    assert (used.card.name, used.shot, used.used, used.share) == ("KB04-261112-A01", 2, Fraction(35, 25), 70.0)
    assert (used.clips, used.clips_used, used.events, used.likely) == (1, 1, 2, 0)
    assert (unused.card.name, unused.used, unused.share, unused.clips_used, unused.events) == (
        *("KB04-261112-B01", 0, 0.0, 0, 0),
    )


def test_of_one_cut_or_of_all(cast, a_clip, take_in):
    one, two = take_in("one", ("61112A01", 0)), take_in("two", ("61112A01", 20), ("61112AO1", 20))
    assert [each.used for each in usage.by_card(cast.kb04, one)] == [1]
    assert [(each.used, each.likely) for each in usage.by_card(cast.kb04, two)] == [(1, 1)]
    assert [each.used for each in usage.by_card(cast.kb04)] == [Fraction(45, 25)]


def test_selects_that_made_it_say_in_which_cut(cast, a_clip, take_in):
    in_both, before, touching, after = (
        selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(*frames), 0).id
        for frames in ((20, 30), (0, 5), (4, 6), (35, 50))
    )
    one = take_in("one", ("61112A01", 5), ("61112A01", 10))
    take_in("two", ("61112A01", 9))
    assert usage.in_cut([in_both, before, touching, after]) == {in_both: ["one", "two"], touching: ["one"]}
    every = Select.objects.all()
    assert set(usage.only_in_cut(every).values_list("id", flat=True)) == {in_both, touching}
    assert usage.only_in_cut(every, [one]).count() == 2
    returned_cuts.forget(cast.editor, one)
    assert usage.in_cut([in_both, touching]) == {in_both: ["two"]}


def test_how_many_frames_of_a_select_a_cut_uses(cast, a_clip, make_clip, take_in):
    other = make_clip("B1", card="KB04-261112-B01")
    marks = ((a_clip, 0, 12), (a_clip, 20, 50), (a_clip, 40, 50), (other, 0, 50))
    selects = [selecting.put(cast.logger, uuid.uuid4(), clip, Mark(*frames), 0) for clip, *frames in marks]
    cut = take_in("one", ("61112A01", 5), ("61112A01", 10))  # 5 to 30 and 10 to 35
    take_in("two", ("61112A01", 20))
    assert list(usage.frames_in_cut(selects, cut).values()) == [7, 15, 0, 0]


def test_nothing_came_back(cast, a_clip):
    (use,) = usage.by_card(cast.kb04)
    assert (use.events, use.used) == (0, 0)
    assert usage.in_cut([]) == {}


def test_another_productions_cuts_are_not_counted(cast, a_clip, take_in):
    take_in("one", ("61112A01", 0))
    assert usage.by_card(cast.nr07) == []
