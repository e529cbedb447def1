"""Two people, or two tabs, at one select: both are told, and neither is overwritten."""

import pytest
from playwright.sync_api import expect

from review.models import Select
from tests.browser.desk import Desk

UNREACHED = "ERR_INTERNET_DISCONNECTED|ERR_FAILED"

REFUSED = r"status of \d+"


def versions(told) -> dict[str, tuple[str, str]]:
    """The rows that the question compares: what is compared -> what mine and theirs say."""
    expect(told).to_be_visible()
    rows = told.locator("tr").all()[1:]
    return {row.locator("th").inner_text(): tuple(row.locator("td").all_inner_texts()) for row in rows}


def deaf(desk: Desk) -> Desk:
    """Nothing that others mark is heard of at this desk, as in the seconds before it would be."""
    nothing = {"others": [], "selects": [], "now": None, "proxied_frames": 0, "proxy_state": "ready"}
    desk.page.route("**/pulse/", lambda route: route.fulfill(json=nothing))
    return desk


def at_one_select(room, cast, clip, key: str) -> tuple[Desk, Desk]:
    """A logger, and an editor who presses `key` on the logger's select after the logger's page was loaded."""
    room.expected.append("status of 409")
    logger = deaf(room.watch(cast.logger, clip))
    logger.mark(5, 40)
    logger.saved()
    editor = room.watch(cast.editor, clip)
    editor.listed.first.click()
    editor.press(key)
    editor.saved()
    return logger, editor


@pytest.fixture
def two_desks(room, cast, clip):
    """A logger and an editor with the same select; the editor has given it 5 since the logger's page was loaded."""
    return at_one_select(room, cast, clip, "5")


def test_two_people_changing_one_select_are_told(two_desks):
    logger, _ = two_desks
    logger.press("n")
    logger.page.keyboard.type("It lands.")
    logger.press("Escape")
    told = logger.page.get_by_role("dialog", name="Changed by somebody else")
    assert versions(told) == {
        "Range": ("10:00:00:05 – 10:00:01:15", "10:00:00:05 – 10:00:01:15"),
        "Rating": ("none", "5"),
        "Tags": ("none", "none"),
        "Note": ("It lands.", "none"),
    }
    told.get_by_role("button", name="Take theirs").click()
    expect(logger.part("note")).to_have_value("")
    logger.press("s")  # and work goes on from there
    logger.saved()
    made = Select.objects.get()
    assert (made.rating, made.note, [tag.name for tag in made.tags.all()]) == (5, "", ["net"])


def test_deleting_what_somebody_else_changed_is_told(two_desks):
    logger, _ = two_desks
    logger.press("Delete")
    told = logger.page.get_by_role("dialog", name="Changed by somebody else")
    expect(told).to_contain_text("deleted")
    assert versions(told)[""] == ("deleted", "kept, as below")
    expect(told.get_by_role("button", name="Keep both")).to_be_hidden()
    told.get_by_role("button", name="Keep mine").click()
    logger.saved()
    assert Select.objects.get().deleted is not None


def test_two_conflicts_are_asked_about_one_after_the_other_and_a_stray_key_is_no_answer(room, cast, clip):
    room.expected += [UNREACHED, "status of 409"]
    logger = deaf(room.watch(cast.logger, clip))
    for start in (5, 50):
        logger.mark(start, start + 10)
    logger.saved()
    editor = room.watch(cast.editor, clip)
    logger.page.context.set_offline(True)
    for at, rating in ((0, "1"), (1, "2")):
        logger.listed.nth(at).click()
        logger.press(rating)
        editor.listed.nth(at).click()
        editor.press("5")
    editor.saved()
    logger.page.context.set_offline(False)
    told = logger.page.get_by_role("dialog", name="Changed by somebody else")
    expect(told).to_contain_text("10:00:00:05 –")
    logger.press("Space", "Enter", "Escape")  # pressed for the page, just as the question came
    expect(told).to_contain_text("10:00:00:05 –")
    told.get_by_role("button", name="Keep mine").click()
    expect(told).to_contain_text("10:00:02:00 –")
    told.get_by_role("button", name="Take theirs").click()
    expect(told).to_be_hidden()
    logger.saved()
    assert [each.rating for each in logger.selects()] == [1, 5]


