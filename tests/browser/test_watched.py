"""What the page claims to have shown is what was on the screen, and no more than the clock allows."""

import time

import pytest
from django.db.models import Sum
from playwright.sync_api import expect
from rest_framework.exceptions import APIException

from review.models import Clip, Viewing, WatchedRange
from review.record import watching

WATCHED, SKIMMED = watching.WATCHED, watching.SKIMMED
FPS = 25


@pytest.fixture
def clip(ready_clip):
    return ready_clip(frames=250)


def _ranges(clip, manner) -> list[tuple[int, int]]:
    rows = WatchedRange.objects.filter(clip=clip, manner=manner).order_by("in_frame")
    return list(rows.values_list("in_frame", "out_frame"))


def _play(desk, *keys: str, until: int) -> float:
    """Play with these keys until about frame `until`; returns the seconds by the clock, and a little over."""
    start = time.monotonic()
    desk.press(*keys)
    desk.shows(*range(until, min(until + 60, desk.clip.frames)))
    desk.press("k")
    seconds = time.monotonic() - start
    expect(desk.part("speed")).to_have_text("still")
    return seconds


def _reported(desk) -> Clip:
    """Leave the clip's page, and wait until the server has its last report: no other came for half a second."""
    desk.page.goto("/coverage/")
    deadline, batches, since = time.monotonic() + 10, 0, time.monotonic()
    while not batches or time.monotonic() < since + 0.5:
        assert time.monotonic() < deadline, "the page sent nothing as it was left"
        time.sleep(0.05)
        now = Viewing.objects.aggregate(batches=Sum("last_batch"))["batches"] or 0
        if now != batches:
            batches, since = now, time.monotonic()
    desk.clip.refresh_from_db()
    return desk.clip


def _record(desk) -> None:
    """Have the page keep, for the test alone, every frame that the browser says it shows while playing."""
    desk.part("video").evaluate(
        """(video, rate) => {
          window.reallyShown = [];
          const listen = () => video.requestVideoFrameCallback((now, { mediaTime }) => {
            if (!video.paused) window.reallyShown.push(Math.round(mediaTime * rate));
            listen();
          });
          listen();
        }""",
        FPS,
    )


