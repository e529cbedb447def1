"""The key that goes on to what nobody has watched keeps one rule inside a clip and between clips: first what one holds,
then what nobody holds, never what others do."""

import json
import random
from pathlib import Path

from playwright.sync_api import expect

from review.record import stints
from tests.browser.naive import ranges_of
from tests.seeing.test_coverage import see

TABLE = json.loads((Path(__file__).parents[1] / "data" / "next_unwatched.json").read_text())


def test_inside_a_clip_it_passes_by_what_somebody_else_holds_and_says_so(room, cast, ready_clip):
    first, second = ready_clip(frames=150), ready_clip("KB04-261113-A01")
    stints.take(cast.editor, first, 50, 90)
    desk = room.watch(cast.logger, first)
    desk.press("u")
    desk.shows(90)
    expect(desk.part("trouble")).to_have_text("Passed by what editor holds.")
    stints.take(cast.editor, first, 90, 150)
    desk = room.watch(cast.logger, first)
    desk.press("u")
    desk.page.wait_for_url(f"**/clips/{second.id}/?frame=0")
    expect(desk.part("trouble")).to_have_text(
        "What is unwatched after that in KB04-261112-A01 A001C001 is held by editor. "
        "The next is here: KB04-261113-A01 A001C001."
    )


def test_what_one_holds_in_another_clip_comes_before_what_nobody_holds_here(room, cast, ready_clip):
    first, second = ready_clip(frames=150), ready_clip("KB04-261113-A01")
    stints.take(cast.editor, first, 50, 90)  # so that a stretch which nobody holds begins at 90
    stint = stints.take(cast.logger, second)
    desk = room.watch(cast.logger, first)
    desk.press("u")
    desk.page.wait_for_url(f"**/clips/{second.id}/?frame=0")
    expect(desk.part("trouble")).to_have_text("The next of what you hold is here: KB04-261113-A01 A001C001.")
    stints.hand_back(cast.logger, stint)
    desk = room.watch(cast.logger, first)
    desk.press("u")
    desk.shows(90)


