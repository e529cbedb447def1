"""What an event is found by, how sure that is, and what is nearest where it is not. The rules are the house's own."""

from collections import Counter
from time import process_time

import pytest

from review.cuts import Choice, Footage, read
from review.timecode import Rate, Timebase
from tests.cuts.footage import PAL, clip, find, line

NAMED = "* FROM CLIP NAME: {}".format


def test_a_reel_and_its_timecode_are_sure():
    clips = [clip(), clip("A001C002", start="11:00:00:00"), clip("B001C001", "KB04-261112-B01")]
    (found,) = find(clips, line())
    assert (found.sure, found.clip, found.in_frame, found.out_frame) == ("sure", clips[0], 50, 100)
    assert found.why == "found by reel 61112A01"


@pytest.mark.parametrize("reel", ["KB04-261112-A01", "kb04_261112_a01", "KB04261112A01", "61112-A01"])
def test_the_card_folders_name_is_a_reel_too(reel):
    (found,) = find([clip(), clip("B001C001", "KB04-261112-B01")], line(reel))
    assert (found.sure, found.clip.name) == ("sure", "A001C001")


def test_a_card_that_a_comment_names_is_sure():
    (found,) = find([clip()], line("AX"), "* COMMENT: CARD KB04-261112-A01 FILE CLIP/A001C001.MOV")
    assert (found.sure, found.clip.name) == ("sure", "A001C001")
    assert found.why == "found by the comment that names card KB04-261112-A01"


@pytest.mark.parametrize(
    ("reel", "sure"),
    [("61112X77", "likely"), ("61112AO1", "sure"), ("A001C001", "sure"), ("KB04-2611", "sure")],
)
def test_a_comment_does_not_make_up_for_a_reel_that_is_not_known(reel, sure):
    """One that is a slip of the pen, or what a program left of the clip's or the card's name, is known."""
    clips = [clip(), clip("C1", "KB04-261119-C09", start="14:00:00:00")]
    (found,) = find(clips, line(reel), "* COMMENT: CARD KB04-261112-A01 FILE CLIP/A001C001.MOV")
    assert (found.sure, found.clip) == (sure, clips[0])
    assert (f"reel {reel} is not known here" in found.why) == (sure == "likely")


@pytest.mark.parametrize("reel", ["61112AO1", "6112A01", "611112A01", "61121A01"])
def test_one_character_off_is_likely(reel):
    (found,) = find([clip(), clip("C1", "KB04-261119-C09")], line(reel))
    assert (found.sure, found.clip.name) == ("likely", "A001C001")
    assert "one character off" in found.why


def test_two_characters_off_is_not_found_and_named_as_near():
    (found,) = find([clip()], line("61112X07", times="12:00:00:00 12:00:02:00"))
    assert (found.sure, found.clip) == ("lost", None)
    assert found.nearest == ({"clip": None, "words": "KB04-261112-A01: its reel 61112A01 is written like it"},)


@pytest.mark.parametrize("reel", ["KB042611", "A001C001_26"])
def test_a_reel_that_was_cut_short_is_likely(reel):
    name = "A001C001_261112_R1" if reel.startswith("A") else "C0001"
    (found,) = find([clip(name)], line(reel))
    assert (found.sure, found.clip.name) == ("likely", name)
    assert f"with which the {'clip' if reel.startswith('A') else 'card'}'s name begins" in found.why


@pytest.mark.parametrize(
    "comment",
    [
        NAMED("A001C001"),
        NAMED("a001c001.mov"),
        NAMED("Å001C001"),
        "* SOURCE FILE: A001C001.MOV",
        r"* FROM FILE: D:\x\A001C001.MXF",
    ],
)
@pytest.mark.parametrize("reel", ["AX", "WEDDING7"])
def test_by_name_where_the_reel_is_no_help(comment, reel):
    (found,) = find([clip(), clip("A001C002")], line(reel), comment)
    assert (found.sure, found.clip.name, found.in_frame) == ("likely", "A001C001", 50)


def test_a_reel_may_be_a_clips_name():
    (found,) = find([clip("A_0113C007_250602")], line("A_0113C007_250602"))
    assert (found.sure, found.clip.name) == ("likely", "A_0113C007_250602")
    assert found.why == "found by reel A_0113C007_250602, which is the clip's name"


