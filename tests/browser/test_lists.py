"""The editor: finding selects, pulling them into a list, ordering it, and what she takes away."""

import csv
import json
import re
import uuid

import pytest
from playwright.sync_api import expect

from review.desk import arranging, exporting, lists
from review.exports import ExportOptions
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import SelectsList


@pytest.fixture
def three(cast, make_clip):
    """Three selects on two cards: a gull at 10:00:00:10, a net at 10:00:01:00, and a gull of the B camera."""
    one, two = make_clip(frames=250), make_clip("B001C001", card="KB04-261113-B01", start="15:30:00:00")
    marks = [
        (one, Mark(10, 20, ("gull",), "it lands", 4)),
        (one, Mark(25, 50, ("net",), "empty", 2)),
        (two, Mark(0, 40, ("gull",), "it leaves", 5)),
    ]
    return [selecting.put(cast.logger, uuid.uuid4(), clip, mark, 0) for clip, mark in marks]


@pytest.fixture
def a_list(cast, three):
    return lists.make(cast.editor, cast.kb04, "Harbour", [each.id for each in three])


def _order(a_list) -> list[str]:
    """The notes of a list's selects, as the server has them."""
    return [entry.select.note for entry in a_list.entries.all()]


def _rows(page):
    return page.locator("#entries tr[data-select]")


def test_selects_are_found_chosen_and_added_to_a_new_list(room, cast, three):
    page = room.enter(cast.editor, "/selects/")
    expect(page.locator(".headline")).to_contain_text("3 found")
    page.get_by_label("With tags").fill("gull")
    page.get_by_role("button", name="Find").click()
    expect(page.locator(".headline")).to_contain_text("2 found")
    page.get_by_label("All on this page").check()
    expect(page.locator("#how-many")).to_have_text("2 chosen")
    page.get_by_label("named").fill("Gulls")
    page.get_by_role("button", name="Add 2").click()
    expect(page.locator("#added")).to_have_text("2 added to Gulls")
    page.goto("/selects/?text=empty")  # another, to the same list
    page.get_by_role("checkbox", name=re.compile("Choose A001C001")).check()
    page.get_by_label("Add to").select_option(label="Gulls")
    page.get_by_role("button", name="Add 1").click()
    page.get_by_role("link", name="Gulls").click()
    expect(_rows(page)).to_have_count(3)
    assert _order(SelectsList.objects.get()) == ["it lands", "it leaves", "empty"]


def test_filters_narrow_and_stay_filled_in(room, cast, three):
    page = room.enter(cast.editor, "/selects/")
    wanted = {"camera": ("B", 1), "rating": ("4", 2), "text": ("lands", 1), "date": ("2026-11-13", 1)}
    for name, (value, found) in wanted.items():
        page.goto(f"/selects/?{name}={value}")
        expect(page.locator(".headline")).to_contain_text(f"{found} found")
        expect(page.locator(f".filters [name={name}]")).to_have_value(value)
    page.goto("/selects/?camera=B&text=lands")
    expect(page.locator(".lede")).to_contain_text("Nothing fits all of these filters")


def test_a_name_that_is_taken_is_told(room, cast, three, a_list):
    room.expected.append("status of 400")
    page = room.enter(cast.editor, "/selects/")
    page.get_by_label("All on this page").check()
    page.get_by_label("Add to").select_option(label="a new list…")
    page.get_by_label("named").fill("Harbour")
    page.get_by_role("button", name="Add 3").click()
    expect(page.locator("#added")).to_contain_text("choose another name")


