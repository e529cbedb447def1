"""Every way to make and to change a mark, by keyboard."""

from playwright.sync_api import expect

from review.models import Person, Select
from tests.browser.desk import Desk


def test_out_may_be_marked_before_in(desk):
    desk.go(30)
    desk.press("o")
    expect(desk.part("about-which")).to_have_text("Out is marked: I marks in")
    desk.go(10)
    desk.press("i")
    assert desk.ranges() == [(10, 31)]
    assert (desk.number("in-proof"), desk.number("out-proof")) == (10, 30)


def test_an_in_after_an_out_that_was_marked_begins_anew_and_says_so(desk):
    desk.go(10)
    desk.press("o")
    desk.go(30)
    desk.press("i")
    expect(desk.part("trouble")).to_contain_text("In (10:00:01:05) is not before the out that was marked")
    desk.go(40)
    desk.press("o")
    assert desk.ranges() == [(30, 41)]


def test_an_open_mark_grows_with_what_is_shown_takes_words_and_is_ended_by_a_key(desk):
    desk.go(5)
    desk.press("i")
    bare = band(desk, 30)
    desk.press("a", "4", "Space")  # its tag and rating while it plays on
    desk.shows(*range(60, 149))
    desk.press("Space")
    expect(desk.part("speed")).to_have_text("still")
    assert band(desk, 30) != bare, "the band reaches as far as was shown"
    desk.go(80)
    desk.press("Shift+Enter")
    assert desk.ranges() == [(5, 81)]
    made = Select.objects.get()
    assert (made.rating, [tag.name for tag in made.tags.all()]) == (4, ["gull"])
    desk.press("Shift+Enter")
    expect(desk.part("trouble")).to_have_text("No mark is open: mark in opens one.")


def band(desk: Desk, frame: int) -> list[int]:
    """The colour at the foot of the bands, where the sheet shows a frame of its first line (5 s)."""
    return desk.page.locator("#sheet canvas").first.evaluate(
        """(canvas, share) => {
          const scale = canvas.height / canvas.clientHeight;
          const pen = canvas.getContext("2d");
          const { data } = pen.getImageData(Math.round(share * canvas.width), Math.round(70 * scale), 8, 2);
          return [...data];
        }""",
        frame / 125,
    )


def test_an_open_mark_outlives_the_page(desk):
    desk.go(5)
    desk.press("i", "3")
    desk.reload()
    expect(desk.part("about-which")).to_have_text("In is marked: O marks out")
    desk.go(20)
    desk.press("o")
    assert desk.ranges() == [(5, 21)]
    assert Select.objects.get().rating == 3


def test_the_catch_key_marks_the_last_seconds_as_many_as_the_person_likes(desk, cast):
    desk.go(100)
    desk.press("Enter")  # ten seconds, but no further back than the clip
    assert desk.ranges() == [(0, 101)]
    desk.part("catch-seconds").fill("2")
    with desk.page.expect_response("**/api/v1/habits/") as answer:
        desk.part("catch-seconds").press("Tab")
    assert answer.value.ok
    desk.part("main").focus()
    desk.press("Enter")
    assert desk.ranges() == [(0, 101), (51, 101)]
    assert Person.objects.get(id=cast.logger.id).habits["catch_seconds"] == 2


def test_a_catch_leaves_an_open_mark_open(desk):
    desk.go(5)
    desk.press("i")
    desk.go(20)
    desk.press("Enter")
    desk.go(30)
    desk.press("o")
    assert desk.ranges() == [(0, 21), (5, 31)]


def test_a_select_is_nudged_and_shifted_by_frames(desk):
    desk.mark(10, 20)
    desk.press("Control+ArrowLeft", "Control+ArrowLeft", "Control+ArrowRight")
    desk.press("Control+Shift+ArrowRight", "Control+Shift+ArrowRight", "Control+Shift+ArrowLeft")
    assert desk.ranges() == [(9, 21)]
    desk.press("Control+ArrowDown", "Control+ArrowDown", "Control+ArrowUp")
    assert desk.ranges() == [(10, 22)]
    desk.press(*["Control+z"] * 3)
    assert desk.ranges() == [(9, 21)]


