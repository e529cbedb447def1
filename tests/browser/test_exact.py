"""The frame that is marked is the frame that was shown: every picture carries its own number.

The number in the picture is the outside source: it was painted before the camera file was encoded, went through the
real proxy, and is read back from the pixels on the page.
"""

import os
import random

import pytest
from playwright.sync_api import expect

RATES = {
    # clip rate: frames, first timecode. The drop-frame clip runs over a minute that drops two numbers.
    "24000/1001": (240, "01:00:00:00"),
    "25": (250, "10:00:00:00"),
    "30000/1001": (300, "00:00:55;00"),
    "50": (500, "10:00:00:00"),
    "60000/1001": (600, "10:00:00:00"),
}
MARKS = int(os.environ.get("RUSHLIGHT_TEST_MARKS", "24"))  # a rate; 500 of them take some minutes
STILL, PLAYED = MARKS // 4, MARKS // 8  # selects of two marks each: made standing still; while playing, at each speed


@pytest.mark.parametrize("rate", RATES)
def test_the_frame_marked_is_the_frame_shown(room, cast, make_card, rate):
    frames, start = RATES[rate]
    clip = make_card(proxied=True, rate=rate, frames=frames, start=start).clip
    assert (clip.frames, clip.label(0), clip.drop) == (frames, start, ";" in start)
    desk = room.watch(cast.logger, clip)
    chance = random.Random(rate)

    for key, frame in (("End", frames - 1), ("Home", 0)):
        desk.press(key)
        desk.shows(frame)
        assert desk.number() == frame

    # Step by step over the proxy's second key frame, half a second in.
    for frame in range(1, frames // 20 + 2):
        desk.press("ArrowRight")
        desk.shows(frame)
        assert desk.number() == frame

    made = [_mark_still(desk, chance, frames) for _ in range(STILL)]
    made += [_mark_playing(desk, chance, speed) for speed in (1, 2) for _ in range(PLAYED)]

    desk.saved()
    assert [(each.in_frame, each.out_frame) for each in desk.selects()] == sorted(made)


def _mark_still(desk, chance, frames) -> tuple[int, int]:
    """Go to two frames by clicks and steps, and mark them; returns the select that should come of it."""
    marks = []
    for key, least in (("i", 0.05), ("o", 0.5)):
        earliest = marks[0] if marks else 0
        aim = max(earliest + 1, round((least + 0.4 * chance.random()) * frames))
        _click_film(desk, aim)
        desk.shows(aim - 1, aim, aim + 1)  # a frame is a pixel or two wide
        frame = _step_about(desk, chance, frames, earliest)
        desk.shows(frame)
        assert desk.number() == frame, "the timecode names another frame than the picture"
        desk.press(key)
        assert desk.number(_PROOF[key]) == frame
        marks.append(frame)
    return marks[0], marks[1] + 1


_PROOF = {"i": "in-proof", "o": "out-proof"}


def _step_about(desk, chance, frames, earliest) -> int:
    """Press up to four steps one after the other at once, of which none may be lost; returns where they end, which is
    not before `earliest`.

    That is never a frame passed on the way: its timecode would be there before the last step is.
    """
    passed, frame, count = [], desk.frame(), chance.randrange(5)
    while len(passed) < count or frame in passed or frame < earliest:
        step, by = chance.choice(list(_steps(desk.clip).items()))
        if len(passed) >= count and frame < earliest and by < 0:
            continue
        desk.press(step)
        passed.append(frame)
        frame = max(0, min(frame + by, frames - 1))
    return frame


def _steps(clip) -> dict[str, int]:
    second = clip.timebase.rate.nominal
    return {"ArrowLeft": -1, "ArrowRight": 1, "Shift+ArrowLeft": -second, "Shift+ArrowRight": second}


def _click_film(desk, frame) -> None:
    per_line = round(5 * desk.clip.timebase.rate.fraction)  # a clip this short opens with lines of five seconds
    line, within = divmod(frame, per_line)
    film = desk.page.locator(f".sheet .line[data-line='{line}'] canvas")
    film.scroll_into_view_if_needed()
    box = film.bounding_box()
    film.click(position={"x": (within + 0.5) * box["width"] / per_line, "y": 30})


def _mark_playing(desk, chance, speed) -> tuple[int, int]:
    desk.press("Home")
    desk.shows(0)
    desk.press(*["l"] * speed)
    expect(desk.part("speed")).to_have_text("playing" if speed == 1 else f"{speed}×")
    desk.page.wait_for_timeout(200 * chance.random())  # anywhere in the clip: the time itself does not matter
    desk.press("i")
    desk.page.wait_for_timeout(50 + 150 * chance.random())
    desk.press("o")
    marks = desk.number("in-proof"), desk.number("out-proof")
    desk.press("k")
    assert None not in marks, "the proof shows no number that can be read"
    return marks[0], marks[1] + 1
