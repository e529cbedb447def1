"""Tidying tags and keeping footage, by hand; and that everybody can use these pages."""

import uuid

import pytest
from playwright.sync_api import expect

from review import keeping, returned_cuts, selecting, tagging
from review.models import WorthKeeping
from review.selecting import Mark
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
    expect(page.get_by_role("button", name="Worth keeping", exact=True)).to_be_visible()
    assert not WorthKeeping.objects.exists()


@LIGHTS
def test_the_pages_pass(room, cast, select, dim):
    keeping.flag(cast.logger, select, "none", "Bay trust")
    edl = b"001  61112A01 V C 10:00:00:00 10:00:01:00 01:00:00:00 01:00:01:00\n" * 2 + b"002  X V C 9:00:00:00\nwhat"
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
    assert wrong == {}
