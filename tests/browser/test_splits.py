"""Pieces of a proposed split are dragged to a logger's row: with a mouse, and with a finger."""

import re

import pytest
from playwright.sync_api import Page, expect

from review.models import Split
from review.team import planning

MINUTE = 60 * 25


@pytest.fixture
def split(cast, make_clip) -> Split:
    """An hour of two cameras for two people: three pieces of ten minutes each."""
    for camera in "AB":
        for at in range(3):
            card = f"KB04-261112-{camera}01"
            make_clip(f"{camera}{at}", card=card, frames=10 * MINUTE, start=f"1{at}:00:00:00")
    return planning.propose(cast.producer, cast.kb04, {}, {"logger": 8, "editor": 8})


def share(page: Page, name: str):
    return page.locator(f"#balance tr[data-logger='{name}']")


def pieces(page: Page, name: str):
    return page.locator(f"#rows tbody tr[data-logger='{name}']")


def middle(part) -> tuple[float, float]:
    part.scroll_into_view_if_needed()
    box = part.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page: Page, part, target) -> None:
    """Press on a part of a piece's row and go over a logger's row, without letting go."""
    page.mouse.move(*middle(part))
    page.mouse.down()
    page.mouse.move(*middle(target), steps=6)


def names_of(split: Split) -> list[str]:
    return sorted(split.pieces.values_list("logger__username", flat=True))


def test_a_piece_is_dragged_and_its_new_total_is_shown_before_the_drop(room, cast, split):
    page = room.enter(cast.producer, f"/splits/{split.id}/")
    drag(page, pieces(page, "logger").first.locator(".grip"), share(page, "editor"))
    expect(share(page, "editor")).to_have_class(re.compile("drop-here"))
    expect(share(page, "editor").locator(".would")).to_have_text("\u2192 40 min 00 s")
    expect(share(page, "logger").locator(".would")).to_have_text("\u2192 20 min 00 s")
    expect(page.locator(".ghost")).to_have_text(re.compile(r"KB04-261112-.01 · .\d"))
    assert names_of(split) == ["editor"] * 3 + ["logger"] * 3, "nothing is moved before the drop"
    page.mouse.up()
    expect(page.locator("#moved")).to_have_text("1 moved to editor.")
    expect(share(page, "editor")).to_contain_text(re.compile(r"40 min 00 s.*\+33\.3 %"))
    expect(page.locator(".ghost, .drop-here, .dragged")).to_have_count(0)
    assert names_of(split) == ["editor"] * 4 + ["logger"] * 2


def test_what_is_ticked_goes_along_and_one_drag_after_the_other_is_no_conflict(room, cast, split):
    page = room.enter(cast.producer, f"/splits/{split.id}/")
    for at in range(2):
        pieces(page, "logger").nth(at).get_by_role("checkbox").check()
    drag(page, pieces(page, "logger").first.locator(".number"), share(page, ""))
    expect(page.locator(".ghost")).to_contain_text("and 1 more")
    expect(share(page, "").locator(".would")).to_have_text("\u2192 20 min 00 s")
    page.mouse.up()
    drag(page, pieces(page, "editor").first.locator(".logger"), share(page, "logger"))
    page.mouse.up()
    expect(page.locator("#moved")).to_have_text("1 moved to logger.")
    expect(page.locator("#trouble")).to_be_hidden()
    assert [each.logger and each.logger.username for each in split.pieces.all()].count(None) == 2


def test_escape_or_a_drop_elsewhere_changes_nothing(room, cast, split):
    page = room.enter(cast.producer, f"/splits/{split.id}/")
    drag(page, pieces(page, "logger").first.locator(".grip"), share(page, "editor"))
    page.keyboard.press("Escape")
    expect(page.locator(".ghost, .drop-here, .dragged")).to_have_count(0)
    page.mouse.up()
    drag(page, pieces(page, "logger").first.locator(".grip"), page.locator("h1"))
    page.mouse.up()
    expect(page.locator(".ghost")).to_have_count(0)
    expect(page.locator("#moved")).to_be_empty()
    split.refresh_from_db()
    assert split.version == 1 and names_of(split) == ["editor"] * 3 + ["logger"] * 3


def test_escape_unticks_and_the_even_share_follows_what_is_given_to_nobody(room, cast, split):
    page = room.enter(cast.producer, f"/splits/{split.id}/")
    boxes = page.locator("#rows tbody").get_by_role("checkbox")
    for at in range(2):
        boxes.nth(at).check()
    drag(page, pieces(page, "logger").first.locator(".grip"), share(page, "editor"))
    page.keyboard.press("Escape")
    expect(page.locator("#count")).to_have_text("2 ticked")  # the drag is let go of, and no more
    page.mouse.up()
    page.keyboard.press("Escape")
    expect(page.locator("#count")).to_have_text("none ticked")
    expect(page.locator("#even")).to_have_text("3 min 45 s")
    drag(page, pieces(page, "logger").first.locator(".grip"), share(page, ""))
    page.mouse.up()
    expect(page.locator("#even")).to_have_text("3 min 08 s")
    expect(page.locator("#balance .far")).to_have_text("+20.0 %")
    page.reload()
    expect(page.locator("#even")).to_have_text("3 min 08 s")
    expect(page.locator("#balance .far")).to_have_text("+20.0 %")


def test_a_finger_drags_by_the_grip(room, cast, split):
    context = room.context(cast.producer, has_touch=True)
    page = context.new_page()
    page.goto(f"/splits/{split.id}/")
    touch = context.new_cdp_session(page)

    def send(kind, *at):
        points = [{"x": at[0], "y": at[1]}] if at else []
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    start, end = middle(pieces(page, "logger").first.locator(".grip")), middle(share(page, "editor"))
    send("touchStart", *start)
    for part in (0.3, 0.7, 1):
        send("touchMove", *(a + (b - a) * part for a, b in zip(start, end, strict=True)))
    expect(share(page, "editor").locator(".would")).to_have_text("\u2192 40 min 00 s")
    send("touchEnd")
    expect(page.locator("#moved")).to_have_text("1 moved to editor.")


def test_somebody_who_was_slower_is_told(room, cast, split):
    room.expected.append("409")
    page = room.enter(cast.producer, f"/splits/{split.id}/")
    planning.move(cast.owner, split, 1, {split.pieces.last().id: None})
    drag(page, pieces(page, "logger").first.locator(".grip"), share(page, "editor"))
    page.mouse.up()
    expect(page.locator("#trouble")).to_contain_text("Somebody moved pieces of this split since you saw it")
    expect(page.get_by_role("link", name="Load it again")).to_be_visible()


def test_who_may_not_hand_out_has_nothing_to_drag(room, cast, split):
    page = room.enter(cast.logger, f"/splits/{split.id}/")
    expect(page.locator("#rows tbody tr")).to_have_count(6)
    expect(page.locator(".grip, #moving")).to_have_count(0)
