"""Taking a clip on and handing it back, on its page."""

from playwright.sync_api import expect

from review.models import Stint
from review.record import stints


def test_a_clip_is_taken_and_handed_back_and_the_page_stays_as_it_is(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    desk = room.watch(cast.logger, clip)
    desk.go(30)
    desk.press("i")
    desk.part("take").click()
    expect(desk.part("stints")).to_contain_text(f"logger has {clip.label(0)}–{clip.label(150)}")
    expect(desk.part("take")).to_be_hidden()
    expect(desk.part("trouble")).to_contain_text("“next unwatched” passes it by")
    desk.shows(30)
    expect(desk.part("about-which")).to_contain_text("In is marked")
    assert Stint.objects.get(ended_at=None).logger == cast.logger
    desk.page.get_by_role("button", name="Hand back").click()
    expect(desk.part("take")).to_be_visible()
    expect(desk.part("stints")).not_to_contain_text("logger has")
    assert not Stint.objects.filter(ended_at=None).exists()


def test_what_somebody_took_meanwhile_is_refused_with_words_and_shown(room, cast, ready_clip):
    room.expected.append("409|400|403")
    clip = ready_clip(frames=150)
    desk = room.watch(cast.logger, clip)
    stints.take(cast.owner, clip)
    desk.part("take").click()
    expect(desk.part("trouble")).to_contain_text("owner")
    expect(desk.part("stints")).to_contain_text("owner has")


def test_what_others_take_and_hand_back_appears_by_itself(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    desk = room.watch(cast.logger, clip, hurried=True)
    expect(desk.part("take")).to_be_visible()
    taken = stints.take(cast.owner, clip)
    expect(desk.part("stints")).to_contain_text(f"owner has {clip.label(0)}–{clip.label(150)}")
    expect(desk.part("take")).to_be_hidden()
    expect(desk.page.get_by_role("button", name="Hand back")).to_have_count(0)
    stints.hand_back(cast.owner, taken)
    expect(desk.part("take")).to_be_visible()
    expect(desk.part("stints")).not_to_contain_text("owner has")


def test_the_example_of_a_remark_is_read_whole_beside_who_holds_the_clip(room, cast, ready_clip):
    clip = ready_clip()
    stints.take(cast.logger, clip)
    for width in (1024, 1440):
        desk = room.watch(cast.logger, clip, viewport={"width": width, "height": 768})
        needed, room_for = desk.part("remark").evaluate(
            """(box) => {
              const { font, paddingLeft, paddingRight } = getComputedStyle(box);
              const pen = new OffscreenCanvas(1, 1).getContext("2d");
              pen.font = font;
              const room = box.clientWidth - parseFloat(paddingLeft) - parseFloat(paddingRight);
              return [pen.measureText(box.placeholder).width, room];
            }"""
        )
        assert needed < room_for, width


def test_what_one_is_given_can_be_handed_back_at_once(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    desk = room.watch(cast.logger, clip, hurried=True)
    stints.take(cast.logger, clip)
    desk.page.get_by_role("button", name="Hand back").click()
    expect(desk.part("take")).to_be_visible()
    assert not Stint.objects.filter(ended_at=None).exists()


def test_the_stint_of_somebody_else_has_no_button_to_end_it(room, cast, ready_clip):
    clip = ready_clip(frames=150)
    stints.take(cast.owner, clip)
    desk = room.watch(cast.logger, clip)
    expect(desk.part("stints")).to_contain_text("owner has")
    expect(desk.page.get_by_role("button", name="Hand back")).to_have_count(0)
