"""The selects page as an editor works it: finding, playing where it stands, all without a gap, marking, pulling."""

import re
import uuid
from itertools import pairwise

import pytest
from playwright.sync_api import expect

from review.desk import lists
from review.marking import selecting, tagging
from review.marking.selecting import Mark
from review.models import Clip, Select, WatchedRange

# Looks at every screen refresh which of the videos is on top, and at which frame: [ms, the clip's address, frame].
_RECORD = """(screen) => {
  globalThis.seenHere = [];
  const look = (now) => {
    const video = [...screen.querySelectorAll("video")].find((each) => !each.classList.contains("waits"));
    if (video?.readyState >= 2) {
      const picture = new VideoFrame(video);
      globalThis.seenHere.push([now, video.src.match(/media\\/(\\d+)/)[1], Math.round((picture.timestamp / 1e6) * 25)]);
      picture.close();
    } else if (!video?.seeking) globalThis.seenHere.push([now, "", -1]); // a player that seeks keeps its last picture
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}"""


@pytest.fixture
def clips(cast, ready_clip) -> list[Clip]:
    tagging.know_all(cast.kb04, {"kind": ["gull", "net"]})  # keys: a, s
    return [ready_clip(frames=100), ready_clip("KB04-261112-B01", frames=110)]


@pytest.fixture
def three(cast, clips) -> list[Select]:
    one, other = clips
    marks = [(one, Mark(10, 35, ("gull",), "first: she laughs", 3)), (other, Mark(40, 60, (), "second: the gate"))]
    marks.append((one, Mark(70, 90, (), "third: a net")))
    return [selecting.put(cast.logger, uuid.uuid4(), clip, mark, 0) for clip, mark in marks]


def playing(page, name: str):
    expect(page.locator("tr.now .its-note")).to_contain_text(name)


