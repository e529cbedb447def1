"""The media manager at the wipe question, and at the shelf."""

import shutil

import pytest
from playwright.sync_api import expect

from review.cards.volumes import DECLARED
from review.models import Copy
from tests.conftest import work_off


@pytest.fixture
def reader(make_card, root, settings):
    """A card without checksums, and the camera's own card in a reader."""
    taken = make_card()
    shelf = root.parent / "reader"
    shutil.copytree(taken.folder, shelf / "UNTITLED")
    (shelf / DECLARED).write_text("reader")
    settings.CARD_ROOTS = [root, shelf]
    return taken.card


def test_the_cameras_own_card_is_compared_and_the_page_says_so(room, cast, reader):
    page = room.enter(cast.media_manager, f"/cards/{reader.id}/")
    expect(page.locator("#wipe")).to_contain_text("nothing made from the camera's own card proves the copies")
    page.get_by_text("Add a folder as a copy").click()
    page.get_by_label("This is the camera's own card in a reader").check()
    page.get_by_role("button", name="Compare it with").click()
    work_off()
    page.reload()
    expect(page.locator("#copies")).to_contain_text("the camera's own card")
    expect(page.locator("#copies tbody tr")).to_have_count(2)
    expect(page.locator("#wipe")).to_contain_text("Not yet, because 1 copy is proven of 3")
    expect(page.locator("#wipe")).not_to_contain_text("nothing made from")


def test_a_drive_is_described_and_the_card_may_be_wiped_by_the_rule(room, cast, reader):
    Copy.objects.update(is_original=False)
    page = room.enter(cast.media_manager, "/rules/?production=KB04")
    page.get_by_label("Proven copies").fill("2")
    page.get_by_label("on at least").fill("2")
    page.get_by_role("button", name="Set the wiping rule").click()
    expect(page.locator("main")).to_contain_text("2 proven copies on at least 2 devices, 1 of them elsewhere")
    reader.proof = "checksums"
    reader.save()
    page.goto(f"/cards/{reader.id}/")
    page.get_by_text("Add a folder as a copy").click()
    page.get_by_role("button", name="Compare it with").click()
    work_off()
    page.reload()
    expect(page.locator("#wipe")).to_contain_text("none is kept elsewhere")
    page.get_by_role("link", name="reader").click()
    page.get_by_label("Label: what is written on it").fill("Vault drive")
    page.get_by_label("Kind").select_option("hard disk")
    page.get_by_label("That is another place").check()
    page.get_by_role("button", name="Write down").click()
    expect(page.get_by_role("row", name="Vault drive")).to_contain_text("elsewhere")
    page.goto(f"/cards/{reader.id}/")
    expect(page.locator("#wipe")).to_contain_text("Yes by this production's rule")
    expect(page.locator("#wipe")).to_contain_text("Rushlight never wipes anything")


def test_the_shelf_fits_a_small_screen(room, cast, reader):
    page = room.enter(cast.media_manager, "/shelf/?production=KB04", viewport={"width": 1024, "height": 768})
    expect(page.get_by_role("heading", name="Media")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
