"""Tidying tags and keeping footage, by hand; and that everybody can use these pages."""

import uuid

import pytest
from playwright.sync_api import expect

from review.desk import keeping, returned_cuts
from review.marking import selecting, tagging
from review.marking.selecting import Mark
from review.models import WorthKeeping
from tests.browser.test_access import LIGHTS, faults, light


@pytest.fixture
def select(cast, make_clip):
    clip = make_clip()
    return selecting.put(cast.logger, uuid.uuid4(), clip, Mark(0, 11, ("gul",), "on the rail"), 0)


def test_words_far_apart_are_ticked_found_and_merged(room, cast, select, run):
    tagging.import_set(cast.editor, cast.kb04, f"kind: {', '.join(f'kind {n}' for n in range(200))}\nstory: gull")
    page = room.enter(cast.editor, "/tags/?production=KB04")
    find = page.get_by_label("Show words with")
    find.fill("gul")
    expect(page.locator("[data-word]:visible")).to_have_count(2)
    page.get_by_label("Tick gul", exact=True).check()
    find.fill("kind 19")
    expect(page.locator("[data-word]:visible")).to_have_count(11)  # 19 and 190 to 199
    find.press("Enter")
    expect(page.locator("#tags-chosen")).to_have_text("ticked: gul")
    find.fill("nothing like it")
    expect(page.get_by_text("No word has that in it.")).to_be_visible()
    page.get_by_label("Merge the ticked into").select_option(label="gull (story)")
    page.get_by_role("button", name="Merge").click()
    expect(page.get_by_text("gul became gull, on 1 select.")).to_be_visible()
    assert [tag.name for tag in select.tags.all()] == ["gull"]


def test_people_and_rights_are_kept_where_they_stand(room, cast, select, run):
    keeping.flag(cast.logger, select)
    page = room.enter(cast.logger, "/keeping/?production=KB04")
    keep = page.get_by_role("button", name="Keep what is said")
    expect(keep).to_be_disabled()
    row = page.locator("[data-keeping]")
    row.get_by_label("People").select_option("nobody recognisable")
    row.get_by_label("Rights").fill("Bay trust, until 2031")
    keep.click()
    expect(row.get_by_role("status")).to_have_text("Kept")
    kept = WorthKeeping.objects.get()
    assert (kept.people, kept.rights) == ("none", "Bay trust, until 2031")
    page.get_by_role("button", name="Not worth keeping").click()
    expect(page.get_by_role("button", name="Flag as worth keeping")).to_be_visible()
    assert not WorthKeeping.objects.exists()


@pytest.fixture
def cut_one(cast, ready_clip):
    """Two selects of a clip that plays; a cut uses a frame of the first."""
    clip = ready_clip()
    marks = (Mark(0, 11, ("gull",), "first"), Mark(15, 22, (), "second"))
    made = [selecting.put(cast.logger, uuid.uuid4(), clip, mark, 0) for mark in marks]
    edl = b"001  61112A01 V C 10:00:00:10 10:00:00:12 01:00:00:00 01:00:00:02\n"
    returned_cuts.take_in(cast.editor, cast.kb04, "a.edl", edl, name="Lock 2")
    return made


def test_an_event_is_told_which_clip_it_is_of_where_it_stands(room, cast, make_clip, run):
    make_clip()
    edl = b"007  WHICH V C 10:00:00:10 10:00:00:12 01:00:00:00 01:00:00:02\n"
    cut = returned_cuts.take_in(cast.editor, cast.kb04, "a.edl", edl, name="Lock 2")
    page = room.enter(cast.editor, f"/cuts/{cut.id}/?sure=lost")
    page.get_by_role("button", name="It is this one").click()
    expect(page.get_by_text("For event 007 (line 1): KB04-261112-A01 A001C001, as you chose.")).to_be_visible()
    page.get_by_role("link", name="All 1").click()
    expect(page.locator(".cut-events .sure-word")).to_have_text("chosen by editor")
    page.get_by_role("link", name="Restore list").click()
    expect(page.get_by_role("row", name="A001C001.MOV")).to_contain_text("chosen by editor")
    room.expected.append("status of 400")
    page.get_by_label("Handles on both sides").fill("-3")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("Handles are seconds")
    expect(page.get_by_label("Handles on both sides")).to_have_value("-3")
    page.get_by_label("Handles on both sides").fill("3")
    page.keyboard.press("Enter")
    expect(page.get_by_text("with 3 s of handles")).to_be_visible()