def test_a_name_without_the_timecode_is_not_enough():
    (found,) = find([clip()], line("AX", times="12:00:00:00 12:00:02:00"), NAMED("A001C001"))
    assert found.sure == "lost"
    assert found.why == "the list gives no reel, and no clip named A001C001 has this timecode"
    assert found.nearest[0]["words"] == ("KB04-261112-A01 A001C001: same name; holds 10:00:00:00 to 10:00:10:00")


def test_one_name_on_several_cards_is_told_apart_by_timecode():
    clips = [clip("00001"), clip("00001", "KB04-261113-A01", start="12:00:00:00")]
    (found,) = find(clips, line("AX", times="12:00:01:00 12:00:03:00"), NAMED("00001.MTS"))
    assert found.clip == clips[1]


def test_the_reel_is_right_and_the_timecode_is_not():
    clips = [clip("A001C001", start="10:00:00:00"), clip("A001C002", start="13:20:00:00")]
    (found,) = find(clips, line(times="13:20:12:00 13:20:14:00"))
    assert found.why == "no clip on KB04-261112-A01 (reel 61112A01) has this timecode"
    assert [each["clip"] for each in found.nearest] == [clips[1].id, clips[0].id]
    assert "same reel; 2.0 s away (it holds 13:20:00:00 to 13:20:10:00)" in found.nearest[0]["words"]


def test_the_reel_is_another_cards_and_the_name_fits():
    clips = [clip(), clip("B001C001", "KB04-261112-B01", start="12:00:00:00")]
    (found,) = find(clips, line(times="12:00:01:00 12:00:03:00"), NAMED("B001C001"))
    assert (found.sure, found.clip) == ("likely", clips[1])
    assert "reel 61112A01 is of another card, which has no such timecode" in found.why


def test_the_same_timecode_twice_on_a_card_is_said():
    clips = [clip("A001C001"), clip("A001C009")]  # free run, a day apart
    (found,) = find(clips, line())
    assert (found.sure, found.clip) == ("likely", clips[0])
    assert "2 clips hold this timecode, and the first was taken" in found.why
    (other,) = found.nearest
    assert other == {"clip": clips[1].id, "words": "KB04-261112-A01 A001C009: holds this timecode too", "frame": 50}


def test_and_the_name_tells_which():
    clips = [clip("A001C001"), clip("A001C009")]
    (found,) = find(clips, line(), NAMED("A001C009"))
    assert (found.sure, found.clip) == ("sure", clips[1])


def test_a_name_of_the_editors_own_takes_nothing_away():
    (found,) = find([clip()], line(), NAMED("gulls, wide, good"))
    assert found.sure == "sure"


def test_a_name_of_another_clip_does():
    (found,) = find([clip(), clip("A001C002", start="11:00:00:00")], line(), NAMED("A001C002"))
    assert (found.sure, found.clip.name) == ("likely", "A001C001")
    assert "the list names another clip, which has no such timecode" in found.why


def test_the_last_frame_is_inside_and_the_next_is_not():
    inside, over, outside = find(
        [clip()],
        line(times="10:00:09:24 10:00:10:00", record="01:00:00:00 01:00:00:01"),
        line(times="10:00:09:24 10:00:10:01", record="01:00:00:01 01:00:00:03", number="002"),
        line(times="10:00:10:00 10:00:10:01", record="01:00:00:03 01:00:00:04", number="003"),
    )
    assert (inside.sure, inside.in_frame, inside.out_frame) == ("sure", 249, 250)
    assert (over.sure, over.in_frame, over.out_frame) == ("likely", 249, 250)
    assert "1 frame of it is past the clip's end" in over.why
    assert outside.sure == "lost"


def test_what_begins_before_the_clip_is_likely():
    (found,) = find([clip()], line(times="09:59:59:20 10:00:01:20"))
    assert (found.sure, found.in_frame, found.out_frame) == ("likely", 0, 45)


def test_a_clip_that_passes_midnight():
    clips = [clip("A001C001", start="23:59:55:00"), clip("A001C002", start="00:00:30:00")]
    before, over, after = find(
        clips,
        line(times="23:59:56:00 23:59:58:00"),
        line(times="23:59:59:00 00:00:01:00", number="002"),
        line(times="00:00:01:00 00:00:03:00", number="003"),
    )
    assert [(each.clip, each.in_frame, each.out_frame) for each in (before, over, after)] == [
        (clips[0], 25, 75),
        (clips[0], 100, 150),
        (clips[0], 150, 200),
    ]