def test_a_stint_that_is_handed_back_on_the_page_is_anybodys_again(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    stints.take(cast.logger, clip, 50, 90)
    desk = room.watch(cast.logger, clip)
    desk.press("u")
    desk.shows(50)
    desk.page.get_by_role("button", name="Hand back").click()
    expect(desk.part("take")).to_be_visible()
    desk.press("Home")
    desk.part("take").click()
    expect(desk.part("stints")).to_contain_text("logger has")
    desk.press("u")
    desk.page.wait_for_url(f"**/clips/{clip.id}/?frame=0")  # its one stint begins there
    expect(desk.part("trouble")).to_have_text("It goes on here, with what you hold.")


def test_where_only_this_clip_has_something_free_it_comes_round_and_says_no_more_than_that(room, cast, ready_clip):
    clip, held = ready_clip(frames=150), ready_clip("KB04-261113-A01")
    stints.take(cast.editor, held)
    desk = room.watch(cast.logger, clip)
    desk.press("u")
    desk.page.wait_for_url(f"**/clips/{clip.id}/?frame=0")
    expect(desk.part("trouble")).to_have_text("It goes on here, with what nobody holds.")


def test_what_somebody_takes_on_while_the_page_is_open_is_passed_by(room, cast, ready_clip):
    clip, other = ready_clip(frames=150), ready_clip("KB04-261113-A01")
    stints.take(cast.editor, clip, 20, 40)
    logger, editor = room.watch(cast.logger, clip), room.watch(cast.editor, clip)
    editor.page.get_by_role("button", name="Hand back").click()
    editor.part("take").click()
    expect(editor.part("stints")).to_contain_text("editor has")
    logger.press("u")
    logger.page.wait_for_url(f"**/clips/{other.id}/?frame=0")
    expect(logger.part("trouble")).to_contain_text("A001C001 is held by editor.")


def test_without_an_answer_who_holds_what_is_as_the_page_knew(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    stints.take(cast.editor, clip, 50, 90)
    desk = room.watch(cast.logger, clip)
    desk.page.route("**/api/v1/stints/*", lambda _: None)  # none comes
    desk.press("u")
    desk.shows(90)
    expect(desk.part("trouble")).to_have_text("Passed by what editor holds.")


def test_in_the_midst_of_an_unwatched_stretch_it_goes_to_its_start_and_then_on(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    see(cast.editor, clip, (0, 20), (90, 110))
    desk = room.watch(cast.logger, clip, frame=60)
    expect(desk.part("coverage")).not_to_have_text("0 % watched")
    desk.press("u")
    desk.shows(20)
    expect(desk.part("trouble")).to_have_text("Back to where this unwatched stretch begins.")
    desk.press("u")
    desk.shows(110)
    expect(desk.part("trouble")).to_be_hidden()


def test_while_it_plays_it_leaves_the_stretch_that_is_being_watched(room, cast, ready_clip):
    clip = ready_clip(frames=250)
    see(cast.editor, clip, (150, 170))
    desk = room.watch(cast.logger, clip)
    expect(desk.part("coverage")).not_to_have_text("0 % watched")
    desk.press("l")
    desk.shows(*range(15, 140))
    desk.press("u")
    desk.shows(*range(170, 250))


def test_it_leads_where_the_table_for_the_server_says(run):
    given = []
    for case in TABLE["cases"]:
        clip, frame = case["at"]
        held = [
            {"logger": who, "second": "second" in rest, "in_frame": start, "out_frame": end}
            for who, of, start, end, *rest in case["stints"]
            if of == clip
        ]
        seen = [(who, stretch) for who, of, *stretch in case["seen"] if of == clip]
        mine = [stretch for who, stretch in seen if who == "logger"]
        facts = {"stints": held, "person": "logger", "seen": [stretch for _, stretch in seen], "mine": mine}
        at = {"frame": frame, "reach": case.get("reach", TABLE["frames"]), "holdsMore": case["holds_more"]}
        given.append([facts | {"frames": TABLE["frames"]}, at])
    found = run(
        """
        const { nextHere, toWatch } = await load("to-watch.js");
        return given.map(([facts, at]) => nextHere(toWatch(facts), at));
        """,
        given,
    )
    wanted = [
        {"start": case["here"], "ownFirst": case["own_first"], "holders": case["holders"]} for case in TABLE["cases"]
    ]
    for case, told, answer in zip(TABLE["cases"], found, wanted, strict=True):
        assert told == answer, case["name"]


def test_it_agrees_with_sets_of_frames(run):
    chance = random.Random(5)
    cases = []
    for _ in range(120):
        length = 24
        stints_ = [
            {"logger": chance.choice("ab"), "second": chance.random() < 0.3, "in_frame": start, "out_frame": end}
            for start, end in _ranges(chance, length, 3)
        ]
        seen, mine = _ranges(chance, length, 3), _ranges(chance, length, 2)
        cases.append({"stints": stints_, "person": "a", "seen": seen + mine, "mine": mine, "frames": length})
    found = run(
        'const { toWatch } = await load("to-watch.js"); return given.map((each) => toWatch(each));',
        cases,
    )
    for case, told in zip(cases, found, strict=True):
        unseen = set(range(case["frames"])) - _frames(case["seen"])
        unseen_by_me = set(range(case["frames"])) - _frames(case["mine"])
        held = {name: set() for name in "ab"}
        own = set()
        for each in case["stints"]:
            over = set(range(each["in_frame"], each["out_frame"]))
            if not each["second"]:
                held[each["logger"]] |= over
            if each["logger"] == "a":
                own |= over & (unseen_by_me if each["second"] else unseen)
        assert _frames(told["own"]) == own
        assert told["free"] == ranges_of(unseen - held["a"] - held["b"])
        assert _frames([r for each in told["others"] for r in each["ranges"]]) == unseen & held["b"]
        assert {each["logger"] for each in told["others"]} <= {"b"}


def _ranges(chance, length: int, most: int) -> list[list[int]]:
    return [sorted(chance.sample(range(length + 1), 2)) for _ in range(chance.randint(0, most))]


def _frames(ranges) -> set[int]:
    return {frame for start, end in ranges for frame in range(start, end)}
