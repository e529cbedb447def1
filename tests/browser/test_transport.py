"""Round and round a select, to a typed timecode, and by touch."""

import itertools
import uuid

import pytest
from playwright.sync_api import expect

from review.marking import selecting
from review.marking.selecting import Mark


@pytest.fixture
def clip(ready_clip):
    return ready_clip(frames=250)


def _shown(desk, seconds: float, until: int) -> list[int]:
    """The frames that the browser shows in that time, and on until it shows `until`: a busy machine leaves some out."""
    return desk.part("video").evaluate(
        """(video, [ms, until]) => new Promise((done) => {
          const shown = [];
          const enough = performance.now() + ms;
          const listen = () => video.requestVideoFrameCallback((now, { mediaTime }) => {
            shown.push(Math.round(mediaTime * 25));
            if (now > enough && shown.includes(until)) done(shown);
            else listen();
          });
          listen();
          setTimeout(() => done(shown), 10 * ms);
        })""",
        [1000 * seconds, until],
    )


def test_the_chosen_select_is_played_round_and_round(room, cast, clip):
    selecting.put(cast.logger, uuid.uuid4(), clip, Mark(50, 70), 0)
    desk = room.watch(cast.logger, clip)
    desk.press("Shift+L")
    expect(desk.part("trouble")).to_contain_text("Choose a select first")
    desk.press("ArrowDown", "Shift+L")
    expect(desk.part("trouble")).to_be_hidden()
    expect(desk.part("speed")).to_have_text("playing ↻")
    expect(desk.part("loop")).to_have_attribute("aria-pressed", "true")
    desk.shows(*range(50, 60))
    shown = _shown(desk, 3, until=69)
    assert min(shown) >= 50
    assert max(shown) == 69, "to its last frame, and no further"
    assert sum(later < earlier for earlier, later in itertools.pairwise(shown)) >= 2, "it comes round"
    desk.press("Shift+L")
    expect(desk.part("speed")).to_have_text("playing")
    desk.shows(*range(80, 249))  # and plays on


def test_a_select_at_the_end_of_the_clip_comes_round_too(room, cast, clip):
    selecting.put(cast.logger, uuid.uuid4(), clip, Mark(230, 250), 0)
    desk = room.watch(cast.logger, clip)
    desk.press("ArrowDown", "Shift+L")
    desk.shows(*range(230, 240))
    shown = _shown(desk, 3, until=249)
    assert sum(later < earlier for earlier, later in itertools.pairwise(shown)) >= 2
    expect(desk.part("speed")).to_have_text("playing ↻")


def test_going_elsewhere_ends_the_round(room, cast, clip):
    selecting.put(cast.logger, uuid.uuid4(), clip, Mark(50, 70), 0)
    desk = room.watch(cast.logger, clip)
    desk.press("ArrowDown", "Shift+L")
    desk.shows(*range(50, 60))
    desk.page.locator(".sheet .line[data-line='1'] canvas").click(position={"x": 200, "y": 30})
    expect(desk.part("loop")).to_have_attribute("aria-pressed", "false")
    desk.shows(*range(165, 249))


def test_a_typed_timecode_goes_there(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.press(":")
    field = desk.part("go-to")
    expect(field).to_be_focused()
    desk.page.keyboard.type("3:05")
    desk.press("Enter")
    desk.shows(80)
    assert desk.number() == 80
    desk.press("ArrowRight")  # the keys are the page's again
    desk.shows(81)
    desk.part("timecode").click()
    desk.page.keyboard.type("+20")
    desk.press("Enter")
    desk.shows(101)


def test_a_timecode_that_is_not_in_the_clip_is_refused_beside_the_field(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=10)
    desk.press(":")
    desk.page.keyboard.type("11:00:00:00")
    desk.press("Enter")
    refusal = desk.part("go-refused")
    expect(refusal).to_have_text("11:00:00:00 is not in this clip, which runs from 10:00:00:00 to 10:00:09:24.")
    expect(desk.part("go-to")).to_be_focused()
    expect(desk.part("go-to")).to_have_attribute("aria-invalid", "true")
    desk.press("Escape")
    expect(refusal).to_be_hidden()
    desk.shows(10)
    desk.press("ArrowLeft")
    desk.shows(9)


def test_nothing_moves_on_the_page_while_it_plays(room, cast, clip):
    desk = room.watch(cast.logger, clip, viewport={"width": 1024, "height": 768})
    desk.page.wait_for_timeout(500)
    moved = desk.page.evaluate(
        """() => {
          window.moved = [];
          new PerformanceObserver((list) => window.moved.push(...list.getEntries().map((each) => each.value)))
            .observe({ type: "layout-shift", buffered: false });
          return window.moved.length;
        }"""
    )
    assert moved == 0
    desk.press("Space")
    desk.shows(*range(60, 100))
    desk.press("l")
    desk.shows(*range(150, 249))
    desk.press("Space")
    assert desk.page.evaluate("() => window.moved") == []


def test_a_finger_plays_and_marks(room, cast, clip):
    desk = room.watch(cast.logger, clip, has_touch=True, viewport={"width": 1024, "height": 768})
    desk.part("screen").tap()
    desk.shows(*range(10, 60))
    for button in ("mark-in", "mark-out", "play"):
        box = desk.part(button).bounding_box()
        assert box["height"] >= 44 and box["width"] >= 44, f"{button} is too small for a finger"
    desk.part("mark-in").tap()
    desk.shows(*range(60, 140))
    desk.part("mark-out").tap()
    expect(desk.listed).to_have_count(1)
    desk.part("screen").tap()
    expect(desk.part("speed")).to_have_text("still")
    catch = desk.page.get_by_role("button", name="Catch")
    assert catch.bounding_box()["height"] >= 44
    catch.tap()
    expect(desk.listed).to_have_count(2)
    desk.saved()
    assert len(desk.selects()) == 2