def test_a_list_is_ordered_by_buttons_and_by_dragging(room, cast, a_list):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    rows = _rows(page)
    with page.expect_response("**/api/v1/lists/**"):
        rows.nth(2).get_by_role("button", name="Move up").click()
    assert _order(a_list) == ["it lands", "it leaves", "empty"]
    expect(rows.nth(1).get_by_role("button", name="Move up")).to_be_focused()
    with page.expect_response("**/api/v1/lists/**"):
        rows.nth(0).locator(".place").drag_to(rows.nth(2).locator(".place"))
    assert _order(a_list) == ["it leaves", "empty", "it lands"]
    with page.expect_response("**/api/v1/lists/**"):
        rows.nth(2).locator(".place").drag_to(rows.nth(0).locator(".place"))
    assert _order(a_list) == ["it lands", "it leaves", "empty"]
    expect(page.locator("#entries .place")).to_have_text(["1", "2", "3"])
    with page.expect_response("**/api/v1/lists/**"):
        rows.nth(1).get_by_role("button", name="Take out").click()
    assert _order(a_list) == ["it lands", "empty"]
    page.reload()
    expect(rows).to_have_count(2)
    expect(page.locator("#total")).to_contain_text("2 selects")


def test_two_people_ordering_one_list_are_told(room, cast, a_list):
    room.expected.append("status of 409")
    hers = room.enter(cast.editor, f"/lists/{a_list.id}/")
    his = room.enter(cast.producer, f"/lists/{a_list.id}/")
    with his.expect_response("**/api/v1/lists/**"):
        _rows(his).nth(0).get_by_role("button", name="Move down").click()
    _rows(hers).nth(2).get_by_role("button", name="Take out").click()
    expect(hers.get_by_role("alert")).to_contain_text("Somebody changed this list since you saw it (producer")
    assert _order(a_list) == ["empty", "it lands", "it leaves"]
    with hers.expect_response("**/edit/"):
        hers.get_by_role("button", name="Do mine on the list as it is now").click()
    expect(hers.get_by_role("alert")).to_be_hidden()
    expect(_rows(hers).nth(0)).to_contain_text("empty")  # both stand: his order, without what she took out
    expect(_rows(hers)).to_have_count(2)
    assert _order(a_list) == ["empty", "it lands"]
    with his.expect_response("**/edit/"):
        _rows(his).nth(2).get_by_role("button", name="Move up").click()
    his.get_by_role("button", name="Leave mine").click()
    expect(_rows(his)).to_have_count(2)
    assert _order(a_list) == ["empty", "it lands"]


def test_a_list_is_ordered_and_divided_by_keys_alone(room, cast, a_list):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    rows = _rows(page)
    rows.nth(0).focus()
    page.keyboard.press("ArrowDown")
    expect(rows.nth(1)).to_be_focused()
    with page.expect_response("**/edit/"):
        page.keyboard.press("Alt+ArrowDown")
    assert _order(a_list) == ["it lands", "it leaves", "empty"]
    expect(rows.nth(2)).to_be_focused()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("s")
    page.get_by_role("textbox", name="Section").fill("Departures")
    with page.expect_response("**/edit/"):
        page.keyboard.press("Enter")
    expect(page.locator("tr.section")).to_contain_text("Departures 2 selects 00:00:02:15")  # 40 and 25 frames at 25
    with page.expect_response("**/edit/"):
        rows.nth(1).focus()
        page.keyboard.press("Alt+ArrowUp")  # out of the section
    expect(page.locator("tr.section")).to_contain_text("Departures 1 select 00:00:01:00")
    assert [entry.section and entry.section.title for entry in a_list.entries.all()] == [None, None, "Departures"]


def test_taken_out_is_put_back_where_it_was(room, cast, a_list):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    _rows(page).nth(1).focus()
    with page.expect_response("**/edit/"):
        page.keyboard.press("Delete")
    expect(page.locator("#running")).to_have_text("00:00:02:00")  # 10 and 40 frames at 25
    assert _order(a_list) == ["it lands", "it leaves"]
    with page.expect_response("**/edit/"):
        page.get_by_role("button", name="Put it back").click()
    expect(page.locator("#running")).to_have_text("00:00:03:00")
    assert _order(a_list) == ["it lands", "empty", "it leaves"]


