"""Sound recorders' cards. Time reference: EBU Tech 3285. Names of iXML's elements: public readers and writers of it;
how recorders number split tracks: common practice, no source."""

from review.cards.layouts import read_layout
from review.cards.tree import read_tree
from tests.cards.whole_cards import RATE, TEN_O_CLOCK, wav

NIGHT = 24 * 3600 * RATE


def clips(make_card, files):
    reading = read_layout(read_tree(make_card(files)))
    assert reading.findings == ()
    return [(clip.files, clip.sound_files) for clip in reading.clips]


def test_it_works(make_card):
    files = {"DAY1/T001.WAV": wav(tracks=4), "DAY1/T001.TXT": b"x", "DAY1/T002.wav": wav(), "DAY2/T001.WAV": wav()}
    reading = read_layout(read_tree(make_card(files)))
    assert (reading.layout, reading.findings) == ("Sound files", ())
    assert [(clip.name, clip.files, clip.sidecars, clip.kind) for clip in reading.clips] == [
        ("DAY1/T001", ("DAY1/T001.WAV",), ("DAY1/T001.TXT",), "sound"),
        ("T002", ("DAY1/T002.wav",), (), "sound"),
        ("DAY2/T001", ("DAY2/T001.WAV",), (), "sound"),
    ]


def test_what_is_no_wav_file_is_a_clip_by_itself_for_the_probe_to_judge(make_card):
    assert clips(make_card, {"T001.WAV": b"x", "T001_1.WAV": b"x"}) == [(("T001.WAV",), ()), (("T001_1.WAV",), ())]


def test_numbered_tracks_of_one_length_and_time_are_one_take(make_card):
    files = {f"T001_{track}.WAV": wav() for track in range(1, 13)}
    others = tuple(f"T001_{track}.WAV" for track in range(2, 13))
    assert clips(make_card, files) == [(("T001_1.WAV",), (others,))]


def test_numbered_files_that_differ_in_time_or_length_or_say_no_time_are_takes_of_their_own(make_card):
    for one, other in (
        (wav(), wav(start=TEN_O_CLOCK + 1)),
        (wav(), wav(samples=4801)),
        (wav(start=None), wav(start=None)),
    ):
        files = {"T001_1.WAV": one, "T001_2.WAV": other}
        assert clips(make_card, files) == [(("T001_1.WAV",), ()), (("T001_2.WAV",), ())]


def test_tracks_with_one_family_are_one_take_whatever_their_names(make_card):
    files = {
        "T001-R.WAV": wav(family="F1", index="2", total=2),
        "T001-L.WAV": wav(family="F1", index="1", total=2),
        "T002-L.WAV": wav(family="F2", index="1", total=1, start=TEN_O_CLOCK + 99),
    }
    assert clips(make_card, files) == [(("T001-L.WAV",), (("T001-R.WAV",),)), (("T002-L.WAV",), ())]


def test_letters_alone_do_not_make_a_take(make_card):
    assert len(clips(make_card, {"T001-L.WAV": wav(), "T001-R.WAV": wav()})) == 2


def test_parts_that_go_on_at_the_very_sample_are_one_take(make_card):
    files = {f"T001{part}.WAV": wav(start=TEN_O_CLOCK + place * 4800) for place, part in enumerate("ABC")}
    files["T002.WAV"] = wav(start=TEN_O_CLOCK + 3 * 4800 + 1)
    assert clips(make_card, files) == [(("T001A.WAV", "T001B.WAV", "T001C.WAV"), ()), (("T002.WAV",), ())]


def test_split_tracks_that_go_on_keep_their_tracks_beside_each_part(make_card):
    files = {
        f"{stem}_{track}.WAV": wav(start=start)
        for stem, start in (("T001", TEN_O_CLOCK), ("T001B", TEN_O_CLOCK + 4800))
        for track in (1, 2)
    }
    assert clips(make_card, files) == [(("T001_1.WAV", "T001B_1.WAV"), (("T001_2.WAV",), ("T001B_2.WAV",)))]


def test_a_family_that_goes_on_is_one_take_even_a_hair_late(make_card):
    files = {
        "A.WAV": wav(family="F1", total=1),
        "B.WAV": wav(family="F1", total=1, start=TEN_O_CLOCK + 4800 + 3),
    }
    assert clips(make_card, files) == [(("A.WAV", "B.WAV"), ())]


def test_a_take_goes_on_past_midnight(make_card):
    for family in ("", "F1"):
        files = {"A.WAV": wav(family=family, start=NIGHT - 4800), "B.WAV": wav(family=family, start=0)}
        assert clips(make_card, files) == [(("A.WAV", "B.WAV"), ())]


def test_two_recordings_that_could_both_follow_are_left_apart(make_card):
    files = {"A.WAV": wav(), "MIX.WAV": wav(start=TEN_O_CLOCK + 4800), "ISO.WAV": wav(start=TEN_O_CLOCK + 4800)}
    assert [files for files, _ in clips(make_card, files)] == [("A.WAV",), ("ISO.WAV",), ("MIX.WAV",)]


def test_takes_with_a_clock_that_stands_still_are_not_chained(make_card):
    """Recorders without a clock write 0 into every file."""
    assert len(clips(make_card, {f"T00{number}.WAV": wav(start=0) for number in range(1, 4)})) == 3


def test_a_family_over_two_folders_is_two_takes(make_card):
    """A second recorder's folder, or a copy of the first: nothing is joined across folders."""
    assert len(clips(make_card, {"ONE/A.WAV": wav(family="F1"), "TWO/A.WAV": wav(family="F1")})) == 2
