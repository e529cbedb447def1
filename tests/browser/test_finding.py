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
def found(room, cast):
    """found(person) -> the selects page with everything on it, and no word being typed: on arrival the box has the
    focus."""

    def enter(person=cast.editor):
        page = room.enter(person, "/selects/?production=KB04")
        expect(page.locator("#text")).to_be_focused()
        page.keyboard.press("Escape")
        return page

    return enter


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


def test_all_of_it_plays_as_one_without_a_gap_that_one_can_see(found, three):
    page = found()
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


def test_handles_are_cut_at_the_ends_of_the_clip(found, three):
    page = found()
    page.locator("#handles").select_option("1")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#now-label")).to_have_text("10:00:00:00")  # 25 before frame 10 there are only ten
    page.keyboard.press("ArrowDown")
    expect(page.locator("#now-label")).to_have_text("10:00:00:15")


def test_marks_are_made_from_here_by_key(found, cast, three):
    page = found()
    page.keyboard.press("Space")
    playing(page, "first")
    expect(page.locator("#play")).to_contain_text("Pause")
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


def test_nobody_marks_what_they_have_not_played(found, three):
    page = found()
    page.keyboard.press("ArrowDown")
    playing(page, "first")
    page.keyboard.press("s")
    expect(page.locator("#trouble")).to_have_text("Play it first (Space), then tag it.")
    page.keyboard.press("5")
    expect(page.locator("#trouble")).to_have_text("Play it first (Space), then rate it.")
    page.locator(".play-here").nth(1).click()
    expect(page.locator("#trouble")).to_be_hidden()
    expect(page.locator("#play")).to_contain_text("Pause")
    page.keyboard.press("s")
    expect(page.locator("tr.now .tag")).to_have_text(["net"])
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Space")  # it goes on playing there: now it stops
    expect(page.locator("#saved")).to_have_text("all saved")
    assert [each.tags.count() for each in three] == [1, 1, 0]


def test_the_keys_sheet_takes_no_keys_and_gives_the_focus_back_to_the_page(found, three):
    page = found()
    page.locator(".play-here").first.click()
    expect(page.locator("#play")).to_contain_text("Pause")
    page.get_by_role("button", name="Keys").click()
    page.keyboard.press("s")
    page.keyboard.press("Escape")
    expect(page.locator("#keys")).not_to_be_visible()
    expect(page.locator("#play")).not_to_contain_text("Pause")
    page.keyboard.press("Space")
    expect(page.locator("#play")).to_contain_text("Pause")
    expect(page.locator("#keys")).not_to_be_visible()
    assert [tag.name for tag in three[0].tags.all()] == ["gull"]