def test_what_was_shown_is_watched_and_no_more_than_the_clock_allows(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    _record(desk)
    seconds = _play(desk, "l", until=60)
    shown, at_rest = desk.page.evaluate("window.reallyShown"), desk.frame()  # a busy browser need not tell of its last
    _reported(desk)
    ranges = _ranges(clip, WATCHED)
    assert ranges[0][0] == 0, "the frame that was there when playing began counts too"
    assert all(any(start <= frame < end for start, end in ranges) for frame in shown)
    known = {0, at_rest, *shown}
    assert all({start, end - 1} <= known for start, end in ranges), (ranges, "a range ends on a frame that was shown")
    assert clip.watched_frames == sum(end - start for start, end in ranges) <= seconds * FPS + 2
    assert _ranges(clip, SKIMMED) == []


def test_a_clip_played_to_its_end_is_all_watched(room, cast, ready_clip):
    desk = room.watch(cast.logger, ready_clip(frames=150))
    desk.press("l", "l")
    desk.shows(149)
    expect(desk.part("speed")).to_have_text("still")
    _reported(desk)
    assert desk.clip.unwatched_frames == 0
    desk.page.goto("/clips/next/")
    expect(desk.page.locator(".said")).to_contain_text("Everything that can be watched in KB04 has been seen")


def test_twice_the_speed_is_still_watched(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    _play(desk, "l", "l", until=100)
    _reported(desk)
    assert clip.watched_frames >= 90 and clip.skimmed_frames == 0


def test_muted_is_skimmed(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.press("m")
    expect(desk.part("mute")).to_have_attribute("aria-pressed", "true")
    _play(desk, "l", until=30)
    _reported(desk)
    assert clip.skimmed_frames >= 28 and clip.watched_frames == 0


def test_four_times_the_speed_is_skimmed(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    _play(desk, "l", "l", "l", until=150)
    _reported(desk)
    # the moments at one and two times the speed, before the third key press, are truly watched
    assert clip.skimmed_frames >= 80 and clip.watched_frames <= 40


def test_seeking_and_stepping_add_nothing(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.press("End", "Home", *["ArrowRight"] * 5, *["Shift+ArrowRight"] * 2)
    desk.shows(55)
    _play(desk, "l", until=70)  # something to report: these alone are watched
    _reported(desk)
    ranges = _ranges(clip, WATCHED)
    assert ranges[0][0] == 55 and ranges[-1][1] < 140
    assert _ranges(clip, SKIMMED) == []


def test_what_is_shown_backwards_is_skimmed_for_it_has_no_sound(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=200)
    start = time.monotonic()
    desk.press("j")
    desk.shows(*range(100, 150))
    desk.press("k")
    seconds = time.monotonic() - start
    expect(desk.part("speed")).to_have_text("still")
    lowest = desk.frame()
    _reported(desk)
    assert _ranges(clip, WATCHED) == []
    ranges = _ranges(clip, SKIMMED)
    assert ranges[-1][1] == 201 and lowest - 2 <= ranges[0][0] <= 150
    assert 40 <= clip.skimmed_frames <= seconds * FPS + 4


def test_a_jump_while_playing_backwards_goes_on_from_there_and_leaves_a_gap(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=240)
    desk.press("j")
    desk.shows(*range(200, 225))
    desk.page.locator(".sheet .line[data-line='0'] canvas").click(position={"x": 400, "y": 30})
    desk.shows(*range(5, 60))
    desk.press("k")
    _reported(desk)
    ranges = _ranges(clip, SKIMMED)
    assert ranges[-1][1] == 241 and ranges[0][0] < 60
    assert not any(start < 150 < end for start, end in ranges)


class Away(APIException):
    status_code = 503


def test_what_the_server_could_not_take_is_sent_by_the_page_that_comes_next(room, cast, clip, monkeypatch):
    room.expected.append("status of 503")
    desk = room.watch(cast.logger, clip)
    with monkeypatch.context() as server:
        server.setattr(watching, "record", lambda *_: (_ for _ in ()).throw(Away()))
        _play(desk, "l", until=40)
        desk.page.goto("/lists/")
        expect(desk.page.locator("h1")).to_be_visible()
        desk.page.wait_for_timeout(500)
    assert not Viewing.objects.filter(last_batch__gt=0).exists()
    assert desk.page.evaluate(_LEFT) == 1
    desk.page.goto("/coverage/")
    deadline = time.monotonic() + 10
    while desk.page.evaluate(_LEFT):
        assert time.monotonic() < deadline, "what was watched is not sent"
        time.sleep(0.05)
    assert _ranges(clip, WATCHED)[0][0] == 0 and _ranges(clip, WATCHED)[-1][1] >= 40


_LEFT = "() => Object.keys(localStorage).filter((name) => name.startsWith('rushlight-watched')).length"


def test_a_jump_while_playing_leaves_a_gap(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.press("l")
    desk.shows(*range(15, 60))
    desk.page.locator(".sheet .line[data-line='1'] canvas").click(position={"x": 200, "y": 30})
    desk.shows(*range(165, 249))
    desk.press("k")
    _reported(desk)
    ranges = _ranges(clip, WATCHED)
    assert not any(start < 125 <= end for start, end in ranges)
    assert ranges[0][0] == 0 and ranges[-1][1] > 165


def test_the_next_unwatched_key_goes_to_the_end_of_what_was_shown(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    _play(desk, "l", until=40)
    desk.press("Home")
    desk.shows(0)
    desk.press("u")
    desk.shows(*range(1, 249))
    went_to = desk.frame()
    _reported(desk)
    assert went_to == _ranges(clip, WATCHED)[0][1]


def test_the_next_unwatched_key_leaves_a_clip_when_nothing_unseen_is_ahead(room, cast, ready_clip):
    """Two gaps in one clip would otherwise be gone round for ever, while other clips wait."""
    first, second = ready_clip(frames=250), ready_clip("KB04-261113-A01")
    WatchedRange.objects.create(clip=first, person=cast.logger, manner=WATCHED, in_frame=20, out_frame=100)
    WatchedRange.objects.create(clip=first, person=cast.logger, manner=WATCHED, in_frame=120, out_frame=250)
    Clip.objects.filter(id=first.id).update(watched_frames=210)
    desk = room.watch(cast.logger, first)
    expect(desk.part("coverage")).to_contain_text("84 % watched")
    desk.press("u")
    desk.shows(100)
    desk.press("u")
    desk.page.wait_for_url(f"**/clips/{second.id}/?frame=0")
    expect(desk.part("trouble")).to_have_text(
        "No other unwatched stretch begins after that in KB04-261112-A01 A001C001. "
        "The next is here: KB04-261113-A01 A001C001."
    )
    desk.press("Space")
    expect(desk.part("trouble")).to_be_hidden()
    desk.reload()
    expect(desk.part("trouble")).to_be_hidden()


def test_what_was_watched_is_sent_as_it_is_paused(room, cast, clip):
    desk = room.watch(cast.logger, clip)
    desk.page.evaluate("for (let id = 1; id < 10_000; id += 1) clearInterval(id)")  # nothing comes round
    with desk.page.expect_request("**/watched/", timeout=3_000) as sent:
        _play(desk, "l", until=30)
    assert sent.value.post_data_json["spans"][0]["out_frame"] >= 30
    expect(desk.part("coverage")).not_to_have_text("0 % watched", timeout=1_000)


def test_a_report_that_was_not_answered_is_sent_again_and_counted_once(room, cast, clip):
    room.expected.append("ERR_FAILED")
    desk = room.watch(cast.logger, clip, hurried=True)
    sent = []

    def lose_first_answer(route):
        sent.append(route.request.post_data_json)
        if len(sent) == 1:
            route.fetch()
            route.abort()
        else:
            route.continue_()

    desk.page.route("**/watched/", lose_first_answer)
    desk.page.route("**/pulse/", lambda route: route.abort())  # it would say what was counted all the same
    _play(desk, "l", until=30)
    expect(desk.part("coverage")).not_to_have_text("0 % watched", timeout=15_000)
    assert [each["batch"] for each in sent[:2]] == [1, 1]
    assert sent[0] == sent[1]
    _reported(desk)
    assert 28 <= clip.watched_frames <= 100
