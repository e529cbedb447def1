"""Other angles of a moment: seen, gone to, marked in one act; and the clock of a camera that was not set."""

import uuid
from fractions import Fraction

import pytest
from playwright.sync_api import expect

from review.marking import card_clocks, carrying, selecting
from review.marking.selecting import Mark
from review.models import Card, Select


@pytest.fixture
def two(ready_clip):
    """Two cameras that rolled together from 10:00:00:00, the second not so long."""
    return ready_clip(frames=250), ready_clip("KB04-261112-B01", frames=200)


def test_the_other_camera_is_shown_and_a_key_goes_to_the_same_moment(room, cast, two):
    first, second = two
    desk = room.watch(cast.logger, first, frame=40)
    expect(desk.part("angles").get_by_role("button")).to_have_text("B")
    desk.press("ArrowRight")
    desk.shows(41)
    desk.press("PageDown")
    desk.page.wait_for_url(f"**/clips/{second.id}/?frame=41")
    other = type(desk)(desk.page, second)
    other.shows(41)
    assert other.number() == 41
    expect(other.part("angles").get_by_role("button")).to_have_text("A")
    other.part("angles").get_by_role("button").click()
    desk.page.wait_for_url(f"**/clips/{first.id}/?frame=41")


def test_where_nothing_else_was_rolling_it_says_so(room, cast, two):
    first, _ = two
    desk = room.watch(cast.logger, first, frame=230)
    expect(desk.part("angles")).to_have_text("Nothing else was rolling at this moment.")
    desk.press("PageDown")
    expect(desk.part("trouble")).to_have_text("Nothing else was rolling at this moment.")


def test_a_clip_that_was_alone_has_no_panel(room, cast, ready_clip):
    desk = room.watch(cast.logger, ready_clip(frames=150))
    expect(desk.part("angles")).to_have_count(0)
    desk.press("PageDown")
    expect(desk.part("trouble")).to_have_text("Nothing else was rolling at this moment.")


def test_a_select_is_carried_in_one_act_and_told_apart(room, cast, two):
    first, second = two
    desk = room.watch(cast.logger, first)
    desk.mark(20, 60)
    desk.press("3")
    desk.saved()
    desk.page.get_by_role("button", name="Carry").click()
    expect(desk.part("trouble")).to_have_text(
        f"Carried, and linked to this one: KB04-261112-B01 {second.name} at 10:00:00:20."
    )
    carried = second.selects.get()
    assert (carried.in_frame, carried.out_frame, carried.rating) == (20, 60, 3)
    assert carried.carried_from_id == first.selects.get().id
    desk.press("Shift+C")  # twice is once
    expect(desk.part("trouble")).to_contain_text("Carried")
    assert Select.objects.count() == 2
    other = room.watch(cast.editor, second)
    expect(other.listed).to_contain_text("logger, carried from A")


def test_one_that_is_carried_while_the_other_clip_is_open_names_where_it_came_from(room, cast, two):
    first, second = two
    other = room.watch(cast.editor, second)
    select = selecting.put(cast.logger, uuid.uuid4(), first, Mark(20, 60), 0)
    carrying.carry(cast.logger, select)
    expect(other.listed).to_contain_text("carried from KB04-261112-A01")


def test_a_clap_in_two_clips_sets_the_clock_of_a_card(room, cast, two):
    first, second = two
    desk = room.watch(cast.logger, first, frame=50)
    desk.part("clap-button").click()
    clap = desk.page.get_by_role("dialog", name="Clock of KB04-261112-A01")
    expect(clap).to_contain_text("KB04-261112-A01 is believed by its own timecode.")
    expect(clap.get_by_role("button", name="This is the same clap")).to_be_hidden()
    clap.get_by_role("button", name="Clap here").click()
    expect(clap).to_contain_text("The first clap: KB04-261112-A01 A001C001 at 10:00:02:00.")

    other = type(desk).open(desk.page, second, 75)
    other.part("clap-button").click()
    clap = other.page.get_by_role("dialog", name="Clock of KB04-261112-B01")
    clap.get_by_role("button", name="This is the same clap").click()
    expect(clap).to_contain_text("The clock of KB04-261112-B01 is set: −1.00 s, for all its clips.")
    card = Card.objects.get(id=second.card_id)
    assert card.clock_set and card.clock_offset == Fraction(-1)
    clap.get_by_role("button", name="Close").click()
    other.press("PageUp")
    other.page.wait_for_url(f"**/clips/{first.id}/?frame=50")

    other = type(desk).open(desk.page, second, 75)
    other.part("clap-button").click()
    clap.get_by_role("button", name="Believe its own timecode").click()
    expect(clap).to_contain_text("The card's own timecode is believed again.")
    assert not Card.objects.get(id=second.card_id).clock_set


def test_two_frames_of_one_card_are_no_clap_of_two_cameras(room, cast, two):
    desk = room.watch(cast.logger, two[0], frame=50)
    desk.part("clap-button").click()
    clap = desk.page.get_by_role("dialog", name="Clock of KB04-261112-A01")
    clap.get_by_role("button", name="Clap here").click()
    expect(clap.get_by_role("button", name="This is the same clap")).to_be_hidden()
    clap.get_by_role("button", name="Forget it").click()
    expect(clap).not_to_contain_text("The first clap:")


def test_the_sound_suggests_a_clock_and_says_how_sure_it_is(room, cast, two, monkeypatch):
    """What the sound tells is tested with the server's part; here, what comes of it."""
    first, _ = two
    monkeypatch.setattr(card_clocks, "suggest", lambda *_: (Fraction(48, 100), 0.87))
    desk = room.watch(cast.logger, first, frame=50)
    expect(desk.part("angles").get_by_role("button")).to_have_count(1)
    desk.part("clap-button").click()
    clap = desk.page.get_by_role("dialog", name="Clock of KB04-261112-A01")
    clap.get_by_role("button", name="Suggest by sound").click()
    expect(clap).to_contain_text("By the sound it is +0.48 s, 87 % sure.")
    assert not Card.objects.get(id=first.card_id).clock_set, "a suggestion changes nothing"
    clap.get_by_role("button", name="Set it so").click()
    expect(clap).to_contain_text("The clock of KB04-261112-A01 is set: +0.48 s, for all its clips.")
    assert Card.objects.get(id=first.card_id).clock_offset == Fraction(12, 25)


def test_where_the_sound_does_not_tell_nothing_is_suggested(room, cast, two, monkeypatch):
    monkeypatch.setattr(card_clocks, "suggest", lambda *_: None)
    desk = room.watch(cast.logger, two[0], frame=50)
    expect(desk.part("angles").get_by_role("button")).to_have_count(1)
    desk.part("clap-button").click()
    clap = desk.page.get_by_role("dialog", name="Clock of KB04-261112-A01")
    clap.get_by_role("button", name="Suggest by sound").click()
    expect(clap).to_contain_text("Their sound does not tell: choose the clap in both by hand.")
    expect(clap.get_by_role("button", name="Set it so")).to_be_hidden()
