"""Handing out: a producer plans a split in a minute; a logger finds their part, and goes on by one key."""

import re

import pytest
from playwright.sync_api import expect

from review.models import Split, Stint
from review.record import stints
from review.team import handing_out, planning

MINUTE = 60 * 25


@pytest.fixture
def shoot(make_clip):
    """An hour of two cameras."""
    return [
        make_clip(f"{camera}{at}", card=f"KB04-261112-{camera}01", frames=10 * MINUTE, start=f"1{at}:00:00:00")
        for camera in "AB"
        for at in range(3)
    ]


def accepted(cast, **hours):
    split = planning.propose(cast.producer, cast.kb04, {}, hours)
    return handing_out.accept(cast.producer, split, split.version)


def test_a_producer_plans_a_split_moves_a_piece_and_hands_it_out(room, cast, shoot):
    page = room.enter(cast.producer, "/stints/?production=KB04")
    page.get_by_role("link", name="Plan a split").first.click()
    expect(page.locator("#hours-in-all")).to_have_text("8")  # the one logger's
    page.get_by_label("editor").fill("8")
    expect(page.locator("#hours-in-all")).to_have_text("16")
    page.get_by_role("button", name="Propose a split").click()
    share = page.locator("#balance tr[data-logger=editor]")
    expect(share).to_contain_text(re.compile(r"30 min 00 s.*\+0\.0 %"))
    assert not Stint.objects.exists()
    rows = page.locator("#rows tbody tr").filter(has_text="logger")
    rows.nth(0).get_by_role("checkbox").check()
    page.locator("#to").select_option("editor")
    page.get_by_role("button", name="Move").click()
    expect(share).to_contain_text(re.compile(r"40 min 00 s.*\+33\.3 %"))
    expect(page.locator("#balance tr[data-logger=logger]")).to_contain_text("20 min 00 s")
    page.get_by_role("button", name="Hand it out").click()
    expect(page.locator(".said")).to_contain_text("is handed out")
    assert {person: Stint.objects.filter(logger=person).count() for person in (cast.logger, cast.editor)} == {
        cast.logger: 2,
        cast.editor: 4,
    }
    expect(page.locator(".people-hold")).to_contain_text("40 min 00 s")


def test_hours_may_be_any_number_and_what_is_begun_goes_with_what_is_held(room, cast, shoot):
    stints.take(cast.logger, shoot[0])
    page = room.enter(cast.producer, "/splits/?production=KB04")
    for name, hours in (("logger", "0.1"), ("editor", "0.2")):
        page.get_by_label(name).fill(hours)
    expect(page.locator("#hours-in-all")).to_have_text("0.3")
    again, begun = page.get_by_label("split again"), page.get_by_label("begun by who has no hours")
    begun.check()
    expect(again).to_be_checked()
    again.uncheck()
    expect(begun).not_to_be_checked()
    page.get_by_role("button", name="Propose a split").click()
    expect(page.get_by_role("heading", name="Split")).to_be_visible()


def test_somebody_who_was_slower_is_told_and_nothing_is_moved(room, cast, shoot):
    room.expected.append("409")
    split = planning.propose(cast.producer, cast.kb04, {}, {"logger": 8, "editor": 8})
    page = room.enter(cast.owner, f"/splits/{split.id}/")
    page.locator("#rows tbody").get_by_role("checkbox").nth(0).check()
    planning.move(cast.producer, split, 1, {split.pieces.last().id: None})
    page.locator("#to").select_option("producer")
    page.get_by_role("button", name="Move").click()
    expect(page.locator("#trouble")).to_contain_text("Somebody moved pieces of this split since you saw it")
    assert not split.pieces.filter(logger=cast.producer).exists()
    page.get_by_role("link", name="Load it again").click()
    expect(page.locator("#balance tr[data-logger='']")).to_contain_text("10 min 00 s")


def test_a_run_of_pieces_is_ticked_with_shift(room, cast, shoot):
    split = planning.propose(cast.producer, cast.kb04, {}, {"logger": 8, "editor": 8})
    page = room.enter(cast.producer, f"/splits/{split.id}/")
    boxes = page.locator("#rows tbody").get_by_role("checkbox")
    boxes.nth(1).click()
    boxes.nth(4).click(modifiers=["Shift"])
    expect(page.locator("#count")).to_have_text("4 ticked")


def test_a_logger_sees_what_changed_and_says_so(room, cast, shoot):
    accepted(cast, logger=8, editor=8)
    page = room.enter(cast.logger, "/stints/?production=KB04")
    changed = page.get_by_role("region", name="What changed for you")
    expect(changed).to_contain_text("You got 3 stretches, 30 min 00 s left to watch")
    expect(changed).to_contain_text("handed out by producer")
    expect(page.locator(".headline")).to_contain_text("3 stretches, 30 min 00 s left")
    changed.get_by_role("button", name="I have seen it").click()
    expect(page.get_by_role("region", name="What I hold")).to_be_visible()
    expect(changed).to_have_count(0)


def test_one_key_leads_to_the_next_frame_to_watch(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    stints.take(cast.logger, clip, 60, 150)
    page = room.enter(cast.logger, "/stints/?production=KB04")
    expect(page.locator("#next-key")).to_have_text("U")
    page.keyboard.press("u")
    expect(page.locator("#timecode")).to_have_text("10:00:02:10")


def test_the_key_is_the_persons_own(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    stints.take(cast.logger, clip, 60, 150)
    cast.logger.habits = {"keys": {"nextUnwatched": ["W"]}}
    cast.logger.save()
    page = room.enter(cast.logger, "/stints/?production=KB04")
    expect(page.locator("#next-key")).to_have_text("W")
    page.keyboard.press("w")
    expect(page.locator("#timecode")).to_have_text("10:00:02:10")


def test_a_stretch_is_taken_and_handed_back(room, cast, ready_clip):
    ready_clip(frames=150)
    page = room.enter(cast.logger, "/stints/?production=KB04")
    page.get_by_role("button", name="15 minutes").click()
    expect(page.locator(".said")).to_contain_text("1 stretch of KB04-261112-A01: yours now")
    page.get_by_role("button", name="Hand back").click()
    expect(page.locator(".said")).to_contain_text("is handed back")
    assert not Stint.objects.filter(ended_at=None).exists() and not Split.objects.exists()
