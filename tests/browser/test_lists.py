"""The editor: finding selects, pulling them into a list, ordering it, and what she takes away."""

import csv
import json
import re
import uuid

import pytest
from playwright.sync_api import expect

from review import lists, selecting
from review.models import SelectsList
from review.selecting import Mark


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
    return [entry.select.note for entry in a_list.entries.order_by("position")]


def _rows(page):
    return page.locator("#entries tbody tr")


def test_selects_are_found_chosen_and_added_to_a_new_list(room, cast, three):
    page = room.enter(cast.editor, "/selects/")
    expect(page.locator(".headline")).to_contain_text("3 found")
    page.get_by_label("Tag").select_option("gull")
    page.get_by_role("button", name="Find").click()
    expect(page.locator(".headline")).to_contain_text("2 found")
    add = page.get_by_role("button", name="Add")
    expect(add).to_be_disabled()
    page.get_by_label("All on this page").check()
    expect(page.locator("#how-many")).to_have_text("2 chosen")
    page.get_by_label("named").fill("Gulls")
    add.click()
    expect(page.locator("#added")).to_have_text("Added to Gulls")
    page.goto("/selects/?text=empty")  # another, to the same list
    page.get_by_role("checkbox", name=re.compile("Choose A001C001")).check()
    page.get_by_label("Add to").select_option(label="Gulls")
    page.get_by_role("button", name="Add").click()
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
    page.get_by_role("button", name="Add").click()
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
    expect(page.locator(".headline")).to_contain_text("2 selects")


def test_two_people_ordering_one_list_are_told(room, cast, a_list):
    room.expected.append("status of 409")
    hers = room.enter(cast.editor, f"/lists/{a_list.id}/")
    his = room.enter(cast.producer, f"/lists/{a_list.id}/")
    with his.expect_response("**/api/v1/lists/**"):
        _rows(his).nth(0).get_by_role("button", name="Move down").click()
    _rows(hers).nth(2).get_by_role("button", name="Take out").click()
    expect(hers.get_by_role("alert")).to_contain_text("Somebody changed this list")
    expect(hers.get_by_role("alert")).to_contain_text("Load the page again")
    assert _order(a_list) == ["empty", "it lands", "it leaves"]


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
