"""The pace at which a person watches: chosen once, remembered, and counted as what it is."""

import pytest
from playwright.sync_api import expect

from review.models import WatchedRange
from review.record.watching import SKIMMED, WATCHED


@pytest.fixture
def clip(ready_clip):
    return ready_clip(frames=250)


def test_it_plays_at_the_pace_and_the_browser_remembers_it(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.press("Shift+ArrowUp", "Shift+ArrowUp")
    expect(desk.part("pace")).to_have_value("1.5")
    desk.press("Space")
    expect(desk.part("speed")).to_have_text("1.5×")
    desk.shows(*range(30, 120))
    desk.press("Space")
    desk.reload()
    expect(desk.part("pace")).to_have_value("1.5")
    assert not WatchedRange.objects.filter(clip=clip, manner=SKIMMED).exists()
    assert WatchedRange.objects.filter(clip=clip, manner=WATCHED).exists()


def test_it_changes_while_it_plays_and_ends_at_twice_and_at_half(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.press("Space", *["Shift+ArrowUp"] * 6)
    expect(desk.part("speed")).to_have_text("2×")
    desk.press("Space", *["Shift+ArrowDown"] * 9)
    expect(desk.part("pace")).to_have_value("0.5")
    desk.part("pace").select_option("1.25")
    desk.part("play").click()
    expect(desk.part("speed")).to_have_text("1.25×")


def test_forwards_again_goes_on_to_twice_and_four_times(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.press("Shift+ArrowUp")
    for words in ("1.25×", "2×", "4×", "8×", "8×"):
        desk.press("l")
        expect(desk.part("speed")).to_have_text(words)


def test_one_persons_pace_is_not_anothers(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.press("Shift+ArrowUp")
    names = desk.page.evaluate("Object.keys(localStorage).filter((name) => name.includes('pace'))")
    assert names == ["rushlight-pace:logger"]
