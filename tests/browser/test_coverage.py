"""The producer: what has been seen, by whom, and what nobody has."""

import re
import uuid
from datetime import timedelta

import pytest
from playwright.sync_api import expect

from review import watching
from review.models import Viewing
from review.watching import Span


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
    expect(page.locator(".headline")).to_contain_text(
        "10.0 minutes shot: 4.0 watched, 2.0 skimmed, 4.0 unwatched; 0 selects."
    )
    for title, name in (("Days", "Thu 12 Nov 2026"), ("Cameras", "A"), ("Cards", "KB04-261112-A01")):
        table = page.get_by_role("heading", name=title, exact=True).locator("..")
        row = table.get_by_role("row", name=re.compile(f"^{name}"))
        expect(row.get_by_role("cell")).to_have_text(
            ["10.0", "4.0", "2.0", "4.0", "40 % watched, 20 % skimmed", "0", re.compile("logger 4.0")]
        )
        expect(row).to_contain_text("editor 1.0")
    unseen = page.locator("#nobody")
    expect(unseen.get_by_role("heading")).to_contain_text("2 stretches, 4.0 minutes")
    expect(unseen.locator("tbody tr").first).to_contain_text("10:04:00:00")
    expect(unseen.locator("tbody tr").first).to_contain_text("10:06:00:00")


def test_an_unwatched_stretch_opens_the_clip_there(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    _watched(cast.logger, clip, Span(0, 60, 1, False), Span(100, 150, 1, False))
    page = room.enter(cast.producer, "/coverage/")
    page.locator("#nobody").get_by_role("link", name=re.compile("KB04-261112-A01")).click()
    expect(page.locator("#timecode")).to_have_text("10:00:02:10")
    expect(page.locator("#coverage")).to_have_text("73 % watched, 0 % skimmed")


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
    expect(page.locator(".headline")).to_contain_text("0.0 minutes shot")