def test_a_select_is_trimmed_with_its_first_and_last_frame_in_sight(room, cast, ready_clip):
    clip = ready_clip(frames=100)
    select = selecting.put(cast.logger, uuid.uuid4(), clip, Mark(10, 40), 0)
    made = lists.make(cast.editor, cast.kb04, "Harbour", [select.id])
    page = room.enter(cast.editor, f"/lists/{made.id}/")
    _rows(page).nth(0).focus()
    page.keyboard.press("t")
    out = page.get_by_label("Out", exact=True)
    expect(out).to_have_value("10:00:01:15")
    page.get_by_label("In", exact=True).press("ArrowUp")
    page.get_by_label("In", exact=True).press("Shift+ArrowUp")
    out.fill("2:00")
    page.get_by_role("heading", name="Trim in this list").click()
    expect(page.locator("[data-length]")).to_have_text("00:00:01:04, 29 frames")
    for end, frame in (("in", 21), ("out", 49)):  # the last frame is the one before the out
        picture = page.locator(f"video[data-picture={end}]")
        assert round(picture.evaluate("video => video.currentTime") * 25 - 0.25) == frame
    out.fill("9:00")
    page.keyboard.press("Enter")
    expect(page.get_by_role("dialog").get_by_role("alert")).to_contain_text("is not in this clip")
    out.fill("2:00")
    with page.expect_response("**/edit/"):
        page.keyboard.press("Enter")
    expect(_rows(page).nth(0)).to_contain_text("Trimmed here; marked 10:00:00:10 – 10:00:01:15.")
    entry = made.entries.get()
    assert (entry.in_frame, entry.out_frame) == (21, 50)
    select.refresh_from_db()
    assert (select.in_frame, select.out_frame) == (10, 40)


def test_handles_change_the_running_time_and_say_where_the_clip_ends(room, cast, a_list):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    expect(page.locator("#running")).to_have_text("00:00:03:00")  # 10, 25 and 40 frames
    page.get_by_text("Name, handles, order").click()
    page.get_by_label("Handles").fill("1")
    with page.expect_response("**/edit/"):
        page.get_by_role("button", name="Set").click()
    expect(_rows(page).nth(0)).to_contain_text("The clip begins there: 10 frames of handle before it.")
    expect(page.locator("#running")).to_have_text("00:00:06:20")  # 45, 75, and all 50 of the second clip


def test_what_will_not_be_in_it_is_told_while_one_chooses(room, cast, a_list):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    page.get_by_text("Choose how to export").click()
    remarks = page.locator("#remarks")
    expect(remarks).to_contain_text("are comments, for people to read")
    page.get_by_role("combobox", name="Channels").select_option("V")
    expect(remarks).to_contain_text(
        "3 selects as V alone: the select is in it; what else its clip has of picture or sound is not. Places 1, 2, 3."
    )
    page.get_by_label("Record start").fill("1:2")
    page.get_by_label("Record start").press("Tab")
    expect(remarks).to_contain_text("Cannot be")
    room.expected.append("status of 400")
    page.get_by_label("Record start").fill("10:00:00:00")
    page.get_by_label("Record start").press("Tab")
    expect(remarks).not_to_contain_text("Cannot be")
    with page.expect_download() as started:
        page.get_by_role("button", name="Export").click()
    edl = started.value.path().read_text()
    assert re.search(
        r"^001  61112A01 V     C        10:00:00:10 10:00:00:20 10:00:00:00 10:00:00:10$", edl, re.MULTILINE
    )
    page.get_by_text("What was exported: 1 version").click()  # without loading the page again
    expect(page.get_by_role("row", name=re.compile("channels V, record start 10:00:00:00"))).to_contain_text("editor")