def test_the_box_of_words_is_entered_and_left_by_key(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04&text=first")
    box = page.locator("#text")
    expect(box).not_to_be_focused()
    page.keyboard.press("/")
    page.keyboard.type("second")  # in the place of what was there
    expect(box).to_have_value("second")
    page.keyboard.press("Escape")
    expect(box).not_to_be_focused()
    expect(box).to_have_value("second")
    page.keyboard.press("/")
    page.keyboard.press("Enter")
    expect(page.locator("#results tr")).to_contain_text("second")
    page.keyboard.press("/")
    page.keyboard.press("ArrowDown")
    playing(page, "second")
    expect(box).not_to_be_focused()


def test_a_click_on_a_row_shows_its_first_frame(found, three):
    page = found()
    page.locator("#results .its-note").nth(1).click()
    playing(page, "second")
    expect(page.locator("#now-label")).to_have_text("10:00:01:15")
    expect(page.locator("#play")).not_to_contain_text("Pause")


def test_who_was_slower_is_told_and_chooses(room, found, cast, three):
    page = found()
    page.keyboard.press("Space")
    playing(page, "first")
    expect(page.locator("#play")).to_contain_text("Pause")
    clip = Clip.objects.select_related("card__production").get(id=three[0].clip_id)
    selecting.put(cast.producer, three[0].id, clip, Mark(10, 35, (), "first: changed meanwhile", 1), 1)
    room.expected.append("409")
    page.keyboard.press("5")
    dialog = page.locator("dialog[open]")
    expect(dialog).to_contain_text("changed meanwhile")
    dialog.get_by_role("button", name="Take theirs").click()
    expect(page.locator("tr.now .its-note")).to_have_text("first: changed meanwhile")
    expect(page.locator("tr.now .rated")).to_have_text("1")


def test_what_is_found_is_pulled_by_key_by_box_and_whole(found, cast, three):
    best = lists.make(cast.editor, cast.kb04, "best")
    page = found()

    def pulled():
        return [entry.select_id for entry in best.entries.all()]

    expect(page.locator("#add-one")).to_contain_text("Add to best")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    playing(page, "second")
    page.keyboard.press("Enter")
    expect(page.locator("#added-one")).to_have_text("Added to best")
    expect(page.locator("tr.now .on-list")).to_have_text("on best")
    assert pulled() == [three[1].id]
    page.keyboard.press("Enter")
    expect(page.locator("#added-one")).to_have_text("Already on best")
    page.keyboard.press("ArrowUp")
    expect(page.locator("#added-one")).to_be_empty()
    page.locator("[name=select]").nth(2).check()
    add = page.locator("#choose button.main")
    expect(add).to_have_text("Add 1")
    add.click()
    expect(page.locator("#added")).to_have_text("Added to best")
    assert pulled() == [three[1].id, three[2].id]
    page.locator("#add-all").click()
    expect(page.locator("#added")).to_have_text("1 added, the others were on best")
    assert set(pulled()) == {each.id for each in three}
    lists.make(cast.editor, cast.kb04, "another")
    page.reload()
    expect(page.locator("#target option:checked")).to_have_text("best")
    expect(page.locator(".on-list:visible")).to_have_count(3)


def test_a_new_list_is_named_and_filled_with_the_one_that_is_chosen(found, cast, three):
    lists.make(cast.editor, cast.kb04, "best")
    page = found()
    expect(page.locator("#new-name")).to_be_hidden()
    page.locator("#choose button.main").click()
    expect(page.locator("#added")).to_contain_text("Tick the selects to add")
    page.locator("#target").select_option(label="a new list…")
    expect(page.locator("#new-name")).to_be_focused()
    page.locator("#results .its-note").first.click()
    page.locator("#new-name").press("Enter")
    expect(page.locator("#added")).to_have_text("Give the new list a name first.")
    page.locator("#new-name").fill("openers")
    page.keyboard.press("Enter")
    expect(page.locator("#added")).to_have_text("Added to openers")
    assert [each.select_id for each in cast.kb04.lists.get(name="openers").entries.all()] == [three[0].id]
    page.keyboard.press("ArrowDown")
    playing(page, "second")  # the keys are the page's again


def test_the_same_moment_on_another_camera_is_one_key_away(found, three):
    page = found()
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
    with page.expect_response(re.compile("/watched/")):  # sent as it stops
        page.keyboard.press("Space")
        expect(page.locator("#play")).to_contain_text("Pause")
        expect(page.locator("#now-label")).to_have_text("10:00:01:09")
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


def test_somebody_who_may_only_look_plays_and_cannot_mark(found, cast, three):
    page = found(cast.media_manager)
    page.keyboard.press("ArrowDown")
    playing(page, "first")
    page.keyboard.press("5")
    page.keyboard.press("Enter")
    page.keyboard.press("Space")
    expect(page.locator("#play")).to_contain_text("Pause")
    expect(page.locator("#about")).to_have_count(0)
    assert Select.objects.get(id=three[0].id).rating == 3


def test_what_comes_nearest_is_played_where_nothing_has_all_the_words(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04&text=gate creaking")
    expect(page.locator(".nothing")).to_contain_text("No select of KB04 has “creaking”")
    expect(page.locator("#number")).to_have_text("0 found")
    page.keyboard.press("Shift+Space")
    playing(page, "second: the gate")
    expect(page.locator("#now-place")).to_have_text("1 of 1 that come near")
    expect(page.locator("#play-all")).to_have_attribute("aria-pressed", "false")  # it came to its end
    page.keyboard.press("5")
    expect(page.locator("tr.now .rated")).to_have_text("5")


def test_a_misspelt_word_leads_to_the_right_one(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04&text=laufs")
    expect(page.locator(".nothing")).to_contain_text("No select of KB04 has “laufs”")
    page.get_by_role("link", name="laughs").click()
    expect(page.locator("#number")).to_have_text("1 found")
    expect(page.locator("mark")).to_have_text("laughs")


def test_menus_close_as_menus_do(room, cast, three):
    page = room.enter(cast.editor, "/selects/?production=KB04&text=gate")
    menus = page.locator("details.menu[open]")
    more = page.locator("nav details.menu summary")
    more.click()
    expect(menus).to_have_count(1)
    page.keyboard.press("Escape")
    expect(menus).to_have_count(0)
    more.click()
    page.get_by_text("Name this search").click()  # another opens, this one closes
    expect(menus).to_have_count(1)
    page.get_by_label("Its name").fill("the gate")
    page.locator("h1").click()
    expect(menus).to_have_count(0)
    expect(page.locator("[name=name]")).to_have_value("the gate")


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
