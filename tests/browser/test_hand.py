"""The hand on the sheet: a click goes there, a drag marks, a dragged edge trims; and the keys that do the same."""

import uuid

import pytest
from playwright.sync_api import expect

from review.marking import selecting
from review.marking.selecting import Mark
from review.models import FieldNote, Select

PER_LINE = 125  # frames on a line of five seconds at 25 a second


@pytest.fixture
def clip(ready_clip):
    return ready_clip(frames=250)


def place(desk, frame: float) -> tuple[float, float]:
    """Where a frame is on the page: the middle of its film."""
    line, within = divmod(frame, PER_LINE)
    box = desk.page.locator(f".sheet .line[data-line='{int(line)}'] canvas").bounding_box()
    return box["x"] + within * box["width"] / PER_LINE, box["y"] + 30


def drag(desk, start: float, end: float, *, release: bool = True) -> None:
    mouse = desk.page.mouse
    mouse.move(*place(desk, start))
    mouse.down()
    mouse.move(*place(desk, (start + end) / 2), steps=3)
    mouse.move(*place(desk, end), steps=3)
    if release:
        mouse.up()


def test_a_click_goes_there(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.page.mouse.click(*place(desk, 40.5))
    desk.shows(40)
    assert desk.number() == 40
    assert Select.objects.count() == 0


def test_a_drag_marks_and_keeps_both_ends_with_their_pictures(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    drag(desk, 30.5, 80.5)
    expect(desk.listed).to_have_count(1)
    desk.saved()
    assert [(each.in_frame, each.out_frame) for each in desk.selects()] == [(30, 81)]
    desk.shows(80)
    desk.proves(30, 80)
    expect(desk.part("in")).to_have_text(clip.label(30))
    desk.press("Control+z")
    expect(desk.listed).to_have_count(0)


def test_a_drag_may_go_back_and_over_lines(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    drag(desk, 200.5, 100.5)
    desk.saved()
    assert [(each.in_frame, each.out_frame) for each in desk.selects()] == [(100, 201)]


def test_an_edge_that_is_dragged_trims_its_select(room, cast, clip):
    selecting.put(cast.logger, uuid.uuid4(), clip, Mark(30, 80, ("gull",)), 0)
    desk = room.watch(cast.logger, clip)
    drag(desk, 80, 95.5)
    expect(desk.listed).to_contain_text(clip.label(96))
    drag(desk, 30, 20.5)
    expect(desk.listed).to_contain_text(clip.label(20))
    desk.saved()
    [select] = desk.selects()
    assert (select.in_frame, select.out_frame) == (20, 96)
    desk.shows(20)  # the frame that the hand let go at
    desk.proves(20, 95)


def test_an_edge_dragged_over_the_other_is_refused(room, cast, clip):
    selecting.put(cast.logger, uuid.uuid4(), clip, Mark(60, 80), 0)
    desk = room.watch(cast.logger, clip)
    drag(desk, 80, 40.5)
    expect(desk.part("trouble")).to_have_text("In must stay before out.")
    assert [(each.in_frame, each.out_frame) for each in desk.selects()] == [(60, 80)]


def test_escape_gives_a_drag_up_and_nothing_else(room, cast, clip):
    selecting.put(cast.logger, uuid.uuid4(), clip, Mark(150, 180), 0)
    desk = room.watch(cast.logger, clip)
    desk.press("ArrowDown")
    drag(desk, 30.5, 80.5, release=False)
    desk.press("Escape")
    desk.page.mouse.up()
    desk.page.wait_for_timeout(300)
    expect(desk.listed).to_have_count(1)
    expect(desk.listed).to_have_class("active")
    assert Select.objects.count() == 1


def test_who_does_not_mark_drags_nothing(room, cast, clip):
    desk = room.watch(cast.media_manager, clip)
    drag(desk, 30.5, 80.5)
    desk.page.wait_for_timeout(300)
    expect(desk.listed).to_have_count(0)


def test_keys_change_how_much_a_line_holds(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    length = desk.part("line-length")
    expect(length).to_have_value("5")
    desk.press("-")
    expect(length).to_have_value("10")
    expect(desk.page.locator(".sheet .line")).to_have_count(1)
    desk.press(*["-"] * 9)
    expect(length).to_have_value("600")
    desk.press(*["="] * 9)
    expect(length).to_have_value("5")


def test_notes_taken_in_the_field_stand_on_the_sheet(room, cast, clip):
    FieldNote.objects.create(
        production=cast.kb04,
        day=clip.card.shoot_date,
        at=(10 * 3600 + 4) * 1_000_000,
        timecode="10:00:04:00",
        text="Skipper finds the letter",
        taken_by=cast.producer,
    )
    desk = room.watch(cast.logger, clip)
    line = desk.part("field-note")
    expect(line).to_be_empty()
    desk.page.mouse.move(*place(desk, 100))
    expect(desk.page.locator(".sheet .line[data-line='0'] canvas")).to_have_attribute(
        "title", "Skipper finds the letter"
    )
    desk.page.get_by_text("1 field note").click()
    desk.part("field-notes").get_by_role("button", name="10:00:04:00").click()
    desk.shows(100)
    expect(line).to_have_text("10:00:04:00 Skipper finds the letter")
    desk.press("Shift+ArrowRight")  # it is still within a second
    expect(line).not_to_be_empty()
    desk.press("ArrowRight")
    expect(line).to_be_empty()