def test_a_clip_without_timecode_is_also_counted_from_its_first_frame():
    untimed = clip("C0001", start="15:30:00:00", source_timecode=False)
    as_ours, from_nought = find(
        [untimed],
        line(times="15:30:02:00 15:30:04:00"),
        line("AX", times="00:00:02:00 00:00:04:00", number="002"),
        NAMED("C0001.MP4"),
    )
    assert (as_ours.sure, as_ours.in_frame) == ("sure", 50)
    assert (from_nought.sure, from_nought.in_frame) == ("likely", 50)
    assert "may count from its first frame" in from_nought.why


def test_a_name_that_is_given_exactly_goes_before_one_that_is_only_spelt_like_it():
    plain, accented = clip("Zoe"), clip("Zoë", "KB04-261112-B01")
    exact, spelt = find([plain, accented], line("AX"), NAMED("Zoë"), line("AX", number="002"), NAMED("Zoe.mov"))
    assert (exact.clip, exact.why) == (accented, "found by its name")
    assert spelt.clip == plain and "2 clips hold this timecode" in spelt.why
    (in_ascii,) = find([accented], line("AX"), NAMED("ZOE"))
    assert (in_ascii.clip, in_ascii.sure) == (accented, "likely")


def test_a_clip_that_holds_the_timecode_goes_before_one_that_may_count_from_its_first_frame():
    untimed = clip("C0001", start="15:30:00:00", source_timecode=False)
    timed = clip("C0001", "KB04-261112-B01", start="00:00:00:00")
    (found,) = find([untimed, timed], line("AX", times="00:00:02:00 00:00:04:00"), NAMED("C0001.MP4"))
    assert (found.clip, found.in_frame, found.sure) == (timed, 50, "likely")
    assert "2 clips hold this timecode" in found.why


def test_labels_of_fifty_in_a_list_of_twenty_five():
    """The source's own counting shows where it goes past the list's; then all of its reel counts so."""
    fast = clip(timebase=Timebase(Rate(50)), frames=500)
    first, second = find(
        [fast],
        line(times="10:00:02:30 10:00:03:30", record="01:00:00:00 01:00:01:00"),
        line(times="10:00:02:10 10:00:03:10", record="01:00:01:00 01:00:02:00", number="002"),
    )
    assert [(each.in_frame, each.out_frame) for each in (first, second)] == [(130, 180), (110, 160)]
    (by_time,) = find([fast], line(times="10:00:02:10 10:00:03:10", record="01:00:00:00 01:00:01:00"))
    assert (by_time.sure, by_time.in_frame, by_time.out_frame) == ("likely", 120, 170)


@pytest.mark.parametrize(("reel", "why"), [("BL", "black, no footage"), ("BARS", "bars, no footage")])
def test_black_and_bars_are_no_footage(reel, why):
    (found,) = find([clip()], line(reel))
    assert (found.sure, found.why, found.clip) == ("none", why, None)


def test_a_source_without_length_is_said():
    nothing, unsaid = find(
        [clip()],
        line(times="10:00:02:00 10:00:02:00", record="01:00:00:00 01:00:00:00"),
        line(times="10:00:02:00 10:00:02:00", number="002"),
    )
    assert (nothing.sure, unsaid.sure) == ("none", "lost")
    assert "does not say which frames" in unsaid.why


def test_what_nothing_is_known_of_gets_what_holds_its_timecode():
    (found,) = find([clip()], line("DRONE_07"), NAMED("sky"))
    assert found.why == "reel DRONE_07 is no card's, and no clip named sky has this timecode"
    assert found.nearest == (
        {"clip": clip.made, "words": "KB04-261112-A01 A001C001: holds this timecode", "frame": 50},
    )


def test_what_holds_all_of_it_is_named_first_and_how_many_more_there_are():
    part = [clip(f"C{number}", f"KB04-261112-C0{number}", start="10:00:03:00") for number in range(1, 5)]
    whole = [clip(), clip("X1", "KB04-261112-X01")]
    (found,) = find([*part, *whole], line("61112X77"))
    words = [each["words"] for each in found.nearest]
    assert words[:2] == [
        "KB04-261112-X01 X1: holds this timecode",  # of the card whose reel is written like it
        "KB04-261112-A01 A001C001: holds this timecode",
    ]
    assert words[2].endswith("holds 25 of its 50 frames")
    assert words[4] == "2 more clips hold some of this timecode"
    assert [each["frame"] for each in found.nearest[:4]] == [50, 50, 0, 0]


