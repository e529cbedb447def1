"""Nothing a person marked is lost: not without a network, not signed out, not where the browser keeps nothing."""

from playwright.sync_api import expect

from review.models import Select
from tests.browser.desk import Desk
from tests.conftest import PASSWORD

UNREACHED = "ERR_INTERNET_DISCONNECTED|ERR_FAILED"

REFUSED = r"status of \d+"


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
    expect(desk.part("sending")).to_contain_text("your marks are kept in this browser")
    desk.page.context.set_offline(False)
    desk.saved()
    expect(desk.part("sending")).to_be_hidden()
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
    room.expected.append("status of 409")  # the reload may lose the answer to the mark before it: it was ours
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
    expect(desk.part("sending")).to_contain_text("You are signed out")
    assert [each.in_frame for each in desk.selects()] == [5]
    page = desk.page
    page.reload()
    page.get_by_label("Name").fill("logger")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.locator("#selects li[data-id]")).to_have_count(2)  # and it is the clip's page again
    desk.saved()
    assert [(each.in_frame, each.version) for each in desk.selects()] == [(5, 1), (15, 1)]


REFUSING = "throw new DOMException('refused here', 'SecurityError');"

NO_DATABASE = f"Object.defineProperty(window, 'indexedDB', {{ get() {{ {REFUSING} }} }});"

NO_STORAGE = f"Storage.prototype.setItem = () => {{ {REFUSING} }};"


def test_where_the_browser_has_no_database_marks_are_kept_in_its_local_storage(room, cast, clip):
    room.expected.append(UNREACHED)
    context = room.context(cast.logger)
    context.add_init_script(NO_DATABASE)
    desk = Desk.open(context.new_page(), clip)
    expect(desk.part("sending")).to_be_hidden()
    context.set_offline(True)
    desk.log(3)
    expect(desk.part("saved")).to_have_text("3 kept here, not sent yet")
    desk.page.close()
    context.set_offline(False)
    desk = Desk.open(context.new_page(), clip)
    desk.saved()
    assert Select.objects.count() == 3


def test_where_the_browser_keeps_nothing_the_page_says_so_and_holds_the_marks_until_they_are_sent(room, cast, clip):
    room.expected.append(UNREACHED)
    context = room.context(cast.logger)
    context.add_init_script(NO_DATABASE + NO_STORAGE)
    desk = Desk.open(context.new_page(), clip)
    expect(desk.part("sending")).to_contain_text("Leave it open until all is saved.")
    context.set_offline(True)
    desk.log(3)
    expect(desk.part("saved")).to_have_text("3 kept here, not sent yet")
    context.set_offline(False)
    desk.saved()
    assert Select.objects.count() == 3