def test_what_is_found_plays_in_place_and_stops_at_its_out(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04&text=laughing")
    expect(page.locator("#number")).to_have_text("1 found")
    page.keyboard.press("Space")
    expect(page.locator("#play")).to_contain_text("Pause")
    expect(page.locator("#play")).to_contain_text("Play")
    expect(page.locator("#now-label")).to_have_text("10:00:01:09")  # frame 34, the last of it
    page.keyboard.press("Space")
    expect(page.locator("#play")).to_contain_text("Pause")


def test_all_of_it_plays_as_one_without_a_gap_that_one_can_see(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04")
    page.locator("#screen").evaluate(_RECORD)
    page.keyboard.press("Shift+Space")
    playing(page, "third")
    expect(page.locator("#play-all")).to_have_attribute("aria-pressed", "false")  # it came to its end
    seen = page.evaluate("() => seenHere")
    begun = next(at for at, (_, _, frame) in enumerate(seen) if frame >= 0)
    assert all(frame >= 0 for _, _, frame in seen[begun:]), "the screen was empty for a while"
    for before, after in pairwise(three):
        shown = [
            (now, frame) for now, clip, frame in seen if clip == str(before.clip_id) and frame < before.out_frame + 3
        ]
        shown = [(now, frame) for now, frame in shown if frame >= before.in_frame]
        follows = [
            (now, frame)
            for now, clip, frame in seen
            if clip == str(after.clip_id) and after.in_frame <= frame < after.out_frame
        ]
        last, first = shown[-1], next(each for each in follows if each[0] > shown[0][0])
        assert before.out_frame - 3 <= last[1] <= before.out_frame
        assert after.in_frame <= first[1] <= after.in_frame + 2
        # A frame lasts 40 ms; the machine that tests may be busy.
        assert first[0] - last[0] < 160, f"{first[0] - last[0]:.0f} ms between {last} and {first}"


def test_handles_are_cut_at_the_ends_of_the_clip(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04")
    page.locator("#handles").select_option("1")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#now-label")).to_have_text("10:00:00:00")  # 25 before frame 10 there are only ten
    page.keyboard.press("ArrowDown")
    expect(page.locator("#now-label")).to_have_text("10:00:00:15")


def test_marks_are_made_from_here_by_key(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04")
    page.keyboard.press("ArrowDown")
    playing(page, "first")
    page.keyboard.press("5")
    page.keyboard.press("a")  # gull, away
    page.keyboard.press("s")  # net
    expect(page.locator("tr.now .rated")).to_have_text("5")
    expect(page.locator("tr.now .tag")).to_have_text(["net"])
    expect(page.locator("#saved")).to_have_text("all saved")
    first = Select.objects.get(id=three[0].id)
    assert (first.rating, [tag.name for tag in first.tags.all()], first.logger) == (5, ["net"], cast.logger)
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+z")
    expect(page.locator("tr.now .rated")).to_have_text("3")
    expect(page.locator("#saved")).to_have_text("all saved")
    first.refresh_from_db()
    assert (first.rating, [tag.name for tag in first.tags.all()]) == (3, ["gull"])


def test_who_was_slower_is_told_and_chooses(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04")
    page.keyboard.press("ArrowDown")
    playing(page, "first")
    clip = Clip.objects.select_related("card__production").get(id=three[0].clip_id)
    selecting.put(cast.producer, three[0].id, clip, Mark(10, 35, (), "first: changed meanwhile", 1), 1)
    room.expected.append("409")
    page.keyboard.press("5")
    dialog = page.locator("dialog[open]")
    expect(dialog).to_contain_text("changed meanwhile")
    dialog.get_by_role("button", name="Take theirs").click()
    expect(page.locator("tr.now .its-note")).to_have_text("first: changed meanwhile")
    expect(page.locator("tr.now .rated")).to_have_text("1")


def test_what_is_found_is_pulled_by_key_by_box_and_whole(room, cast, three):
    best = lists.make(cast.editor, cast.kb04, "best")
    page = room.enter(cast.editor, "/selects/?production=KB04")

    def pulled():
        return [entry.select_id for entry in best.entries.all()]

    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    playing(page, "second")
    page.keyboard.press("Enter")
    expect(page.locator("#added")).to_have_text("Added to best")
    assert pulled() == [three[1].id]
    page.locator("[name=select]").nth(2).check()
    page.locator("#choose button.main").click()
    expect(page.locator("#how-many")).to_have_text("none chosen")
    assert pulled() == [three[1].id, three[2].id]
    page.locator("#add-all").click()
    expect(page.locator("#added")).to_have_text("3 added to best")
    assert set(pulled()) == {each.id for each in three}
    lists.make(cast.editor, cast.kb04, "another")
    page.reload()
    expect(page.locator("#target option:checked")).to_have_text("best")


def test_the_same_moment_on_another_camera_is_one_key_away(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04")
    page.keyboard.press("ArrowDown")
    playing(page, "first")
    expect(page.locator("#angles")).to_have_text("Other angles of this moment: B")
    page.keyboard.press("PageDown")
    expect(page.locator("#now-name")).to_contain_text("KB04-261112-B01")
    expect(page.locator("#now-label")).to_have_text("10:00:00:10")
    page.keyboard.press("PageDown")
    expect(page.locator("#now-name")).to_contain_text("KB04-261112-A01")


def test_what_is_played_here_counts_as_watched(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04&text=laughs")
    page.keyboard.press("Space")
    expect(page.locator("#play")).to_contain_text("Pause")
    expect(page.locator("#now-label")).to_have_text("10:00:01:09")
    with page.expect_response(re.compile("/watched/")):
        pass
    (seen,) = WatchedRange.objects.filter(clip=three[0].clip_id, person=cast.editor)
    assert (
        seen.manner == "watched" and 10 <= seen.in_frame <= 12 and 33 <= seen.out_frame <= 37
    )  # a busy machine stops late


def test_playing_on_fetches_the_next_page(room, cast, clips):
    for at in range(52):
        selecting.put(cast.logger, uuid.uuid4(), clips[0], Mark(at, at + 2, (), f"n{at:02}"), 0)
    page = room.enter(cast.editor, "/selects/?production=KB04")
    expect(page.locator("#results tr")).to_have_count(50)
    page.locator(".play-here").nth(49).click()
    playing(page, "n49")
    page.keyboard.press("ArrowDown")
    playing(page, "n50")
    expect(page.locator("#results tr")).to_have_count(52)
    expect(page.locator("#next-page")).to_have_count(0)


def test_somebody_who_may_only_look_plays_and_cannot_mark(room, cast, three):
    page = room.enter(cast.media_manager, "/selects/?production=KB04")
    page.keyboard.press("ArrowDown")
    playing(page, "first")
    page.keyboard.press("5")
    page.keyboard.press("Enter")
    page.keyboard.press("Space")
    expect(page.locator("#play")).to_contain_text("Pause")
    expect(page.locator("#about")).to_have_count(0)
    assert Select.objects.get(id=three[0].id).rating == 3


def test_a_misspelt_word_leads_to_the_right_one(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04&text=laufs")
    expect(page.locator(".nothing")).to_contain_text("No select of KB04 has “laufs”")
    page.get_by_role("link", name="laughs").click()
    expect(page.locator("#number")).to_have_text("1 found")


def test_a_search_is_named_and_found_by_others(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04&text=gate&pulled=unlisted")
    page.get_by_text("Name this search").click()
    page.get_by_label("Its name").fill("the gate, unused")
    page.get_by_role("button", name="Keep for everybody").click()
    other = room.enter(cast.producer, "/selects/?production=KB04")
    other.get_by_text("Named searches (1)").click()
    other.get_by_role("link", name="the gate, unused").click()
    expect(other.locator("#number")).to_have_text("1 found")
    expect(other.locator("#text")).to_have_value("gate")
