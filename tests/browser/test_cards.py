"""The media manager at the cards: what is held and why, trusting it by name, and how far the workers are."""

import re

import pytest
from playwright.sync_api import expect

from review.models import Job
from tests.conftest import check, film, work_off

CARD = "KB04-261112-A02"


@pytest.fixture
def held(cast, root):
    """A card whose one file is not the one that was listed when it was copied."""
    folder = root / CARD
    film(folder / "CLIP" / "A001C001.MOV")
    (folder / "copied.md5").write_text(f"{'0' * 32}  CLIP/A001C001.MOV\n")
    card = check(folder, cast.kb04)
    assert card.state == "held"
    return card


def test_a_held_card_says_which_file_and_what_to_do(room, cast, held):
    page = room.enter(cast.media_manager, "/cards/")
    expect(page.get_by_role("row", name=re.compile(CARD))).to_contain_text("held")
    expect(page.locator(".headline")).to_contain_text("1 card held.")
    page.get_by_role("link", name=CARD).click()
    report = page.get_by_role("region", name="What the check found")
    expect(report.locator("li.stop .where")).to_have_text("CLIP/A001C001.MOV")
    expect(report.locator("li.stop")).to_contain_text("md5 checksum differs")
    expect(report.locator("li.stop .next")).to_contain_text("Copy")
    expect(report).to_contain_text("Do not wipe or reuse this card")
    expect(page.get_by_role("link", name="A001C001")).to_have_count(0)  # nothing of it can be watched


def test_it_is_accepted_with_a_reason_that_stays(room, cast, held):
    page = room.enter(cast.media_manager, f"/cards/{held.id}/")
    page.get_by_text("Accept this card all the same").click()
    reason = page.get_by_label("Why may it be trusted?")
    page.get_by_role("button", name="Accept it").click()
    expect(reason).to_be_focused()  # without a reason the browser does not send it
    reason.fill("The list is of another copy; the pictures were looked at.")
    page.get_by_role("button", name="Accept it").click()
    expect(page.locator(".headline .state")).to_have_text("held, accepted by a person")
    expect(page.locator(".said.warning")).to_contain_text("Accepted by media-manager")
    expect(page.locator(".said.warning")).to_contain_text("The list is of another copy")
    expect(page.locator("li.stop")).to_have_count(1)  # what was found stays on record
    expect(page.locator("[data-progress]")).to_have_text("1 waiting")
    work_off()
    page.get_by_role("link", name="A001C001").click()
    expect(page.locator("#video")).to_be_visible()


def test_a_logger_reads_the_report_but_cannot_accept(room, cast, held):
    page = room.enter(cast.logger, f"/cards/{held.id}/")
    expect(page.locator("li.stop")).to_have_count(1)
    expect(page.get_by_text("Accept this card all the same")).to_have_count(0)
    expect(page.get_by_role("button", name="Check again")).to_have_count(0)


def test_checking_again_shows_how_far_it_is_and_then_the_answer(room, cast, held, root):
    page = room.enter(cast.media_manager, f"/cards/{held.id}/")
    (root / CARD / "copied.md5").unlink()
    page.get_by_role("button", name="Check again").click()
    expect(page.locator(".said")).to_contain_text("Nothing on it is changed")
    progress = page.locator("[data-progress]")
    expect(progress).to_have_text("1 waiting")
    job = Job.objects.filter(id=Job.objects.get(state=Job.State.WAITING).id)
    job.update(state=Job.State.RUNNING, done=42, total=100)
    expect(progress).to_have_text("checking 42 % of 100 bytes")
    job.update(state=Job.State.WAITING)
    work_off()
    expect(page.locator(".headline .state")).to_have_text("not proven: no checksums came")  # by itself


def test_a_new_folder_is_found_by_asking(room, cast, root):
    page = room.enter(cast.media_manager, "/cards/")
    expect(page.locator("main")).to_contain_text("No cards yet")
    film(root / "KB04-261113-B01" / "CLIP" / "B001C001.MOV")
    film(root / "from the runner" / "CLIP" / "X.MOV")
    page.get_by_role("button", name="Look for new cards now").click()
    expect(page.get_by_role("row", name=re.compile("KB04-261113-B01"))).to_contain_text("found, not checked yet")
    expect(page.locator(".unclaimed")).to_contain_text("from the runner")
    page.get_by_role("button", name="Take in to KB04").click()
    expect(page.get_by_role("heading", name="from the runner")).to_be_visible()
    expect(page.locator("[data-progress]")).to_have_text("1 waiting")


def test_a_failed_proxy_says_why_and_is_tried_again(room, cast, make_card):
    taken_in = make_card()
    source = taken_in.folder / "CLIP" / "A001C001.MOV"
    moved = source.rename(source.with_suffix(".away"))
    work_off()
    page = room.enter(cast.media_manager, f"/cards/{taken_in.card.id}/")
    failed = page.get_by_role("heading", name="What could not be done").locator("..")
    expect(failed).to_contain_text("A001C001.MOV")
    moved.rename(source)
    failed.get_by_role("button", name="Try again").click()
    expect(page.locator("[data-progress]")).to_have_text("1 waiting")
    work_off()
    page.reload()
    expect(failed).to_have_count(0)
    page.get_by_role("link", name="A001C001").click()
    expect(page.locator("#video")).to_be_visible()
