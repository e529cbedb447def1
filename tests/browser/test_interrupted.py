"""A logging run that is interrupted in the middle, in every way: each mark arrives once."""

from contextlib import suppress

from playwright.sync_api import Error, expect

from review.models import Select
from tests.browser.desk import Desk
from tests.conftest import PASSWORD

UNREACHED = "ERR_INTERNET_DISCONNECTED|ERR_FAILED"

REFUSED = r"status of \d+"


MARKS = 200

FEWER = 24  # where the network is not what is tried


def all_there_once(desk: Desk, many: int) -> None:
    """The server has just what the page shows: so many marks, each once, as they were made."""
    expect(desk.listed).to_have_count(many)
    expect(desk.part("saved")).to_have_text("all saved", timeout=60_000)
    listed = desk.page.locator("#selects li[data-id]").evaluate_all("items => items.map((item) => item.dataset.id)")
    made = Select.objects.filter(deleted=None)
    assert sorted(str(each.id) for each in made) == sorted(listed)
    assert len(set(listed)) == many
    assert {each.version for each in made} == {1}, "each was written once"
    assert Select.objects.count() == many


def test_the_network_is_cut_in_the_middle_of_a_run(room, cast, clip):
    room.expected.append(UNREACHED)
    desk = room.watch(cast.logger, clip)
    desk.log(80)
    desk.page.context.set_offline(True)
    desk.log(80)
    expect(desk.part("saved")).to_contain_text("kept here, not sent yet")
    assert Select.objects.count() < MARKS - 40
    desk.page.context.set_offline(False)
    desk.log(40)
    all_there_once(desk, MARKS)
    desk.reload()
    all_there_once(desk, MARKS)


def test_the_tab_is_closed_in_the_middle_of_a_run(room, cast, clip):
    room.expected += [UNREACHED, REFUSED]
    desk = room.watch(cast.logger, clip)
    context = desk.page.context
    desk.log(12)
    desk.page.close()  # with marks on their way
    desk = Desk.open(context.new_page(), clip)
    expect(desk.listed).to_have_count(12)
    context.set_offline(True)
    desk.log(6)
    desk.page.close()
    context.set_offline(False)
    desk = Desk.open(context.new_page(), clip)
    desk.log(6)
    all_there_once(desk, FEWER)


def test_the_server_is_started_again_in_the_middle_of_a_run(room, cast, clip):
    room.expected += [UNREACHED, REFUSED]
    desk = room.watch(cast.logger, clip)
    desk.log(7)
    lost = []

    def going_down(route):
        with suppress(Error):  # one that is under way when the server is back goes on to it
            if route.request.method == "PUT" and len(lost) < 5:
                lost.append(route.fetch().status)  # the server has it, and dies before it answers
                route.abort()
            else:
                route.fulfill(status=502, body="<html>Bad gateway</html>")

    desk.page.route("**/api/v1/**", going_down)
    desk.log(10)
    expect(desk.part("sending")).to_contain_text("your marks are kept in this browser")
    desk.page.unroute("**/api/v1/**")
    desk.log(7)
    all_there_once(desk, FEWER)
    assert lost, "answers were lost"


def test_the_session_ends_in_the_middle_of_a_run_and_somebody_signs_in_again(room, cast, clip):
    room.expected.append(REFUSED)
    desk = room.watch(cast.logger, clip)
    context = desk.page.context
    desk.log(7)
    context.clear_cookies()  # the session and the token against forgery: both are new after signing in
    desk.log(10)
    expect(desk.part("sending")).to_contain_text("You are signed out.")
    with context.expect_page() as opened:
        desk.part("sending").get_by_role("link", name="Sign in again in another tab.").click()
    sign_in(opened.value, "logger")
    desk.page.bring_to_front()
    desk.log(7)
    all_there_once(desk, FEWER)
    expect(desk.part("sending")).to_be_hidden()
    assert {each.logger for each in desk.selects()} == {cast.logger}


def sign_in(page, name: str) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("button", name="Sign in")).to_be_hidden()


def test_marks_are_never_sent_as_those_of_somebody_else_who_signs_in(room, cast, clip):
    room.expected.append(REFUSED)
    desk = room.watch(cast.logger, clip)
    context = desk.page.context
    context.clear_cookies(name="sessionid")
    desk.mark(5, 10)
    expect(desk.part("sending")).to_contain_text("You are signed out.")
    other = context.new_page()
    other.goto("/sign-in/")
    sign_in(other, "editor")
    expect(desk.part("sending")).to_contain_text("editor is signed in here now, and this page is logger's.")
    assert Select.objects.count() == 0
    other.get_by_text("editor", exact=False).first.click()
    other.get_by_role("button", name="Sign out").click()
    other.goto("/sign-in/")
    sign_in(other, "logger")
    desk.saved()
    assert [each.logger for each in Select.objects.all()] == [cast.logger]


def test_two_tabs_log_at_once_while_the_network_comes_and_goes(room, cast, clip):
    room.expected.append(UNREACHED)
    one = room.watch(cast.logger, clip)
    context = one.page.context
    two = Desk.open(context.new_page(), clip)
    for offline in (False, True, False, True):
        context.set_offline(offline)
        for desk in (one, two):
            desk.page.bring_to_front()
            desk.log(3)
    context.set_offline(False)
    all_there_once(one, FEWER)
    all_there_once(two, FEWER)