def test_what_made_the_cut_is_marked_and_footage_kept_on_the_selects_page(room, cast, cut_one, run):
    page = room.enter(cast.logger, "/selects/?production=KB04")
    rows = page.locator("#results tr")
    expect(rows.filter(has_text="first").get_by_text("in the cut")).to_have_attribute("title", "Lock 2")
    expect(page.get_by_text("in the cut", exact=True)).to_have_count(1)
    rows.filter(has_text="second").locator(".its-note").click()
    page.keyboard.press("Shift+K")
    page.get_by_role("combobox", name="People").select_option("nobody recognisable")
    page.get_by_role("button", name="Flag as worth keeping").click()
    expect(page.get_by_role("dialog").get_by_role("status")).to_have_text("Kept")
    page.get_by_role("textbox", name="Rights").fill("Bay trust")
    page.keyboard.press("Escape")  # keeps what was typed
    expect(page.get_by_role("dialog")).to_have_count(0)
    kept = WorthKeeping.objects.get()
    assert (kept.select, kept.people, kept.rights) == (cut_one[1], "none", "Bay trust")
    expect(rows.filter(has_text="second").get_by_text("worth keeping")).to_be_visible()
    page.keyboard.press("Space")
    expect(page.locator("#play")).to_contain_text("Pause")
    page.keyboard.press("4")
    expect(page.locator("#saved")).to_have_text("all saved")
    expect(rows.filter(has_text="second").get_by_text("worth keeping")).to_be_visible()
    page.goto("/selects/?production=KB04&view=pictures&keep=yes")
    expect(page.locator("#results .is-kept")).to_have_text("worth keeping")
    page.locator("summary", has_text="More filters").press("Tab")
    page.locator("[name=keep]").uncheck()
    page.wait_for_url(lambda url: "keep" not in url)
    page.locator("summary", has_text="More filters").click()
    page.locator("[name=cut]").select_option("in a cut")
    expect(page.locator("#number")).to_have_text("1 found")
    expect(page.locator("#results .in-cut")).to_have_text("in the cut")


def test_what_made_the_cut_is_marked_and_footage_kept_while_watching(room, cast, cut_one, run):
    desk = room.watch(cast.logger, cut_one[0].clip)
    expect(desk.listed.filter(has_text="first").locator(".in-cut")).to_have_text("in the cut")
    desk.press("Shift+K")
    expect(desk.part("trouble")).to_contain_text("Choose the select")
    desk.press("ArrowDown")
    desk.press("Shift+K")
    desk.page.get_by_role("textbox", name="Rights").fill("ours until 2031")
    desk.page.get_by_role("button", name="Close").click()  # keeps what was typed
    expect(desk.listed.filter(has_text="second").locator(".is-kept")).to_have_text("worth keeping")
    expect(desk.part("keeping")).to_have_attribute("aria-pressed", "true")
    assert WorthKeeping.objects.get().rights == "ours until 2031"
    desk.press("Shift+K")
    desk.page.get_by_role("button", name="Not worth keeping").click()
    desk.page.keyboard.press("Escape")
    expect(desk.page.locator(".is-kept")).to_have_count(0)
    assert not WorthKeeping.objects.exists()


@LIGHTS
def test_the_pages_pass(room, cast, select, dim):
    keeping.flag(cast.logger, select, "none", "Bay trust")
    edl = b"001  61112A01 V C 10:00:00:00 10:00:01:00 01:00:00:00 01:00:01:00\n" * 2 + b"002  X V C 9:00:00:00\nwhat"
    edl += b"\n003  WHICH V C 10:00:00:00 10:00:01:00 01:00:01:00 01:00:02:00\n"
    cut = returned_cuts.take_in(cast.editor, cast.kb04, "a.edl", edl)
    context = room.context(cast.editor)
    light(context, dim)
    page = context.new_page()
    wrong = {}
    tag = cast.kb04.tags.get()
    parts = ("", "restore/", "used/", "made-it/")
    paths = ("/cuts/", *(f"/cuts/{cut.id}/{part}" for part in parts), "/keeping/", "/tags/", f"/tags/?edit={tag.id}")
    for path in paths:
        assert page.goto(path).status == 200, path
        if found := faults(page, dim):
            wrong[path] = found
    page.goto("/selects/?production=KB04&cut=yes&keep=yes")
    page.locator("#results .in-cut").click()
    page.keyboard.press("Shift+K")
    expect(page.get_by_role("dialog")).to_be_visible()
    if found := faults(page, dim):
        wrong["what became of a select"] = found
    assert wrong == {}
