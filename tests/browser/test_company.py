"""Who else is at a clip, what they mark, and what is left for whoever comes next."""

import time
import uuid

import pytest
from playwright.sync_api import expect

from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Viewing
from review.record import presence

SOON = 5_000  # ms: marks of others are to appear within five seconds


@pytest.fixture
def clip(ready_clip):
    return ready_clip(frames=250)


def test_two_at_a_clip_see_where_the_other_is(room, cast, clip):
    logger = room.watch(cast.logger, clip, frame=30, hurried=True)
    editor = room.watch(cast.editor, clip, frame=60, hurried=True)
    expect(editor.part("here")).to_have_text(f"logger is at {clip.label(30)}")
    expect(logger.part("here")).to_have_text(f"editor is at {clip.label(60)}")
    editor.press("Shift+ArrowRight")
    expect(logger.part("here")).to_have_text(f"editor is at {clip.label(85)}")
    editor.page.goto("/coverage/")
    expect(logger.part("here")).to_be_empty()


def test_marks_of_others_appear_within_five_seconds_in_their_name(room, cast, clip):
    logger = room.watch(cast.logger, clip)
    expect(logger.listed).to_have_count(0)
    logger.page.wait_for_timeout(500)
    select = selecting.put(cast.editor, uuid.uuid4(), clip, Mark(20, 60, ("gull",), "Lands."), 0)
    expect(logger.listed).to_have_count(1, timeout=SOON)
    expect(logger.listed).to_contain_text("editor")
    expect(logger.listed).to_contain_text("gull")
    selecting.put(cast.editor, select.id, clip, Mark(20, 70, ("gull",), "Lands and leaves."), select.version)
    expect(logger.listed).to_contain_text("Lands and leaves.", timeout=SOON)
    select.refresh_from_db()
    selecting.delete(cast.editor, select, select.version)
    expect(logger.listed).to_have_count(0, timeout=SOON)


def test_what_others_watch_appears_within_five_seconds(room, cast, clip):
    logger = room.watch(cast.logger, clip)
    editor = room.watch(cast.editor, clip)
    expect(logger.part("coverage")).to_have_text("0 % watched")
    asked = []
    logger.page.on("request", lambda request: asked.append(request.url) if "/watched/" in request.url else None)
    editor.press("l")
    editor.shows(*range(30, 250))
    editor.press("k")
    expect(logger.part("coverage")).not_to_have_text("0 % watched", timeout=SOON)
    expect(editor.part("coverage")).not_to_have_text("0 % watched")
    assert asked == []  # the pulse brings it


def test_a_note_that_two_write_at_once_is_asked_about_and_not_written_over(room, cast, clip):
    room.expected.append("status of 409")
    select = selecting.put(cast.logger, uuid.uuid4(), clip, Mark(20, 60, (), "Lands."), 0)
    logger = room.watch(cast.logger, clip, hurried=True)
    logger.press("ArrowDown", "n")
    expect(logger.part("note")).to_be_focused()
    selecting.put(cast.editor, select.id, clip, Mark(20, 60, (), "Lands and leaves."), select.version)
    for _ in range(2):  # it is heard of, while the note is being written
        with logger.page.expect_response("**/pulse/"):
            pass
    logger.page.keyboard.type("It ")
    logger.press("Escape")
    expect(logger.page.get_by_role("dialog", name="Changed by somebody else")).to_contain_text("Lands and leaves.")
    select.refresh_from_db()
    assert select.note == "Lands and leaves."


def test_what_changed_while_a_note_was_only_looked_at_is_heard_afterwards(room, cast, clip):
    select = selecting.put(cast.logger, uuid.uuid4(), clip, Mark(20, 60, (), "Lands."), 0)
    logger = room.watch(cast.logger, clip, hurried=True)
    logger.press("ArrowDown", "n")
    selecting.put(cast.editor, select.id, clip, Mark(20, 60, (), "Lands and leaves."), select.version)
    for _ in range(2):
        with logger.page.expect_response("**/pulse/"):
            pass
    expect(logger.part("note")).to_have_value("Lands.")
    logger.press("Escape")
    expect(logger.part("note")).to_have_value("Lands and leaves.", timeout=SOON)


def test_ones_own_other_window_is_nobody_else(room, cast, clip):
    room.watch(cast.logger, clip, frame=30, hurried=True)
    second = room.watch(cast.logger, clip, hurried=True)
    with second.page.expect_response("**/pulse/"):
        pass
    expect(second.part("here")).to_be_empty()


def _wait_until_left(person) -> None:
    """Until the server has heard it: the last word of a page that is closed may come a little after."""
    deadline = time.monotonic() + 10
    while Viewing.objects.get(person=person).left_at is None:
        assert time.monotonic() < deadline, "nothing said that the page was left"
        time.sleep(0.05)


def test_the_next_person_gets_the_frame_what_is_unwatched_and_the_remark(room, cast, clip):
    logger = room.watch(cast.logger, clip, frame=112, hurried=True)
    logger.press("Shift+R")
    expect(logger.part("remark")).to_be_focused()
    logger.page.keyboard.type("go on from the clap")
    with logger.page.expect_response("**/leave/"):
        logger.press("Enter")
    logger.press("ArrowRight")  # the keys are the page's again
    logger.shows(113)
    logger.page.goto("/coverage/")
    _wait_until_left(cast.logger)

    editor = room.watch(cast.editor, clip, hurried=True)
    line = editor.page.locator(".hand-over")
    expect(line).to_have_text(f"logger left at {clip.label(113)} (10 s unwatched): “go on from the clap”")
    line.get_by_role("button").click()
    editor.shows(113)
    assert editor.number() == 113


def test_a_remark_that_is_still_being_written_is_sent_as_the_page_is_left(room, cast, clip):
    logger = room.watch(cast.logger, clip, hurried=True)
    logger.press("Shift+R")
    logger.page.keyboard.type("the skipper speaks")
    logger.page.goto("/coverage/")
    expect(logger.page.locator("h1")).to_be_visible()
    logger.page.wait_for_timeout(500)
    assert Viewing.objects.get(person=cast.logger).remark == "the skipper speaks"


def test_who_is_still_here_has_not_left(room, cast, clip):
    presence.pulse(cast.editor, clip, uuid.uuid4(), 30, None)
    logger = room.watch(cast.logger, clip, hurried=True)
    expect(logger.page.locator(".hand-over")).to_have_count(0)
    expect(logger.part("here")).to_have_text(f"editor is at {clip.label(30)}")