def test_what_cannot_be_moved_further_says_so(desk):
    desk.mark(0, 1)
    for key, words in (
        ("Control+ArrowLeft", "In stands on the clip's first frame already."),
        ("Control+ArrowRight", "In must stay before out."),
        ("Control+ArrowUp", "The select stands at the clip's first frame already."),
        ("Shift+S", "Go to a frame inside the select"),
        ("Shift+J", "There is no other select that touches or overlaps this one."),
    ):
        desk.press(key)
        expect(desk.part("trouble")).to_contain_text(words)
    assert desk.ranges() == [(0, 1)]
    desk.press("Escape", "Shift+D")
    expect(desk.part("trouble")).to_contain_text("Choose a select first")


def test_a_select_is_split_and_joined_again_each_as_one_step_of_undo(desk):
    desk.mark(10, 40)
    desk.press("a", "4", "n")
    desk.page.keyboard.type("It lands.")
    desk.press("Escape")
    desk.go(25)
    desk.press("Shift+S")
    assert desk.ranges() == [(10, 25), (25, 40)]
    for select in desk.selects():
        assert (select.rating, select.note, [tag.name for tag in select.tags.all()]) == (4, "It lands.", ["gull"])
    desk.press("5", "s", "Shift+J")  # the second part, changed, with the first that it touches
    assert desk.ranges() == [(10, 40)]
    joined = desk.selects()[0]
    assert (joined.rating, joined.note) == (5, "It lands.")
    assert sorted(tag.name for tag in joined.tags.all()) == ["gull", "net"]
    desk.press("Control+z")
    assert [(each.in_frame, each.rating) for each in saved(desk)] == [(10, 4), (25, 5)]
    desk.press(*["Control+z"] * 3)  # the tag, the rating, the split
    assert desk.ranges() == [(10, 40)]
    desk.press(*["Control+Shift+Z"] * 4)
    assert [(each.in_frame, each.out_frame, each.rating) for each in saved(desk)] == [(10, 40, 5)]


def saved(desk: Desk) -> list[Select]:
    desk.saved()
    return desk.selects()


def test_chosen_selects_are_joined_if_they_touch(desk):
    for start, end in ((0, 10), (10, 20), (15, 30), (50, 60)):
        desk.mark(start, end)
    desk.listed.nth(0).click()
    for at in (1, 2, 3):
        desk.listed.nth(at).click(modifiers=["Control"])
    desk.press("Shift+J")
    expect(desk.part("trouble")).to_contain_text("these lie apart")
    desk.listed.nth(3).click(modifiers=["Control"])
    desk.press("Shift+J")
    assert desk.ranges() == [(0, 30), (50, 60)]
    desk.press("Control+z")
    assert desk.ranges() == [(0, 10), (10, 20), (15, 30), (50, 60)]


def test_a_select_is_duplicated_and_the_two_overlap_in_peace(desk):
    desk.mark(10, 20)
    desk.press("a", "Shift+D", "s", "Control+Shift+ArrowRight")
    assert desk.ranges() == [(10, 20), (10, 21)]
    assert [sorted(tag.name for tag in each.tags.all()) for each in desk.selects()] == [["gull"], ["gull", "net"]]


def test_everything_is_undone_and_redone(desk):
    desk.mark(10, 20)
    desk.press("a", "3", "n")
    desk.page.keyboard.type("It lands.")
    desk.page.wait_for_timeout(1000)  # longer than the pause after which a note is written down
    desk.page.keyboard.type(" It stays.")
    desk.press("Escape")

    def says(select: Select) -> tuple:
        return select.rating, select.note, [tag.name for tag in select.tags.all()]

    states = [(0, "", []), (0, "", ["gull"]), (3, "", ["gull"]), (3, "It lands. It stays.", ["gull"])]
    assert says(saved(desk)[0]) == states[-1]
    for state in reversed(states[:-1]):
        desk.press("Control+z")
        assert says(saved(desk)[0]) == state
    desk.press("Control+z")
    assert desk.ranges() == []
    for state in states:
        desk.press("Control+Shift+Z")
        assert says(saved(desk)[0]) == state
