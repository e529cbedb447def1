"""Putting a list in order: moving, taking out, trimming, sorting, sections; and two people at it."""

import uuid
from datetime import date

import pytest

from review.desk import arranging, lists, pulling
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Activity
from review.refusals import Conflict, NotAllowed, NotFound, Refusal
from review.timecode import Rate, Timebase

DROP = Timebase(Rate(30000, 1001), drop=True)


@pytest.fixture
def clip(make_clip):
    return make_clip("A001C002", frames=500)


@pytest.fixture
def mark(cast, clip):
    def make(in_frame=0, out_frame=10, on=None, **says):
        return selecting.put(cast.logger, uuid.uuid4(), on or clip, Mark(in_frame, out_frame, **says), 0)

    return make


@pytest.fixture
def five(cast, mark):
    """A list of five selects, of frames 0, 20, 40, 60 and 80, and their ids."""
    ids = [mark(start, start + 10).id for start in range(0, 100, 20)]
    return lists.make(cast.editor, cast.kb04, "best", ids), ids


def starts(selects_list) -> list[int]:
    """The first frames of its entries, in order."""
    return [row.in_frame for row in pulling.placed(selects_list)]


def sections(selects_list) -> dict[str, list[int]]:
    found = {"": []} | {section.title: [] for section in selects_list.sections.all()}
    for row in pulling.placed(selects_list):
        found[row.entry.section.title if row.entry.section else ""].append(row.in_frame)
    return found


def test_a_select_is_moved_before_another_and_to_the_end(cast, five):
    made, ids = five
    made = arranging.move(cast.logger, made, 1, [ids[3]], before=ids[1])
    assert (starts(made), made.version) == ([0, 60, 20, 40, 80], 2)
    made = arranging.move(cast.editor, made, 2, [ids[0], ids[3]])
    assert starts(made) == [20, 40, 80, 0, 60]


def test_moving_keeps_trims_and_brings_in_what_is_new(cast, five, mark):
    made, ids = five
    made, _ = arranging.trim(cast.editor, made, 1, ids[2], 42, 48)
    new = mark(200, 210).id
    made = arranging.move(cast.editor, made, 2, [new, ids[2]], before=ids[0])
    assert starts(made) == [200, 42, 0, 20, 60, 80]


def test_taking_out_leaves_the_select(cast, five):
    made, ids = five
    made = arranging.take_out(cast.editor, made, 1, [ids[1], ids[4], uuid.uuid4()])
    assert starts(made) == [0, 40, 60]
    assert made.entries.count() == 3 and selecting.Select.objects.filter(deleted=None).count() == 5


def test_a_section_begins_at_a_select_and_ends_at_the_next(cast, five):
    made, ids = five
    made = arranging.add_section(cast.editor, made, 1, "  Two \n", ids[1])
    made = arranging.add_section(cast.editor, made, 2, "Four", ids[3])
    made = arranging.add_section(cast.editor, made, 3, "Last")
    assert sections(made) == {"": [0], "Two": [20, 40], "Four": [60, 80], "Last": []}
    two, four, last = made.sections.all()
    made = arranging.move_section(cast.editor, made, 4, four.id, -1)
    assert list(sections(made)) == ["", "Four", "Two", "Last"] and starts(made) == [0, 60, 80, 20, 40]
    made = arranging.move(cast.editor, made, 5, [ids[0]], section=last.id)
    made = arranging.rename_section(cast.editor, made, 6, last.id, "Arrivals")
    assert sections(made) == {"": [], "Four": [60, 80], "Two": [20, 40], "Arrivals": [0]}
    made = arranging.remove_section(cast.editor, made, 7, two.id)
    assert sections(made) == {"": [], "Four": [60, 80, 20, 40], "Arrivals": [0]}


def test_what_is_added_comes_at_the_end_of_the_last_section(cast, five, mark):
    made, ids = five
    made = arranging.add_section(cast.editor, made, 1, "Two", ids[1])
    lists.add(cast.logger, made, [mark(300, 310).id])
    assert sections(made)["Two"] == [20, 40, 60, 80, 300]


def test_an_order_that_keeps_sections_whole_is_taken_and_another_refused(cast, five):
    made, ids = five
    made = arranging.add_section(cast.editor, made, 1, "Two", ids[2])
    made = lists.change(cast.editor, made, 2, select_ids=[ids[1], ids[0], ids[4], ids[2]])
    assert sections(made) == {"": [20, 0], "Two": [80, 40]}
    with pytest.raises(Refusal, match="tears sections apart"):
        lists.change(cast.editor, made, 3, select_ids=[ids[4], ids[0]])
    assert starts(made) == [20, 0, 80, 40]