def test_an_export_that_is_refused_is_told_beside_the_form_and_what_was_typed_stays(room, cast, a_list):
    room.expected.append("status of 400")
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    page.get_by_text("Choose how to export").click()
    page.get_by_role("combobox", name="Reels").select_option("long")
    start = page.get_by_label("Record start")
    start.fill("01:00:00:29")
    page.get_by_role("button", name="Export").click()
    expect(page.locator("#remarks")).to_contain_text("Cannot be made")
    expect(page.locator("#remarks")).to_contain_text("The record start cannot be that at 25")
    expect(start).to_be_focused()
    expect(start).to_have_attribute("aria-invalid", "true")
    expect(start).to_have_value("01:00:00:29")
    expect(page.get_by_role("combobox", name="Reels")).to_have_value("long")
    start.fill("01:00:00:24")
    with page.expect_download():
        page.get_by_role("button", name="Export").click()
    expect(page.locator("#remarks")).not_to_contain_text("Cannot be made")
    expect(page.locator("#checking")).to_contain_text("Exported")


def test_what_the_buttons_make_is_said_and_the_usual_is_one_click(room, cast, a_list):
    exporting.export_by(cast.editor, a_list, "edl", ExportOptions.read({"reels": "long", "table": "yes"}))
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    said = page.get_by_text("EDL as last time: card names up to 32 characters as reels, the table of reels")
    expect(said).to_contain_text("as a .zip")
    with page.expect_download() as started:
        page.get_by_role("link", name="EDL", exact=True).click()
    assert started.value.suggested_filename == "Harbour.zip"
    with page.expect_download() as started:
        page.get_by_role("link", name="EDL as usual").click()
    assert started.value.suggested_filename == "Harbour.edl"
    expect(said).to_have_count(0)  # the next is as usual, too


def test_what_is_new_since_her_last_pull_is_marked_and_one_click(room, cast, a_list, three):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    _download(page, "EDL")
    news = page.locator("#news")
    expect(news).to_contain_text("Since your export 1 of")  # without loading the page again
    expect(news).to_contain_text("nothing new")
    ids = [
        selecting.put(cast.logger, uuid.uuid4(), three[0].clip, Mark(start, start + 25), 0).id for start in (100, 200)
    ]
    lists.add(cast.editor, a_list, ids)
    page.reload()
    expect(news).to_contain_text(": 2 new.")
    marked = _rows(page).filter(has_text="new to you")
    expect(marked).to_have_count(2)
    marked.last.get_by_role("button", name="Take out").click()
    expect(news).to_contain_text(": 1 new.")
    with page.expect_download() as started:
        page.get_by_role("link", name="EDL of only what is new").click()
    assert re.findall(r"^\d{3}  .{24}(\S+)", started.value.path().read_text(), re.MULTILINE) == ["10:00:04:00"]
    expect(news).to_contain_text("nothing new")
    expect(marked).to_have_count(0)


def test_an_export_of_nothing_new_says_so(room, cast, a_list, three):
    room.expected.append("status of 400")
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    _download(page, "EDL")
    new = selecting.put(cast.logger, uuid.uuid4(), three[0].clip, Mark(100, 125), 0)
    lists.add(cast.editor, a_list, [new.id])
    page.reload()
    exporting.export_by(cast.editor, a_list, "edl", only_new=True)  # from another page
    page.get_by_role("link", name="EDL of only what is new").click()
    expect(page.get_by_role("alert")).to_have_text("Nothing is new in “Harbour” since your export 2.")


def test_keys_and_buttons_work_on_the_row_that_is_shown_as_chosen(room, cast, a_list):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    chosen = page.locator("#entries tr[aria-current=true]")
    expect(chosen).to_contain_text("it lands")
    page.keyboard.press("ArrowDown")
    expect(chosen).to_contain_text("empty")
    page.locator("h1").click()  # nothing has the focus
    page.keyboard.press("t")
    expect(page.get_by_label("In", exact=True)).to_have_value("10:00:01:00")
    page.get_by_role("button", name="Cancel").click()
    page.get_by_role("button", name="Trim T").click()
    expect(page.get_by_label("In", exact=True)).to_have_value("10:00:01:00")


