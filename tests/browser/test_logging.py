"""A logger at work, with the keyboard."""

import re

from playwright.sync_api import expect

from review import roles
from review.crew import people
from review.models import Select
from tests.browser.desk import ready
from tests.conftest import PASSWORD


def test_it_works_from_the_sign_in_page_to_a_saved_select(room, cast, clip):
    people.add_member("logger", cast.nr07, roles.LOGGER)
    page = room.enter(None, "/")
    page.get_by_label("Name").fill("logger")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="My stints")).to_be_visible()
    page.get_by_role("navigation", name="Pages").get_by_role("link", name="Cards").click()
    page.get_by_role("link", name="KB04-261112-A01").click()
    page.get_by_role("link", name="A001C001").click()
    ready(page)
    page.keyboard.press("i")
    page.keyboard.press("End")
    expect(page.locator("#timecode")).to_have_text("10:00:05:24")
    page.keyboard.press("o")
    expect(page.locator("#saved")).to_have_text("all saved")
    made = Select.objects.get()
    assert (made.clip, made.in_frame, made.out_frame, made.logger) == (clip, 0, 150, cast.logger)


def test_a_wrong_password_is_told_in_words(room, cast):
    page = room.enter(None, "/")
    page.get_by_label("Name").fill("logger")
    page.get_by_label("Password").fill("not it")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("alert")).to_contain_text("do not belong together")


def test_somebody_of_another_production_does_not_see_the_clip(room, cast, clip):
    room.expected.append("status of 404")
    page = room.enter(cast.stranger, f"/clips/{clip.id}/")
    expect(page.locator("main")).to_contain_text("Not here")


def test_it_plays_by_the_keys_of_the_trade(room, cast, clip):
    # common practice, no source: L forwards, J backwards, each again for faster, K and space stop
    desk = room.watch(cast.logger, clip)
    speed = desk.part("speed")
    for key, words in (("l", "playing"), ("l", "2×"), ("l", "4×"), ("l", "8×"), ("l", "8×"), ("k", "still")):
        desk.press(key)
        expect(speed).to_have_text(words)
    desk.press("End")
    desk.shows(149)
    for key, words in (("j", "back 1×"), ("j", "back 2×")):
        desk.press(key)
        expect(speed).to_have_text(words)
    desk.shows(*range(140))
    desk.press("k")
    expect(speed).to_have_text("still")
    for key, frame in (("Home", 0), ("ArrowRight", 1), ("Shift+ArrowRight", 26), ("ArrowLeft", 25)):
        desk.press(key)
        desk.shows(frame)
    desk.press("Shift+ArrowLeft")
    desk.shows(0)
    desk.press("ArrowLeft")  # there is nothing before the first frame
    desk.press("Space")
    expect(speed).to_have_text("playing")
    desk.shows(*range(10, 149))
    desk.press("Space")
    expect(speed).to_have_text("still")
    desk.press("End")
    desk.shows(149)
    desk.press("ArrowRight")  # nor after the last
    desk.shows(149)
    assert desk.number() == 149


def test_backwards_stops_at_the_first_frame(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=20)
    desk.press("j")
    expect(desk.part("speed")).to_have_text("still")
    desk.shows(0)
    assert desk.number() == 0


