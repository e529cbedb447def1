"""Every key can be changed by the person who presses it, and holds wherever they sign in."""

import pytest
from playwright.sync_api import expect

from review.crew import habits
from review.marking import tagging


@pytest.fixture
def clip(cast, ready_clip):
    tagging.know_all(cast.kb04, {"what": ["gull"]})
    return ready_clip(frames=150)


def change(desk, words: str, key: str) -> None:
    desk.press("?")
    desk.page.get_by_role("button", name=f"Change the key of: {words}", exact=True).click()
    expect(desk.part("keys-said")).to_have_text("Press the new key. Escape leaves it as it is.")
    desk.press(key)


def test_a_key_is_changed_and_holds_in_another_browser(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=20)
    change(desk, "one frame on", "F2")
    expect(desk.part("keys-said")).to_have_text("Kept: it holds wherever you sign in.")
    cast.logger.refresh_from_db()
    assert habits.of(cast.logger)["keys"] == {"frameOn": ["F2"]}
    desk.press("Escape", "F2")
    desk.shows(21)
    desk.press("ArrowRight")  # does nothing any more
    desk.press("ArrowLeft")
    desk.shows(20)
    elsewhere = room.watch(cast.logger, clip, frame=40)
    elsewhere.press("F2")
    elsewhere.shows(41)


def test_a_changed_mark_in_is_named_wherever_its_key_is(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    change(desk, "mark in", "F4")
    expect(desk.part("keys-said")).to_contain_text("Kept")
    desk.press("Escape")
    expect(desk.part("mark-in")).to_have_text("In F4")
    desk.press("o")
    expect(desk.part("about-which")).to_have_text("Out is marked: F4 marks in")


def test_a_key_that_does_something_else_is_refused_with_what_it_does(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    change(desk, "mark in", "l")
    expect(desk.part("keys-said")).to_have_text(
        "L is “forwards at your pace; again for 2, 4, 8 times”: give that another key first."
    )
    cast.logger.refresh_from_db()
    assert habits.of(cast.logger)["keys"] == {}


def test_the_usual_key_is_given_back(room, cast, clip):
    habits.keep(cast.logger, {"frameOn": ["F2"]})
    desk = room.watch(cast.logger, clip, frame=20)
    desk.press("?")
    desk.page.get_by_role("button", name="Give back the usual key of: one frame on").click()
    expect(desk.part("keys-said")).to_contain_text("Kept")
    desk.press("Escape", "ArrowRight")
    desk.shows(21)


def test_escape_leaves_a_key_as_it_is(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=20)
    change(desk, "one frame on", "Escape")
    expect(desk.part("keys-said")).to_be_empty()
    expect(desk.part("keys")).to_be_visible()
    desk.press("Escape", "ArrowRight")
    desk.shows(21)


def test_a_letter_that_a_tag_had_is_taken_from_it_and_said(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    tag = desk.page.locator('[data-tag="gull"]')
    expect(tag).to_have_text("gull A")
    change(desk, "catch: a select of the last seconds", "a")
    expect(desk.part("keys-said")).to_contain_text("The tag “gull” has no key now: click it, or type it.")
    desk.press("Escape", "a")
    expect(desk.listed).to_have_count(1)
    expect(tag).to_have_text("gull")
