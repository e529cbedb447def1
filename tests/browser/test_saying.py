"""What is said of a select: its note, its tags, whose it is, and whether the server has it."""

import pytest
from playwright.sync_api import expect

from review.marking import tagging
from review.models import Select
from tests.browser.desk import Desk

GROUPS = {
    "people": [f"Person {at}" for at in range(60)],
    "story": [f"Arc {at}" for at in range(60)],
    "place": [f"Place {at}" for at in range(50)],
    "kind": [f"Kind {at}" for at in range(40)],
}


def test_a_note_is_written_without_leaving_playback(desk):
    desk.mark(0, 3)
    desk.press("Home", "Space")
    expect(desk.part("speed")).to_have_text("playing")
    desk.press("n")
    desk.page.keyboard.type("It lands on the net")
    expect(desk.part("speed")).to_have_text("playing")
    desk.press("Control+Enter")
    desk.press("Space")
    expect(desk.part("speed")).to_have_text("still")
    desk.saved()
    assert Select.objects.get().note == "It lands on the net"


def test_a_tag_is_typed_with_completion(desk):
    desk.mark(0, 3)
    desk.press("/")
    desk.page.keyboard.type("ul")
    expect(desk.part("tag-matches").get_by_role("option")).to_have_text(["gull kind", "ul new tag"])
    desk.press("Enter")
    expect(desk.listed).to_contain_text("gull")
    desk.page.keyboard.type("ne")
    desk.press("ArrowDown")
    expect(desk.part("tag-matches").locator("[aria-selected=true]")).to_have_text("ne new tag")
    desk.press("ArrowDown", "Enter")  # round to the first
    desk.page.keyboard.type("Skip")
    desk.press("Control+Enter")  # what was typed, although another fits
    desk.press("Escape", "4")  # and the page hears the keys again
    desk.saved()
    made = Select.objects.get()
    assert (made.rating, sorted(tag.name for tag in made.tags.all())) == (4, ["Skip", "gull", "net"])


def test_tags_are_pinned_for_a_run_of_selects(desk):
    desk.press("Shift+T")
    expect(desk.part("trouble")).to_contain_text("Give a select its tags first")
    desk.mark(0, 3)
    desk.press("a", "s", "Shift+T")
    expect(desk.part("pinned")).to_have_text("Pinned: every new select gets gull, net.")
    desk.mark(5, 8)
    desk.reload()
    expect(desk.part("pinned")).to_be_visible()  # and the next clip
    desk.go(12)
    desk.press("Enter", "Shift+T")
    expect(desk.part("pinned")).to_be_hidden()
    desk.mark(20, 23)
    desk.saved()
    tags = {
        each.in_frame: sorted(tag.name for tag in each.tags.all()) for each in desk.selects() if each.out_frame < 24
    }
    assert tags == {0: ["gull", "net"], 5: ["gull", "net"], 20: []}
    assert [tag.name for tag in Select.objects.get(out_frame=13).tags.all()] == ["gull", "net"]


@pytest.mark.parametrize("size", [(1024, 768), (1440, 900)])
def test_two_hundred_tags_are_within_reach_in_their_groups(room, cast, clip, size):
    for group, names in GROUPS.items():
        tagging.know_all(cast.kb04, {group: names})
    desk = room.watch(cast.logger, clip, viewport=dict(zip(("width", "height"), size, strict=True)))
    desk.mark(0, 3)
    board = desk.part("tags")
    assert board.locator("[data-tag]").count() == 213
    assert board.locator(".group").all_inner_texts() == ["people", "story", "place", "kind"]
    assert board.locator("[data-tag]").first.inner_text() == "Person 0 F"
    box = board.bounding_box()
    assert box["height"] >= 60
    assert box["y"] + box["height"] <= size[1], "it scrolls in itself, and does not lie under the edge"
    order = board.inner_text()
    board.get_by_role("button", name="Kind 39").click()
    desk.press("/")
    desk.page.keyboard.type("place 49")
    desk.press("Enter", "Escape")
    desk.saved()
    assert sorted(tag.name for tag in Select.objects.get().tags.all()) == ["Kind 39", "Place 49"]
    desk.reload()
    assert board.inner_text() == order


def test_a_select_of_somebody_else_says_whose_it_is_and_stays_theirs(room, cast, desk, clip):
    desk.mark(0, 10)
    expect(desk.part("about-which")).to_have_text("Select 1: 0.4 s")
    desk.saved()
    editor = room.watch(cast.editor, clip)
    editor.listed.first.click()
    expect(editor.part("about-which")).to_have_text("Select 1: 0.4 s, marked by logger")
    editor.press("5")
    editor.saved()
    made = Select.objects.get()
    assert (made.rating, made.logger) == (5, cast.logger)


def test_each_select_shows_whether_the_server_has_it(room, desk, clip, cast):
    room.expected += ["ERR_INTERNET_DISCONNECTED|ERR_FAILED", "status of 400"]
    desk.mark(0, 10)
    expect(desk.listed.locator(".standing")).to_have_text(["✓ saved"])
    desk.page.context.set_offline(True)
    desk.press("4")
    expect(desk.listed.locator(".standing")).to_have_text(["● kept here"])
    desk.page.context.set_offline(False)
    expect(desk.listed.locator(".standing")).to_have_text(["✓ saved"])
    desk.page.route("**/api/v1/selects/**", lambda route: route.fulfill(status=400, json={"detail": "Not like this."}))
    desk.press("5")
    expect(desk.listed.locator(".standing")).to_have_text(["✕ not saved"])
    expect(desk.listed).to_contain_text("Not saved: Not like this.")
    expect(desk.part("saved")).to_have_text("1 not saved: see the list")
    desk.page.unroute("**/api/v1/selects/**")
    desk.press("3")
    desk.saved()
    assert Select.objects.get().rating == 3


def test_undo_takes_back_only_what_this_page_changed(room, cast, desk, clip):
    desk.mark(0, 10)
    desk.press("2")
    desk.saved()
    made = Select.objects.get()
    two = Desk.open(desk.page.context.new_page(), clip)
    two.listed.first.click()
    two.press("a")
    two.saved()
    expect(desk.listed).to_contain_text("gull")  # the other tab's
    desk.page.bring_to_front()
    desk.press("Control+z")
    desk.saved()
    made.refresh_from_db()
    assert (made.rating, [tag.name for tag in made.tags.all()]) == (0, ["gull"])