def test_a_select_is_made_tagged_noted_and_rated(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.mark(5, 40)
    expect(desk.listed).to_have_count(1)
    expect(desk.part("in")).to_have_text("10:00:00:05")
    expect(desk.part("out")).to_have_text("10:00:01:15")
    desk.press("a", "4", "n")
    desk.page.keyboard.type("It lands on the net.")
    desk.press("Escape")
    desk.part("tag").fill("Low tide")
    desk.press("Enter", "Escape")
    expect(desk.listed).to_contain_text("rated 4")
    for words in ("gull", "Low tide", "It lands on the net."):
        expect(desk.listed).to_contain_text(words)
    desk.saved()
    made = Select.objects.get()
    assert (made.in_frame, made.out_frame, made.rating, made.note) == (5, 40, 4, "It lands on the net.")
    assert sorted(tag.name for tag in made.tags.all()) == ["Low tide", "gull"]

    desk.press("a", "0")  # the same key takes the tag away
    desk.saved()
    made = Select.objects.get()
    assert (made.rating, [tag.name for tag in made.tags.all()]) == (0, ["Low tide"])

    before = desk.listed.all_inner_texts()
    desk = desk.reload()
    assert desk.listed.all_inner_texts() == before
    expect(desk.page.get_by_role("button", name="Low tide")).to_be_visible()  # the new word is on the board


def test_what_is_typed_in_a_field_is_not_taken_for_keys(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.mark(5, 40)
    desk.press("n")
    desk.page.keyboard.type("l i o 5 k")
    desk.press("Escape")
    desk.saved()
    made = Select.objects.get()
    assert (made.note, made.rating) == ("l i o 5 k", 0)
    desk.shows(39)


def test_out_before_in_is_told_and_nothing_is_made(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.go(30)
    desk.press("i", "Home")
    desk.shows(0)
    desk.press("o")
    expect(desk.part("trouble")).to_have_text(re.compile(r"Out \(10:00:00:00\) is before in \(10:00:01:05\)"))
    expect(desk.listed).to_have_count(0)
    desk.press("i", "o")  # one frame is a select
    desk.saved()
    assert [(each.in_frame, each.out_frame) for each in desk.selects()] == [(0, 1)]


def test_its_ends_are_moved(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.mark(30, 60)
    desk.go(27)
    desk.press("Shift+I")
    desk.go(76)
    desk.press("Shift+O")
    expect(desk.part("out")).to_have_text("10:00:03:02")
    desk.saved()
    assert [(each.in_frame, each.out_frame) for each in desk.selects()] == [(27, 77)]
    desk.press("Home")
    desk.shows(0)
    desk.press("Shift+O")
    expect(desk.part("trouble")).to_have_text("In must stay before out.")


def test_a_delete_is_undone_and_redone(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.mark(5, 40)
    desk.saved()  # one that the server has never heard of would be deleted with a 404, which the page reports
    desk.press("3", "Delete")
    expect(desk.listed).to_have_count(0)
    desk.saved()
    assert desk.selects() == []
    desk.press("Control+z")
    expect(desk.listed).to_contain_text("rated 3")
    desk.saved()
    assert [(each.in_frame, each.rating) for each in desk.selects()] == [(5, 3)]
    desk.press("Control+z")  # the rating
    expect(desk.listed).not_to_contain_text("rated")
    desk.press("Control+Shift+Z", "Control+Shift+Z")
    expect(desk.listed).to_have_count(0)
    desk.saved()
    assert desk.selects() == []
    assert Select.objects.count() == 1, "a deleted select is kept"


def test_arrows_go_from_select_to_select(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    for start in (10, 40, 70):
        desk.mark(start, start + 10)
    desk.press("Escape", "Home")
    desk.shows(0)
    for key, frame in (("ArrowDown", 10), ("ArrowDown", 40), ("ArrowDown", 70), ("ArrowDown", 70), ("ArrowUp", 40)):
        desk.press(key)
        desk.shows(frame)
    desk.listed.first.click()
    desk.shows(10)


def test_the_proofs_are_those_of_the_marks_just_made(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.mark(5, 10)
    assert (desk.number("in-proof"), desk.number("out-proof")) == (5, 9)
    desk.mark(15, 20)
    assert (desk.number("in-proof"), desk.number("out-proof")) == (15, 19)
    desk.listed.first.click()  # one marked earlier has them again
    desk.proves(5, 9)
    desk.press("Control+ArrowRight", "Control+ArrowRight")  # and each follows its end
    desk.proves(7, 9)
    desk.press("Control+z", "Control+z", "Escape")
    desk.proves(None, None)
    assert desk.page.locator("video").count() == 1


def test_somebody_who_may_not_mark_is_told_so(room, cast, clip):
    desk = room.watch(cast.media_manager, clip)
    expect(desk.part("mark")).to_have_count(0)
    desk.press("i")
    expect(desk.part("trouble")).to_contain_text("does not mark selects")
