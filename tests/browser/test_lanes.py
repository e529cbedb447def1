"""The lanes on the sheet: seen, named, skipped along; and never taken for watching."""

import json
import time

import pytest
from playwright.sync_api import expect

from review.derived.proxying import media_folder
from review.models import Viewing, WatchedRange

LANES = {
    "version": 1,
    "frames": 250,
    "speech": [[50, 100], [150, 200]],
    "silence": [[100, 150]],
    "black": [[0, 25]],
    "still": [[200, 250]],
    "cuts": [25],
}

# How much of the rows [top, bottom) of the first line's canvas is inked, for each of the ranges of frames given.
_INKED = """(canvas, { ranges, frames, top, bottom }) => {
  const scale = canvas.height / canvas.clientHeight;
  const pen = canvas.getContext("2d");
  return ranges.map(([start, end]) => {
    const left = Math.ceil((start / frames) * canvas.width) + 2;
    const wide = Math.floor((end / frames) * canvas.width) - 2 - left;
    const { data } = pen.getImageData(left, top * scale, wide, (bottom - top) * scale);
    let inked = 0;
    for (let at = 3; at < data.length; at += 4) inked += data[at] > 0;
    return inked / (data.length / 4);
  });
}"""


@pytest.fixture
def clip(ready_clip):
    clip = ready_clip(frames=250)
    clip.has_lanes = True
    clip.save()
    (media_folder(clip.id) / "lanes.json").write_text(json.dumps(LANES))
    return clip


def _inked(desk, top: int, bottom: int, *ranges) -> list[float]:
    """In the first line of a sheet whose lines are ten seconds: the whole clip."""
    asked = {"ranges": ranges, "frames": 250, "top": top, "bottom": bottom}
    return desk.page.locator(".sheet .line canvas").first.evaluate(_INKED, asked)


@pytest.fixture
def desk(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=30)
    with desk.page.expect_response("**/lanes.json"):
        desk.page.reload()
    desk.shows(30)
    desk.page.locator("#line-length").select_option("10 s")
    deadline = time.monotonic() + 10
    while not any(_inked(desk, 83, 86, (50, 100))):
        assert time.monotonic() < deadline, "no lane is drawn"
    return desk


@pytest.mark.parametrize("dim", [False, True], ids=["light", "dim"])
def test_it_works_each_lane_is_drawn_where_it_is_and_in_a_texture_of_its_own(desk, dim):
    if dim:
        desk.page.locator("#light").click()
        expect(desk.page.locator("html")).to_have_class("dim")
    speech, quiet, later, none = _inked(desk, 83, 86, (50, 100), (100, 150), (150, 200), (200, 250))
    assert (speech, later, none) == (1, 1, 0)
    assert 0 < quiet < 0.3
    black, nothing, still = _inked(desk, 87, 91, (0, 25), (26, 200), (200, 250))
    assert (black > 0.5, nothing, 0 < still < 0.5) == (True, 0, True)


def test_the_lanes_are_named_to_whoever_points_at_them(desk):
    canvas = desk.page.locator(".sheet .line canvas").first
    wide = canvas.bounding_box()["width"]
    for frame, words in ((10, "black picture or covered lens"), (75, "speech"), (220, "nothing moves"), (40, "")):
        canvas.hover(position={"x": wide * frame / 250, "y": 85})
        expect(canvas).to_have_attribute("title", words)


def test_the_help_shows_what_they_look_like(desk):
    desk.press("?")
    table = desk.page.get_by_role("table", name="Lanes on the sheet")
    expect(table.locator("tr")).to_have_count(len(LANES) - 2)
    expect(table).to_contain_text("black picture or covered lens")


def test_the_keys_skip_from_speech_to_speech(desk):
    for keys, frame in ((".", 50), (".", 150), (",", 50), (".", 150), ("Home", 0), ("..", 150)):
        desk.press(*([keys] if keys == "Home" else keys))  # twice before it is there: on to the one after
        desk.shows(frame)
        assert desk.number() == frame
    desk.press(".")
    expect(desk.part("trouble")).to_have_text("No speech was found after this.")
    desk.press("Home")
    desk.shows(0)
    desk.press(",")
    expect(desk.part("trouble")).to_have_text("No speech was found before this.")


def test_skipping_is_no_watching(desk):
    for key, frame in ((".", 50), (".", 150), (",", 50)):
        desk.press(key)
        desk.shows(frame)
    desk.page.goto("/coverage/")
    assert Viewing.objects.count() >= 1
    assert not WatchedRange.objects.exists()


def test_skipping_while_it_plays_claims_only_what_was_shown(desk):
    desk.press("Space")
    desk.shows(*range(35, 50))
    desk.press(".", ".")
    desk.shows(*range(150, 200))
    desk.press("Space")
    expect(desk.part("speed")).to_have_text("still")
    desk.page.goto("/coverage/")
    desk.page.wait_for_timeout(500)
    claimed = {frame for row in WatchedRange.objects.all() for frame in range(row.in_frame, row.out_frame)}
    assert claimed and not claimed & set(range(60, 150))


def test_a_clip_without_lanes_is_read_without_them(room, cast, ready_clip):
    clip = ready_clip(frames=250)
    clip.has_lanes = False
    clip.save()
    desk = room.watch(cast.logger, clip)
    desk.press(".")
    expect(desk.part("trouble")).to_have_text("No speech was found after this.")


def test_what_the_worker_made_is_sent_to_members_only(room, cast, ready_clip):
    clip = ready_clip(frames=250)
    assert clip.has_lanes
    sent = room.context(cast.logger).request.get(f"/media/{clip.id}/lanes.json")
    assert (sent.status, sent.headers["content-type"]) == (200, "application/json")
    assert sent.json() == json.loads((media_folder(clip.id) / "lanes.json").read_text())
    assert (
        sent.json() | {"frames": 250, "speech": [], "silence": [], "cuts": []} == sent.json()
    )  # a tone, a grey picture
    assert room.context(cast.stranger).request.get(f"/media/{clip.id}/lanes.json").status == 404
    (media_folder(clip.id) / "lanes.json").unlink()
    gone = room.context(cast.logger).request.get(f"/media/{clip.id}/lanes.json")
    assert gone.status == 404 and "has not been made yet" in gone.text()