def test_a_list_is_sorted_by_the_clock_the_card_and_the_rating(cast, make_clip, mark):
    early = make_clip("B001", card="KB04-261112-B01", start="09:00:00:00", timebase=DROP)
    late = make_clip("A009", card="KB04-261112-A01", start="11:00:00:00")
    next_day = make_clip("C001", card="KB04-261113-A01", start="08:00:00:00")
    by_name = {
        "next": mark(on=next_day, rating=1).id,
        "late": mark(on=late, rating=5).id,
        "early": mark(5, 9, on=early, rating=5).id,
    }
    made = lists.make(cast.editor, cast.kb04, "mixed", list(by_name.values()))

    def order():
        names = {value: name for name, value in by_name.items()}
        return [names[row.select.id] for row in pulling.placed(made)]

    arranging.sort(cast.editor, made, 1, "shot")
    assert order() == ["early", "late", "next"]
    arranging.sort(cast.editor, made, 2, "card")
    assert order() == ["late", "early", "next"]
    arranging.sort(cast.editor, made, 3, "rating")
    assert order() == ["late", "early", "next"]  # those alike stay as they were
    early.card.clock_numerator = 4 * 3600  # this camera was four hours behind
    early.card.save()
    arranging.sort(cast.editor, made, 4, "shot")
    assert order() == ["late", "early", "next"]
    late.card.shoot_date = None
    late.card.save()
    arranging.sort(cast.editor, made, 5, "shot")
    assert order() == ["early", "next", "late"]
    assert next_day.card.shoot_date == date(2026, 11, 13)
    with pytest.raises(Refusal, match="sorted by one of shot, card, rating, not 'size'"):
        arranging.sort(cast.editor, made, 6, "size")


def test_sorting_stays_inside_the_sections(cast, five):
    made, ids = five
    made = arranging.move(cast.editor, made, 1, [ids[4]], before=ids[0])
    made = arranging.add_section(cast.editor, made, 2, "Two", ids[0])
    made = arranging.move(cast.editor, made, 3, [ids[0]], section=made.sections.get().id)
    made = arranging.sort(cast.editor, made, 4, "card")
    assert sections(made) == {"": [80], "Two": [0, 20, 40, 60]}


# Trims and handles -----------------------------------------------------------------------------


def test_a_trim_belongs_to_the_list_and_the_select_stays(cast, five, clip):
    made, ids = five
    made, said = arranging.trim(cast.editor, made, 1, ids[1], 15, 33)
    other = lists.make(cast.editor, cast.kb04, "other", ids)
    select = selecting.Select.objects.get(id=ids[1])
    assert (select.in_frame, select.out_frame, said) == (20, 30, "")
    assert [(event.in_frame, event.out_frame) for event in lists.pull(made).events][1] == (15, 33)
    assert [(event.in_frame, event.out_frame) for event in lists.pull(other).events][1] == (20, 30)
    made, _ = arranging.trim(cast.editor, made, 2, ids[1], None, None)
    assert starts(made)[1] == 20 and not any(row.trimmed for row in pulling.placed(made))


def test_a_trim_to_what_was_marked_is_none(cast, five):
    made, ids = five
    made, _ = arranging.trim(cast.editor, made, 1, ids[0], 0, 10)
    assert not pulling.placed(made)[0].trimmed


def test_a_trim_is_cut_at_the_clips_ends_and_says_so(cast, five, clip):
    made, ids = five
    made, said = arranging.trim(cast.editor, made, 1, ids[0], -5, 501)
    row = pulling.placed(made)[0]
    assert (row.in_frame, row.out_frame) == (0, 500)
    assert said == "A001C002 has nothing before 10:00:00:00 and after 10:00:20:00: cut there."


@pytest.mark.parametrize(("first", "last"), [(10, 10), (20, 10), (500, 510), (-9, 0)])
def test_a_trim_of_nothing_is_refused(cast, five, first, last):
    made, ids = five
    with pytest.raises(Refusal, match="inside the clip, which has 500 frames"):
        arranging.trim(cast.editor, made, 1, ids[0], first, last)
    with pytest.raises(Refusal, match="an in and an out"):
        arranging.trim(cast.editor, made, 1, ids[0], first, None)
    made.refresh_from_db()
    assert made.version == 1


def test_handles_lengthen_every_entry_up_to_the_clips_ends(cast, five):
    made, _ = five
    made = lists.settle(cast.editor, made, 1, handles=1_000)
    rows = pulling.placed(made)
    assert [(row.handled.in_frame, row.handled.out_frame) for row in rows][:3] == [(0, 35), (0, 55), (15, 75)]
    assert [row.handled.clipped for row in rows][:3] == [(25, 0), (5, 0), (0, 0)]
    assert [event.clipped for event in lists.pull(made).events][:2] == [(25, 0), (5, 0)]
    assert pulling.running(rows) == sum(row.frames for row in rows) / rows[0].timebase.rate.fraction
    for wrong in (-1, 60_001):
        with pytest.raises(Refusal, match="from 0 to 60 seconds"):
            lists.settle(cast.editor, made, 2, handles=wrong)


