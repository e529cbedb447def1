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


@pytest.fixture
def two_desks(room, cast, clip):
    """A logger and an editor with the same select; the editor has given it 5 since the logger's page was loaded."""
    room.expected.append("status of 409")
    logger = deaf(room.watch(cast.logger, clip))
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
    room.expected.append("status of 409")
    logger = deaf(room.watch(cast.logger, clip))
    logger.mark(5, 40)
    logger.saved()
    editor = room.watch(cast.editor, clip)
    editor.listed.first.click()
    editor.press("Delete")
    editor.saved()
    logger.press("4")
    told = logger.page.get_by_role("dialog", name="Changed by somebody else")
    assert versions(told)[""] == ("kept, as below", "deleted")
    told.get_by_role("button", name="Keep mine").click()
    logger.saved()
    made = Select.objects.get()
    assert (made.rating, made.deleted) == (4, None)


# Two tabs ---------------------------------------------------------------------------------------


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


# A run of two hundred marks ---------------------------------------------------------------------

MARKS = 200
FEWER = 48  # where the network is not what is tried


def log(desk: Desk, many: int) -> None:
    """A logging run: in, a frame on, out; and again."""
    for at in range(many):
        if at % 25 == 0:
            desk.press("Home")
            desk.shows(0)
        desk.press("i", "ArrowRight", "o")


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
    log(desk, 80)
    desk.page.context.set_offline(True)
    log(desk, 80)
    expect(desk.part("saved")).to_contain_text("kept here, not sent yet")
    assert Select.objects.count() < MARKS - 40
    desk.page.context.set_offline(False)
    log(desk, 40)
    all_there_once(desk, MARKS)
    desk.reload()
    all_there_once(desk, MARKS)


def test_the_tab_is_closed_in_the_middle_of_a_run(room, cast, clip):
    room.expected += [UNREACHED, REFUSED]
    desk = room.watch(cast.logger, clip)
    context = desk.page.context
    log(desk, 24)
    desk.page.close()  # with marks on their way
    desk = Desk.open(context.new_page(), clip)
    expect(desk.listed).to_have_count(24)
    context.set_offline(True)
    log(desk, 12)
    desk.page.close()
    context.set_offline(False)
    desk = Desk.open(context.new_page(), clip)
    log(desk, 12)
    all_there_once(desk, FEWER)


def test_the_server_is_started_again_in_the_middle_of_a_run(room, cast, clip):
    room.expected += [UNREACHED, REFUSED]
    desk = room.watch(cast.logger, clip)
    log(desk, 14)
    lost = []

    def going_down(route):
        if route.request.method == "PUT" and len(lost) < 5:
            lost.append(route.fetch().status)  # the server has it, and dies before it answers
            route.abort()
        else:
            route.fulfill(status=502, body="<html>Bad gateway</html>")

    desk.page.route("**/api/v1/**", going_down)
    log(desk, 20)
    expect(desk.part("trouble")).to_contain_text("your marks are kept in this browser")
    desk.page.unroute("**/api/v1/**")
    log(desk, 14)
    all_there_once(desk, FEWER)
    assert lost, "answers were lost"


def test_the_session_ends_in_the_middle_of_a_run_and_somebody_signs_in_again(room, cast, clip):
    room.expected.append(REFUSED)
    desk = room.watch(cast.logger, clip)
    context = desk.page.context
    log(desk, 14)
    context.clear_cookies()  # the session and the token against forgery: both are new after signing in
    log(desk, 20)
    expect(desk.part("trouble")).to_contain_text("You are signed out.")
    with context.expect_page() as opened:
        desk.part("trouble").get_by_role("link", name="Sign in again in another tab.").click()
    sign_in(opened.value, "logger")
    desk.page.bring_to_front()
    log(desk, 14)
    all_there_once(desk, FEWER)
    expect(desk.part("trouble")).to_be_hidden()
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
    expect(desk.part("trouble")).to_contain_text("You are signed out.")
    other = context.new_page()
    other.goto("/sign-in/")
    sign_in(other, "editor")
    expect(desk.part("trouble")).to_contain_text("editor is signed in here now, and this page is logger's.")
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
            log(desk, 6)
    context.set_offline(False)
    all_there_once(one, FEWER)
    all_there_once(two, FEWER)


REFUSING = "throw new DOMException('refused here', 'SecurityError');"
NO_DATABASE = f"Object.defineProperty(window, 'indexedDB', {{ get() {{ {REFUSING} }} }});"
NO_STORAGE = f"Storage.prototype.setItem = () => {{ {REFUSING} }};"


def test_where_the_browser_has_no_database_marks_are_kept_in_its_local_storage(room, cast, clip):
    room.expected.append(UNREACHED)
    context = room.context(cast.logger)
    context.add_init_script(NO_DATABASE)
    desk = Desk.open(context.new_page(), clip)
    expect(desk.part("trouble")).to_be_hidden()
    context.set_offline(True)
    log(desk, 3)
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
    expect(desk.part("trouble")).to_contain_text("Leave it open until all is saved.")
    context.set_offline(True)
    log(desk, 3)
    expect(desk.part("saved")).to_have_text("3 kept here, not sent yet")
    context.set_offline(False)
    desk.saved()
    assert Select.objects.count() == 3
