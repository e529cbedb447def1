"""The producer: what has been seen, by whom, and what nobody has."""

import re
import uuid
from datetime import timedelta

import pytest
from playwright.sync_api import expect

from review.models import Viewing
from review.record import watching
from review.record.watching import Span


def _watched(person, clip, *spans: Span) -> None:
    """As if `person` had these frames on the screen, an hour ago."""
    viewing = watching.open_viewing(person, clip, uuid.uuid4())
    Viewing.objects.filter(id=viewing.id).update(opened_at=viewing.opened_at - timedelta(hours=1))
    watching.record(person, clip, viewing.id, 1, spans)


@pytest.fixture
def half_seen(cast, make_clip):
    """Ten minutes: four watched by the logger, one of them by the editor too, and two skimmed."""
    clip = make_clip(frames=10 * 60 * 25)
    _watched(cast.logger, clip, Span(0, 4 * 1500, 1, False), Span(6 * 1500, 8 * 1500, 8, False))
    _watched(cast.editor, clip, Span(0, 1500, 2, False))
    return clip


def test_the_numbers_are_those_of_what_was_seen(room, cast, half_seen):
    page = room.enter(cast.producer, "/coverage/")
    expect(page.locator("#sums")).to_contain_text(
        "10 min 00 s shot: 4 min 00 s watched, 2 min 00 s skimmed, 4 min 00 s unwatched; 0 selects."
    )
    for tab, name in (("Days", "Thu 12 Nov 2026"), ("Cameras", "A"), ("Cards", "KB04-261112-A01")):
        page.get_by_role("link", name=tab, exact=True).last.click()
        row = page.locator("#rows").get_by_role("row", name=re.compile(f"^{name} "))
        expect(row.get_by_role("cell")).to_have_text(
            [
                *("10 min 00 s", "4 min 00 s", "2 min 00 s", "4 min 00 s", "40 % watched, 20 % skimmed", "0", ""),
                re.compile(r"logger 4 min 00 s,\s+editor 1 min 00 s\s+skimmed:\s+logger 2 min 00 s"),
            ]
        )
    unseen = page.locator("#nobody")
    expect(unseen.get_by_role("heading")).to_contain_text("2 stretches")
    expect(unseen.locator("tbody tr").first).to_contain_text("10:04:00:00")
    expect(unseen.locator("tbody tr").first).to_contain_text("10:06:00:00")
    unseen.get_by_role("link", name="Only skimmed").click()
    expect(page.locator("#nobody tbody tr")).to_have_count(1)
    expect(page.locator("#nobody tbody tr")).to_contain_text("skimmed by logger")


def test_what_is_asked_for_is_in_the_address(room, cast, half_seen, make_clip):
    make_clip("B001C001", card="KB04-261113-B01", frames=1500)
    page = room.enter(cast.producer, "/coverage/")
    page.get_by_role("link", name="Cameras", exact=True).click()
    page.get_by_role("link", name="Unwatched", exact=True).click()
    rows = page.locator("#rows tbody tr th")
    expect(rows).to_have_text(["A", "B"])
    page.get_by_role("link", name="Unwatched", exact=True).click()
    expect(rows).to_have_text(["B", "A"])
    expect(page.get_by_role("columnheader", name="Unwatched")).to_have_attribute("aria-sort", "ascending")
    page.get_by_label("Clips").select_option("some of it only skimmed")
    page.get_by_role("button", name="Show").click()
    expect(rows).to_have_text(["A"])
    expect(page.locator("#sums")).to_contain_text("Of what was asked for, 10 min 00 s shot")
    page.reload()
    expect(rows).to_have_text(["A"])
    with page.expect_download() as told:
        page.get_by_role("link", name="These rows as CSV").click()
    assert told.value.suggested_filename == "KB04 coverage by camera.csv"
    assert told.value.path().read_text("utf-8-sig").splitlines()[1].startswith("A,25,NDF,15000,00:10:00:00,6000,")


def test_two_pairs_of_eyes_are_asked_for_from_a_stretch(room, cast, half_seen):
    page = room.enter(cast.producer, "/coverage/?camera=A&stretches=both")
    page.get_by_role("button", name=re.compile("Ask for two pairs of eyes on A001C001 10:04")).click()
    expect(page.locator(".said")).to_contain_text("10:04:00:00 to 10:06:00:00 of A001C001")
    assert re.search(r"/coverage/\?camera=A&stretches=both.*#nobody$", page.url)  # back where it was asked
    page.locator("#nobody tr", has_text="10:04:00:00").get_by_role("link", name="asked for").click()
    expect(page.locator("table.looks").first.locator("tbody tr")).to_contain_text("none yet")
    page.get_by_role("button", name=re.compile("Ask no more")).click()
    expect(page.locator("main")).to_contain_text("Nothing is asked for.")


def test_the_forecast_says_what_it_takes(room, cast, half_seen):
    page = room.enter(cast.producer, "/forecast/")
    expect(page.locator(".answer")).to_contain_text("Too little to go on yet")
    page.get_by_label("people").fill("2")
    page.get_by_role("button", name="Work it out from this").click()
    expect(page.locator(".answer")).to_contain_text("If 2 people work 40 hours a week")
    page.get_by_label("last day of shooting").fill("2027-01-31")
    page.get_by_label("minutes a day").fill("90")
    page.get_by_role("button", name="Set", exact=True).click()
    expect(page.locator(".said")).to_contain_text("The forecast now reckons with this")
    expect(page.get_by_role("row", name=re.compile("^Camera A"))).to_contain_text("1 h 30 min")


def test_an_unwatched_stretch_opens_the_clip_there(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    _watched(cast.logger, clip, Span(0, 60, 1, False), Span(100, 150, 1, False))
    page = room.enter(cast.producer, "/coverage/")
    page.locator("#nobody").get_by_role("link", name=re.compile("KB04-261112-A01")).click()
    expect(page.locator("#timecode")).to_have_text("10:00:02:10")
    expect(page.locator("#coverage")).to_have_text(re.compile("^73 % watched"))


def test_the_next_unwatched_leads_to_it_too(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    _watched(cast.logger, clip, Span(0, 60, 1, False))
    page = room.enter(cast.producer, "/coverage/")
    page.get_by_role("link", name="Watch the next unwatched").click()
    expect(page.locator("#timecode")).to_have_text("10:00:02:10")


def test_when_all_is_seen_it_says_so(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    _watched(cast.logger, clip, Span(0, 150, 1, False))
    page = room.enter(cast.producer, "/clips/next/")
    expect(page.locator(".said")).to_contain_text("Everything that can be watched in KB04 has been seen")
    expect(page.locator("#nobody")).to_contain_text("Every frame of the trusted cards")


def test_a_held_card_is_named_as_not_counted(room, cast, make_clip):
    make_clip(state="held")
    page = room.enter(cast.producer, "/coverage/")
    expect(page.locator(".said.warning")).to_contain_text("KB04-261112-A01")
    expect(page.locator(".headline")).to_contain_text("0 s shot")