def test_selects_that_overlap_are_told_and_merged_on_request(cast, mark):
    ids = [mark(0, 20, note="one").id, mark(100, 110).id, mark(15, 40, note="two").id, mark(100, 110).id]
    made = lists.make(cast.editor, cast.kb04, "best", ids)
    rows = pulling.placed(made)
    assert [(row.twin.place, row.shared.same) for row in rows] == [(3, False), (4, True), (1, False), (2, True)]
    made = lists.settle(cast.editor, made, 1, merge=True)
    events = lists.pull(made).events
    assert [(event.in_frame, event.out_frame) for event in events] == [(0, 40), (100, 110)]
    assert events[0].also == (str(ids[2]),) and made.entries.count() == 4


# Two people ------------------------------------------------------------------------------------


def test_two_who_change_one_list_are_told_who_and_both_can_choose(cast, five):
    made, ids = five
    arranging.move(cast.producer, made, 1, [ids[4]], before=ids[0])
    with pytest.raises(
        Conflict, match=r"Somebody changed this list since you saw it \(producer put in order it\)"
    ) as told:
        arranging.take_out(cast.editor, made, 1, [ids[1]])
    assert starts(made) == [80, 0, 20, 40, 60]  # theirs stands
    made = arranging.take_out(cast.editor, made, told.value.current.version, [ids[1]])
    assert starts(made) == [80, 0, 40, 60]  # and hers on top of it


def test_adding_at_the_end_never_conflicts(cast, five, mark):
    made, ids = five
    arranging.move(cast.producer, made, 1, [ids[4]], before=ids[0])
    assert lists.add(cast.editor, made, [mark(300, 310).id]) == 1
    assert starts(made) == [80, 0, 20, 40, 60, 300]


def test_what_stands_in_the_list_no_more_is_told(cast, five):
    made, ids = five
    made = arranging.take_out(cast.editor, made, 1, [ids[1]])
    for attempt, words in (
        (lambda: arranging.move(cast.editor, made, 2, [ids[0]], before=ids[1]), "The select to go before is not in"),
        (lambda: arranging.move(cast.editor, made, 2, [ids[0]], section=999), "This section is not in the list"),
        (lambda: arranging.trim(cast.editor, made, 2, ids[1], 0, 5), "This select is not in the list"),
        (lambda: arranging.rename_section(cast.editor, made, 2, 999, "x"), "This section is not in the list"),
        (lambda: arranging.remove_section(cast.editor, made, 2, 999), "This section is not in the list"),
        (lambda: arranging.add_section(cast.editor, made, 2, " \n"), "A section needs a title"),
        (lambda: arranging.move(cast.editor, made, 2, [uuid.uuid4()]), "1 of these are not selects of KB04"),
    ):
        with pytest.raises(Refusal, match=words):
            attempt()
    made.refresh_from_db()
    assert made.version == 2


def test_the_activity_tells_it_once_in_a_while(cast, five):
    made, ids = five
    for version in (1, 2, 3):
        arranging.move(cast.editor, made, version, [ids[version]], before=ids[0])
    arranging.take_out(cast.producer, made, 4, [ids[0]])
    told = Activity.objects.filter(about="list", subject=str(made.id)).order_by("id")
    assert [(str(each.person), each.did) for each in told] == [
        ("editor", "made"),
        ("editor", "put in order"),
        ("producer", "took selects out of"),
    ]
    assert told[1].words == "the list “best”"


def test_strangers_and_media_managers_arrange_nothing(cast, five):
    made, ids = five
    for person, refusal in ((cast.stranger, NotFound), (cast.media_manager, NotAllowed)):
        for attempt in (
            lambda who: arranging.move(who, made, 1, [ids[0]]),
            lambda who: arranging.take_out(who, made, 1, [ids[0]]),
            lambda who: arranging.trim(who, made, 1, ids[0], 0, 5),
            lambda who: arranging.sort(who, made, 1, "shot"),
            lambda who: arranging.add_section(who, made, 1, "x"),
            lambda who: lists.settle(who, made, 1, handles=0),
            lambda who: lists.add_found(who, made, {}),
        ):
            with pytest.raises(refusal):
                attempt(person)
    assert starts(made) == [0, 20, 40, 60, 80]


def test_a_whole_search_is_added_in_the_order_in_which_it_was_shot(cast, mark):
    late, early = mark(300, 310, tags=("gull",)).id, mark(100, 110, tags=("gull",)).id
    mark(200, 210, tags=("net",))
    made = lists.make(cast.editor, cast.kb04, "gulls", [late])
    assert lists.add_found(cast.editor, made, {"tag": "gull", "production": "NR07"}) == 1
    assert starts(made) == [300, 100]
    with pytest.raises(Refusal, match="Nothing fits these filters"):
        lists.add_found(cast.editor, made, {"tag": "whale"})
    assert early in made.entries.values_list("select", flat=True)