def test_keeping_both_makes_two_selects_of_one(two_desks):
    logger, _ = two_desks
    logger.press("1")
    told = logger.page.get_by_role("dialog", name="Changed by somebody else")
    told.get_by_role("button", name="Keep both").click()
    logger.saved()
    assert sorted(each.rating for each in logger.selects()) == [1, 5]
    assert {(each.in_frame, each.out_frame) for each in logger.selects()} == {(5, 40)}


def test_whichever_is_chosen_undo_brings_the_other_back(two_desks):
    logger, _ = two_desks
    logger.press("1")
    told = logger.page.get_by_role("dialog", name="Changed by somebody else")
    told.get_by_role("button", name="Take theirs").click()
    logger.saved()
    for key, rating in (("Control+z", 1), ("Control+Shift+Z", 5)):
        logger.press(key)
        logger.saved()
        assert Select.objects.get().rating == rating


def test_a_change_of_what_somebody_else_deleted_is_told(room, cast, clip):
    logger, _ = at_one_select(room, cast, clip, "Delete")
    logger.press("4")
    told = logger.page.get_by_role("dialog", name="Changed by somebody else")
    assert versions(told)[""] == ("kept, as below", "deleted")
    told.get_by_role("button", name="Keep mine").click()
    logger.saved()
    made = Select.objects.get()
    assert (made.rating, made.deleted) == (4, None)


@pytest.fixture
def two_tabs(room, cast, clip):
    """One logger with one select of the clip in two tabs."""
    one = room.watch(cast.logger, clip)
    one.mark(5, 10)
    one.saved()
    two = Desk.open(one.page.context.new_page(), clip)
    two.listed.first.click()
    return one, two


def test_two_tabs_show_each_others_marks_and_build_on_them(two_tabs):
    one, two = two_tabs
    two.mark(20, 30)
    expect(one.listed).to_have_count(2)
    two.listed.first.click()
    two.press("4")
    expect(one.listed.first).to_contain_text("rated 4")
    one.page.bring_to_front()
    one.listed.first.click()
    one.press("a")
    expect(two.listed.first).to_contain_text("gull")
    one.saved()
    two.saved()
    made = one.selects()[0]
    assert (made.rating, [tag.name for tag in made.tags.all()]) == (4, ["gull"])
    assert len(one.selects()) == 2
    one.press("Delete")
    expect(two.listed).to_have_count(1)


def test_two_tabs_that_did_not_hear_of_each_other_are_told_and_choose(room, cast, clip):
    # as where a tab had been put to sleep: nothing gets from one to the other
    room.expected += [UNREACHED, "status of 409"]
    context = room.context(cast.logger)
    context.add_init_script("delete window.BroadcastChannel;")
    one = Desk.open(context.new_page(), clip)
    one.mark(5, 10)
    one.saved()
    two = Desk.open(context.new_page(), clip)
    context.set_offline(True)
    two.listed.first.click()
    two.press("4")
    expect(two.part("saved")).to_have_text("1 kept here, not sent yet")
    one.page.bring_to_front()
    one.press("2")
    expect(one.part("saved")).to_have_text("1 kept here, not sent yet")
    context.set_offline(False)
    told = one.page.get_by_role("dialog", name="Changed by somebody else")
    told_too = two.page.get_by_role("dialog", name="Changed by somebody else")
    for _ in range(100):  # whichever tab sends it is told
        if told.is_visible() or told_too.is_visible():
            break
        one.page.wait_for_timeout(100)
    asked, question = (one, told) if told.is_visible() else (two, told_too)
    asked.page.bring_to_front()
    assert versions(question)["Rating"] == ("2", "4"), "the second one made is asked about"
    question.get_by_role("button", name="Keep mine").click()
    asked.saved()
    assert Select.objects.get().rating == 2
