"""A long clip is watched before its proxy is whole, and the page takes what comes without losing its place."""

import pytest
from playwright.sync_api import expect

from review import tasks
from review.media import sections
from review.models import Job
from tests.conftest import work_off

FRAMES = 250  # sections of 60 frames


@pytest.fixture
def clip(make_card, monkeypatch):
    monkeypatch.setattr(sections.plan, "__defaults__", (2, 3))
    taken = make_card(frames=FRAMES)
    make(taken.clip, 0)
    return taken.clip


def make(clip, *parts: int) -> None:
    """Make these sections, and let the proxy grow by them."""
    look(clip)
    for part in parts:
        tasks.work(Job.objects.get(kind="section", clip=clip, part=part, state="waiting").id)
    look(clip)


def look(clip) -> None:
    for job in Job.objects.filter(kind="proxy", clip=clip, state="waiting"):
        tasks.work(job.id)


def reaches(desk, words: str) -> None:
    expect(desk.part("growing")).to_contain_text(words, timeout=15_000)


def test_what_is_there_is_watched_and_the_rest_comes(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=12, hurried=True)
    reaches(desk, "The first 2 s can be watched; the rest is being made.")
    desk.press("End")
    desk.shows(59)
    assert desk.number() == 59
    desk.go(40)

    make(clip, 1, 2)
    reaches(desk, "The first 7 s can be watched")
    desk.shows(40)  # it has stayed where it was
    assert desk.number() == 40
    desk.press("End")
    desk.shows(179)
    assert desk.number() == 179

    fetched = []
    desk.page.on("response", lambda answer: fetched.append((answer.url.rsplit("/", 1)[-1], answer.status)))
    work_off()
    reaches(desk, "The whole clip can be watched now.")
    desk.press("End")
    desk.shows(FRAMES - 1)
    assert desk.number() == FRAMES - 1
    clip.refresh_from_db()
    for made in (clip.filmstrip["files"][0], "peaks.bin", "lanes.json"):  # the sheet takes what is made last, too
        for _ in range(100):
            if (made, 200) in fetched:
                break
            desk.page.wait_for_timeout(50)
        assert (made, 200) in fetched, f"{made} is not on the sheet"


def test_going_where_nothing_is_yet_is_refused_with_words(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=12, hurried=True)
    canvas = desk.page.locator("#sheet canvas").first
    box = canvas.bounding_box()
    line = desk.page.locator("#line-length").evaluate("(element) => Number(element.value)") * 25
    desk.page.mouse.click(box["x"] + box["width"] * 100 / line, box["y"] + 20)
    expect(desk.part("trouble")).to_contain_text(f"cannot be watched yet: the proxy reaches {clip.label(59)} so far.")
    desk.shows(12)
    desk.press("ArrowRight")
    desk.shows(13)
    assert desk.number() == 13


def test_a_page_that_is_opened_beyond_says_so_and_shows_the_last_there_is(room, cast, clip):
    page = room.enter(cast.logger, f"/clips/{clip.id}/?frame=200")
    expect(page.locator("#timecode")).to_have_text(clip.label(59))
    expect(page.locator("#trouble")).to_contain_text(f"{clip.label(200)} cannot be watched yet")


def test_a_mark_is_made_across_a_longer_proxy(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=0, hurried=True)
    desk.go(30)
    desk.press("i")
    make(clip, 1, 2)
    reaches(desk, "The first 7 s")
    desk.go(150)
    desk.press("o")
    desk.saved()
    assert [(each.in_frame, each.out_frame) for each in desk.selects()] == [(30, 151)]


def test_it_plays_on_at_its_speed(room, cast, clip):
    make(clip, 1, 2)
    desk = room.watch(cast.logger, clip, hurried=True)
    desk.press("Space")
    desk.part("video").evaluate("(video) => (video.playbackRate = 0.25)")  # the seven seconds last for half a minute
    work_off()
    reaches(desk, "The whole clip can be watched now.")
    expect(desk.part("speed")).to_have_text("0.25×")
    before = desk.frame()
    assert 0 < before < 179
    desk.shows(*range(before + 5, before + 60))


def test_one_whose_rest_fails_says_why(room, cast, clip):
    desk = room.watch(cast.logger, clip, frame=0, hurried=True)
    clip.refresh_from_db()
    clip.proxy_state, clip.proxy_problem = "failed", "connect the drive and ask again."
    clip.save()
    reaches(desk, "The rest could not be made: connect the drive and ask again.")