def test_a_select_plays_on_the_lists_page_as_it_is_cut_there(room, cast, ready_clip):
    clip = ready_clip(frames=100)
    select = selecting.put(cast.logger, uuid.uuid4(), clip, Mark(10, 60), 0)
    made = lists.make(cast.editor, cast.kb04, "Harbour", [select.id])
    arranging.trim(cast.editor, made, 1, select.id, 30, 40)
    page = room.enter(cast.editor, f"/lists/{made.id}/")
    page.keyboard.press("Space")
    at = page.locator("#play [data-at]")
    expect(at).to_have_text("10:00:01:14")  # the last frame of ten, where it stops
    expect(page.get_by_role("button", name="Play", exact=True)).to_be_focused()
    page.get_by_role("button", name="Close").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    page.goto("/lists/")  # what was watched is sent as one leaves
    for _ in range(50):
        clip.refresh_from_db()
        if clip.watched_frames:
            break
        page.wait_for_timeout(100)
    assert 0 < clip.watched_frames <= 10


def test_from_a_list_to_a_clip_and_back_to_the_same_row(room, cast, a_list, three):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    _rows(page).nth(1).get_by_role("link", name="Watch A001C001").click()
    page.get_by_role("link", name="List: back to Harbour").click()
    expect(page.locator("#entries tr[aria-current=true]")).to_contain_text("empty")


def test_a_list_that_nobody_took_anything_from_can_be_deleted(room, cast, a_list):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    _rows(page).nth(2).get_by_role("button", name="Take out").click()
    page.get_by_text("Delete this list").click()
    expect(page.locator("#deleting")).to_contain_text("Its 2 selects and what was marked stay")
    page.get_by_role("button", name="Delete “Harbour” for good").click()
    expect(page.get_by_role("status")).to_contain_text("The list “Harbour” is deleted")
    assert not SelectsList.objects.exists()


def test_the_printed_list_has_pictures_and_times(room, cast, ready_clip):
    clip = ready_clip(frames=100)
    select = selecting.put(cast.logger, uuid.uuid4(), clip, Mark(10, 40, ("gull",), "it lands"), 0)
    made = lists.make(cast.editor, cast.kb04, "Harbour", [select.id])
    page = room.enter(cast.logger, f"/lists/{made.id}/print/")
    expect(page.get_by_role("row", name=re.compile("it lands"))).to_contain_text("10:00:00:10")
    expect(page.locator("svg.picture image")).to_have_count(1)
    page.emulate_media(media="print")
    expect(page.locator(".house")).to_be_hidden()
    expect(page.get_by_role("button", name="Print")).to_be_hidden()


def _download(page, name: str) -> str:
    with page.expect_download() as started:
        page.get_by_role("link", name=name, exact=True).click()
    assert started.value.suggested_filename == f"Harbour.{name.lower()}"
    return started.value.path().read_text()


def test_what_she_takes_away_names_cards_and_source_timecode(room, cast, a_list):
    page = room.enter(cast.editor, f"/lists/{a_list.id}/")
    edl = _download(page, "EDL")
    # CMX3600: event, reel, track, C for cut, then source in and out and record in and out
    events = re.findall(r"^(\d{3,})\s+(\S+)\s+\S+\s+C\s+(\S+) (\S+)", edl, re.MULTILINE)
    assert [event[1:] for event in events if event[1] == "61112A01"][:1] == [("61112A01", "10:00:00:10", "10:00:00:20")]
    assert "KB04-261113-B01" in edl and "15:30:01:15" in edl
    rows = list(csv.reader(_download(page, "CSV").splitlines()))
    assert len(rows) == 4
    assert any("KB04-261113-B01" in cell for cell in rows[3])
    assert "Timeline" in json.loads(_download(page, "OTIO"))["OTIO_SCHEMA"]


def test_the_sheet_opens_at_a_selects_first_frame(room, cast, three):
    page = room.enter(cast.editor, "/selects/?text=empty")
    href = page.get_by_role("link", name=re.compile("A001C001")).get_attribute("href")
    assert href == f"/clips/{three[1].clip_id}/?frame=25"
