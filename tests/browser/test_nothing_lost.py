"""Nothing a person marked is lost: not without a network, not signed out, and not to somebody else's change."""

import pytest
from playwright.sync_api import expect

from review import tagging
from review.models import Select
from tests.browser.desk import Desk
from tests.conftest import PASSWORD

UNREACHED = "ERR_INTERNET_DISCONNECTED|ERR_FAILED"
REFUSED = r"status of \d+"


@pytest.fixture
def clip(cast, ready_clip):
    tagging.know_all(cast.kb04, {"what": ["gull", "net"], "who": ["Skipper"]})  # keys: a, s, d
    return ready_clip(frames=150)


def test_marks_made_while_the_network_is_away_arrive_once(room, cast, clip):
    room.expected.append(UNREACHED)
    desk = room.watch(cast.logger, clip)
    desk.mark(5, 10)
    desk.saved()
    desk.page.context.set_offline(True)
    desk.press("2")
    desk.mark(15, 20)
    desk.mark(25, 30)
    desk.press("5")
    expect(desk.part("saved")).to_have_text("3 kept here, not sent yet")
    expect(desk.part("trouble")).to_contain_text("your marks are kept in this browser")
    desk.page.context.set_offline(False)
    desk.saved()
    expect(desk.part("trouble")).to_be_hidden()
    assert [(each.in_frame, each.rating) for each in desk.selects()] == [(5, 2), (15, 0), (25, 5)]


def test_marks_outlive_the_page_that_could_not_send_them(room, cast, clip):
    room.expected.append(UNREACHED)
    desk = room.watch(cast.logger, clip)
    desk.page.context.set_offline(True)
    desk.mark(15, 20)
    expect(desk.part("saved")).to_have_text("1 kept here, not sent yet")
    context = desk.page.context
    desk.page.close()
    context.set_offline(False)
    assert Select.objects.count() == 0
    desk = Desk.open(context.new_page(), clip)
    expect(desk.listed).to_have_count(1)
    desk.saved()
    assert [each.in_frame for each in desk.selects()] == [15]


def test_two_tabs_that_cannot_send_keep_the_marks_of_both(room, cast, clip):
    room.expected.append(UNREACHED)
    one = room.watch(cast.logger, clip)
    context = one.page.context
    two = Desk.open(context.new_page(), clip)
    context.set_offline(True)
    two.mark(15, 20)
    two.page.close()
    one.page.bring_to_front()
    one.mark(25, 30)
    one.page.close()
    context.set_offline(False)
    desk = Desk.open(context.new_page(), clip)
    desk.saved()
    assert [each.in_frame for each in desk.selects()] == [15, 25]


def test_a_note_that_is_being_written_outlives_a_reload(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.mark(15, 20)
    desk.press("n")
    desk.page.keyboard.type("Half a sent")
    desk = desk.reload()
    expect(desk.listed).to_contain_text("Half a sent")
    desk.saved()
    assert Select.objects.get().note == "Half a sent"


def test_a_mark_whose_answer_was_lost_is_written_once(room, cast, clip):
    room.expected.append(UNREACHED)
    desk = room.watch(cast.logger, clip)
    lost = []

    def lose_first_answer(route):
        if route.request.method == "PUT" and not lost:
            lost.append(route.fetch().status)  # the server has it; the page never hears so
            route.abort()
        else:
            route.continue_()

    desk.page.route("**/api/v1/selects/**", lose_first_answer)
    desk.mark(15, 20)
    desk.page.wait_for_event("requestfinished", lambda request: request.method == "PUT")
    desk.saved()
    assert lost == [200]
    assert [(each.in_frame, each.version) for each in desk.selects()] == [(15, 1)]


def test_marks_made_while_signed_out_arrive_after_signing_in_again(room, cast, clip):
    room.expected.append(REFUSED)
    desk = room.watch(cast.logger, clip)
    desk.mark(5, 10)
    desk.saved()
    desk.page.context.clear_cookies(name="sessionid")
    desk.mark(15, 20)
    expect(desk.part("trouble")).to_contain_text("You are signed out")
    assert [each.in_frame for each in desk.selects()] == [5]
    page = desk.page
    page.reload()
    page.get_by_label("Name").fill("logger")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.locator("#selects li[data-id]")).to_have_count(2)  # and it is the clip's page again
    desk.saved()
    assert [(each.in_frame, each.version) for each in desk.selects()] == [(5, 1), (15, 1)]


@pytest.fixture
def two_desks(room, cast, clip):
    """A logger and an editor with the same select; the editor has given it 5 since the logger's page was loaded."""
    room.expected.append("status of 409")
    logger = room.watch(cast.logger, clip)
    logger.mark(5, 40)
    logger.saved()
    editor = room.watch(cast.editor, clip)
    editor.listed.first.click()
    editor.press("5")
    editor.saved()
    return logger, editor


def test_two_people_changing_one_select_are_told(two_desks):
    logger, _ = two_desks
    logger.press("n")
    logger.page.keyboard.type("It lands.")
    logger.press("Escape")
    told = logger.page.get_by_role("dialog", name="Changed by somebody else")
    expect(told).to_contain_text("Yours: 10:00:00:05 – 10:00:01:15, rated 0, tags: none, note: It lands.")
    expect(told).to_contain_text("Theirs: 10:00:00:05 – 10:00:01:15, rated 5, tags: none, note: none")
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
    expect(told).to_contain_text("Yours: deleted")
    told.get_by_role("button", name="Keep mine").click()
    logger.saved()
    assert Select.objects.get().deleted is not None


def test_two_conflicts_are_asked_about_one_after_the_other_and_escape_is_no_answer(room, cast, clip):
    room.expected += [UNREACHED, "status of 409"]
    logger = room.watch(cast.logger, clip)
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
    expect(told).to_contain_text("Yours: 10:00:00:05")
    logger.press("Escape")
    expect(told).to_contain_text("Yours: 10:00:00:05")
    told.get_by_role("button", name="Keep mine").click()
    expect(told).to_contain_text("Yours: 10:00:02:00")
    told.get_by_role("button", name="Take theirs").click()
    expect(told).to_be_hidden()
    logger.saved()
    assert [each.rating for each in logger.selects()] == [1, 5]
