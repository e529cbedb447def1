"""On a clip's page: two pairs of eyes are asked for, and loggers see that they are."""

import uuid

import pytest
from playwright.sync_api import expect

from review.marking import selecting
from review.marking.selecting import Mark
from review.models import SecondLook
from review.record import stints
from review.team import second_looks
from tests.browser.test_access import faults
from tests.seeing.test_coverage import see


@pytest.fixture
def clip(cast, ready_clip):
    return ready_clip(frames=150)


def test_a_clip_is_asked_for_and_whoever_opens_it_is_told(room, cast, clip):
    desk = room.watch(cast.editor, clip)
    expect(desk.part("eyes")).to_be_hidden()
    desk.part("ask-eyes").click()
    assert faults(desk.page, dim=False) == []
    desk.page.get_by_label("Why").fill("what she decides")
    desk.page.keyboard.press("Enter")
    words = "Two pairs of eyes are asked for on 10:00:00:00 – 10:00:06:00 by editor: “what she decides”"
    expect(desk.part("eyes")).to_contain_text(words)
    look = SecondLook.objects.get()
    assert (look.in_frame, look.out_frame, look.why, look.asked_by) == (0, 150, "what she decides", cast.editor)
    theirs = room.watch(cast.logger, clip)
    expect(theirs.part("eyes")).to_have_text(words + " ")
    expect(theirs.page.locator("#ask-eyes, #eyes-dialog, [data-end-look]")).to_have_count(0)
    desk.part("eyes").get_by_role("button", name="Ask no more").click()
    expect(desk.part("eyes")).to_be_hidden()
    look.refresh_from_db()
    assert look.ended_at


def test_the_selects_of_others_are_hidden_in_a_second_look_until_it_is_watched_or_they_are_asked_for(room, cast, clip):
    for start in (0, 40, 120):
        selecting.put(cast.editor, uuid.uuid4(), clip, Mark(start, start + 20, (), "", 0), 0)
    mine = selecting.put(cast.logger, uuid.uuid4(), clip, Mark(45, 50, (), "", 0), 0)
    see(cast.editor, clip, (0, 100))
    stints.take(cast.logger, clip, 25, 100, second=True)
    desk = room.watch(cast.logger, clip)
    line = desk.part("left-out")
    expect(line).to_contain_text("hidden in your second look until you have watched it")
    expect(desk.listed).to_have_count(3)
    expect(desk.listed.nth(1)).to_have_attribute("data-id", str(mine.id))
    expect(desk.part("select-count")).to_have_text("3")
    desk.press("ArrowDown")
    desk.shows(45)  # the keys pass them by, too
    line.get_by_role("button", name="Show them").click()
    expect(desk.listed).to_have_count(4)
    expect(line).to_be_hidden()

    desk = room.watch(cast.logger, clip, hurried=True)
    expect(desk.listed).to_have_count(3)
    see(cast.logger, clip, (25, 90))
    with desk.page.expect_response("**/pulse/"):
        pass
    expect(desk.listed).to_have_count(3)
    see(cast.logger, clip, (90, 110))
    expect(desk.listed).to_have_count(4)
    expect(desk.part("left-out")).to_be_hidden()


def test_the_chosen_select_is_asked_for_and_what_is_asked_for_already_is_refused(room, cast, clip):
    room.expected.append("400")
    selecting.put(cast.editor, uuid.uuid4(), clip, Mark(25, 50, (), "", 0), 0)
    desk = room.watch(cast.producer, clip)
    desk.press("ArrowDown")
    desk.part("ask-eyes").click()
    expect(desk.page.get_by_role("radio", name="the chosen select")).to_be_checked()
    second_looks.ask(cast.editor, clip, 40, 60)
    desk.page.get_by_role("button", name="Ask", exact=True).click()
    alert = desk.part("eyes-dialog").get_by_role("alert")
    expect(alert).to_contain_text("editor has asked for a second look at 10:00:01:15 to 10:00:02:10")
    SecondLook.objects.all().delete()
    desk.page.get_by_role("button", name="Ask", exact=True).click()
    expect(desk.part("eyes")).to_contain_text("10:00:01:00 – 10:00:02:00 by producer")
    assert list(SecondLook.objects.values_list("in_frame", "out_frame")) == [(25, 50)]