def test_an_event_that_could_not_be_read_is_not_found_and_says_what_stands_there():
    broken = line("KB04261112A01", times="10:00:02 10:00:04:00")
    (found,) = [each for each in find([clip()], broken, NAMED("A001C001"), line("BL")) if each.sure == "lost"]
    assert found.why == f"its line has not the four timecodes of an event: “{broken}”"
    assert [each["words"] for each in found.nearest] == [
        "KB04-261112-A01 A001C001: same name",
        "KB04-261112-A01: the card of its reel",
    ]


def test_a_frame_that_no_second_has_is_likely_the_last_of_its_second():
    (found,) = find([clip()], line(times="10:00:02:30 10:00:04:00"))
    assert (found.sure, found.in_frame, found.out_frame) == ("likely", 74, 100)
    assert "30 is no frame at 25 fps" in found.why


def test_a_timecode_that_no_clock_shows_is_said():
    (found,) = find([clip()], line(times="10:00:61:00 10:01:02:00"))
    assert (found.sure, found.nearest) == ("lost", ())
    assert found.why == "its timecode is wrong: 10:00:61:00: hours go to 23, minutes and seconds to 59"


def test_out_before_in_stays_in_its_clip_and_is_said():
    clips = [clip(), clip("A001C002", start="09:00:00:00"), clip("A001C003", start="11:00:00:00")]
    both, source = find(
        clips,
        line(times="10:00:04:00 10:00:02:00", record="01:00:02:00 01:00:00:00"),
        line(times="10:00:04:00 10:00:02:00", number="002"),
    )
    assert (both.sure, both.clip, both.in_frame, both.out_frame) == ("likely", clips[0], 50, 100)
    assert both.nearest == () and "its out is before its in" in both.why and "past the clip" not in both.why
    assert (source.clip, source.in_frame, source.out_frame) == (clips[0], 100, 150)
    assert "taken from its in onwards" in source.why


def test_what_runs_on_under_a_dissolve_is_said():
    outgoing, _ = find(
        [clip()],
        line(),
        "002  61112A01 V     D    012 10:00:06:00 10:00:08:00 01:00:02:00 01:00:04:00",
    )
    assert (outgoing.sure, outgoing.in_frame, outgoing.out_frame) == ("sure", 50, 112)
    assert outgoing.why == "found by reel 61112A01; it runs on for 12 frames under the dissolve or wipe that follows"


def chosen(clips, choice: Choice, *lines: str):
    (found,) = Footage(clips, PAL).find(read("\n".join(lines).encode()).events, {1: choice})
    return found


def test_a_persons_choice_goes_before_what_was_found():
    clips = [clip("A001C001"), clip("A001C009")]
    found = chosen(clips, Choice(clips[1].id, "sunniva"), line())
    assert (found.sure, found.clip, found.in_frame, found.out_frame) == ("sure", clips[1], 50, 100)
    assert found.why == "chosen by sunniva"
    (other,) = found.nearest
    assert (other["clip"], other["frame"]) == (clips[0].id, 50) and "found by reel 61112A01" in other["words"]


@pytest.mark.parametrize(
    ("clip_id", "words"), [(None, "B1, which does not hold this timecode"), (-1, "a clip that is gone")]
)
def test_a_choice_that_does_not_fit_any_more_is_said(clip_id, words):
    clips = [clip(), clip("B1", "KB04-261112-B01", start="12:00:00:00")]
    found = chosen(clips, Choice(clip_id or clips[1].id, "sunniva"), line())
    assert (found.sure, found.clip, found.choice) == ("sure", clips[0], None)
    assert "sunniva had chosen" in found.why and words in found.why


def test_a_list_that_is_made_to_take_long_does_not():
    """Every clip of one name, every reel unknown and different: the most that a look can be made to do."""
    clips = [
        clip("00001", f"KB04-2611{10 + number // 99:02}-A{number % 99:02}", PAL.label(number * 997), frames=1_000)
        for number in range(1_500)
    ]
    lines = "".join(f"{line(f'X{number:07}')}\n{NAMED('00001')}\n" for number in range(1_500))
    events = read(lines.encode()).events
    began = process_time()
    found = Footage(clips, PAL).find(events)
    assert process_time() - began < 20
    assert Counter(each.sure for each in found) == {"likely": 1_500}
