"""What a format cannot carry is told before it is exported."""

import pytest

from review.exports import ExportOptions, preflight

from .pulls import DROP, event, pull


def told(selects, kind="edl", **given):
    return preflight(selects, kind, ExportOptions.read(given))


def plain(**changes):
    return event(tags=(), note="", rating=0, **changes)


@pytest.mark.parametrize("kind", ["edl", "csv", "otio"])
def test_a_plain_list_has_nothing_to_tell(kind):
    assert told(pull(plain()), kind) == []


@pytest.mark.parametrize(
    ("changes", "weight", "words"),
    [
        ({"source_timecode": False}, "lost", "1 select: the camera gave no timecode"),
        ({"clipped": (0, 3)}, "lost", "the clip begins or ends before the handle does"),
        ({"more_files": ("B.MXF",)}, "told", "goes on in another file"),
        ({"clip": "Möwe"}, "lost", "the name of the clip, card or file is spelt out"),
        ({"section": "Möwe"}, "lost", "tags, note or section are spelt out"),
        ({"file": "x" * 300}, "lost", "longer than 240 characters"),
        ({"channels": 6}, "lost", "more than four channels"),
        ({"clip_start": 2_159_900}, "told", "passes midnight there, so it becomes two events"),
        ({"section": "Arrivals"}, "told", "are comments, for people to read"),
        ({"handles": (25, 0)}, "told", "nothing in an EDL says where they end"),
        ({"reel": "BL"}, "stop", "which an EDL cannot hold"),
    ],
)
def test_what_an_edl_cannot_carry_is_told_with_its_place(changes, weight, words):
    remarks = [each for each in told(pull(plain(), plain(**changes))) if words in each.words]
    assert [each.weight for each in remarks] == [weight]
    if weight != "stop" and "comments" not in words:
        assert (remarks[0].places, remarks[0].count) == ((2,), 1)


def test_what_stops_it_comes_first():
    remarks = told(pull(plain(source_timecode=False), plain(card="KB04-361112-A03")))
    assert [each.weight for each in remarks] == ["stop", "lost"]
    assert "both have the reel 61112A03" in remarks[0].words


def test_several_files_are_told():
    assert "there are 2, each in files of its own" in told(pull(plain(), plain(timebase=DROP)))[0].words
    assert "999 events and less than a day: there are 2 files" in told(pull(*[plain()] * 1_000))[0].words


@pytest.mark.parametrize("rate", ["24", "50", "29.97DF"])
def test_a_record_rate_that_no_source_has_is_told_before_the_export(rate):
    lost = [each for each in told(pull(plain(), plain()), rate=rate) if each.weight == "lost"]
    assert (lost[0].places, lost[0].count) == ((1, 2), 2)
    assert lost[0].words.startswith(f"2 selects of 25 fps cannot be in a file of {rate}, as an EDL converts no rate")
    assert f"{rate}, applies to none of them" in lost[1].words


def test_a_record_rate_that_some_sources_have_names_those_that_go_apart():
    (lost,) = [each for each in told(pull(plain(), plain(timebase=DROP)), rate="25") if each.weight == "lost"]
    assert (lost.places, "1 select of 29.97DF fps cannot be in a file of 25" in lost.words) == ((2,), True)
    assert not [each for each in told(pull(plain(), plain()), rate="25") if each.weight == "lost"]


def test_a_title_that_is_cut_or_spelt_out_is_told():
    words = [each.words for each in told(pull(plain(), title="Ziegen auf dem Hügel " * 5))]
    assert [each for each in words if "cut to 70" in each] and [each for each in words if "plain Latin" in each]


def test_chosen_channels_say_what_they_leave_out_and_what_is_not_there():
    remarks = told(pull(plain(channels=2), plain(channels=1, has_picture=False)), channels="V")
    assert [(each.weight, each.places) for each in remarks] == [("lost", (1, 2)), ("told", (2,))]
    assert remarks[0].words.startswith("2 selects as V alone: the select is in it;")


def test_the_long_form_says_which_cards_keep_their_short_reel():
    (remark,) = told(pull(plain(), plain(card="card 7", reel="CARD7001")), reels="long")
    assert (remark.places, "so the short reel stands for it" in remark.words) == ((2,), True)


def test_only_the_first_places_are_listed():
    (remark,) = told(pull(*[plain(source_timecode=False)] * 30))
    assert (len(remark.places), remark.count) == (10, 30)
    assert remark.words.startswith("30 selects:")


def test_a_table_says_what_of_the_list_the_chosen_columns_leave_out():
    full = pull(event(section="Arrivals", handles=(25, 25)), event())
    words = {each.words: each.places for each in told(full, "csv")}
    assert words == {
        "No chosen column tells the sections of 1 select; choose section too.": (1,),
        "No chosen column tells the handles of 1 select; choose handle before and handle after too.": (1,),
        "The rows stand in the list's order; choose place too, to find that order again in a sorted table.": (),
    }
    every = "place,section,handle before,handle after,note,tags,rating,in frame,out frame"
    assert told(full, "csv", columns=every) == []
    said = " ".join(each.words for each in told(full, "csv", columns="clip,source in"))
    for what in ("the in and out of 2 selects", "the notes", "the tags", "the ratings"):
        assert f"No chosen column tells {what}" in said


def test_formulas_and_control_characters_are_told_for_tables_and_timelines():
    assert "begins like a formula" in told(pull(plain(clip="=1+1")), "csv")[0].words
    for kind in ("csv", "otio"):
        assert "control characters" in told(pull(event(note="a\x00b")), kind)[0].words


def test_a_timeline_of_several_rates_says_so():
    assert "several frame rates" in told(pull(plain(), plain(timebase=DROP)), "otio")[0].words
