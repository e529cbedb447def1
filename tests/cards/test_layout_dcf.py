"""Still cameras' cards. Rules for folders and files: JEITA CP-3461 (DCF), as its public summaries give them."""

from review.cards.layouts import read_layout
from review.cards.tree import read_tree
from tests.cards import whole_cards as whole


def read(make_card, files):
    return read_layout(read_tree(make_card(files)))


def test_it_works(make_card):
    reading = read(make_card, whole.dcf(("100KESTR", "101KESTR")) | {"MISC/INFO.BIN": b"x"})
    assert (reading.layout, reading.findings) == ("DCF", ())
    assert [(clip.name, clip.sidecars, clip.kind) for clip in reading.clips] == [
        (f"KES_{number:04}", (f"DCIM/{folder}/KES_{number:04}.THM",), "video")
        for folder, number in (("100KESTR", 1), ("100KESTR", 2), ("101KESTR", 11), ("101KESTR", 12))
    ]


def test_stills_are_neither_clips_nor_faults(make_card):
    stills = {f"DCIM/100KESTR/KES_{number:04}.{kind}": b"x" for number in range(50, 99) for kind in ("JPG", "DNG")}
    reading = read(make_card, whole.dcf() | stills)
    assert (len(reading.clips), reading.findings) == (2, ())


def test_gaps_in_the_numbers_prove_nothing(make_card):
    reading = read(make_card, {"DCIM/100KESTR/KES_0001.MOV": b"x", "DCIM/100KESTR/KES_0044.MOV": b"x"})
    assert reading.findings == ()


def test_sound_among_the_stills_is_a_clip(make_card):
    reading = read(make_card, {"DCIM/100KESTR/KES_0001.JPG": b"x", "DCIM/100KESTR/KES_0001.WAV": b"x"})
    assert [(clip.kind, clip.files, clip.sidecars) for clip in reading.clips] == [
        ("sound", ("DCIM/100KESTR/KES_0001.WAV",), ("DCIM/100KESTR/KES_0001.JPG",))
    ]


def test_a_companion_of_the_same_number_belongs_even_if_its_letters_differ(make_card):
    names = ["AA010001.MP4", "AA020001.MP4", "AL010001.LRV", "AL020001.LRV", "AA010001.THM"]
    first, second = read(make_card, {f"DCIM/100KESTR/{name}": b"x" for name in names}).clips
    assert [path[-12:] for path in first.sidecars] == ["AA010001.THM", "AL010001.LRV"]
    assert [path[-12:] for path in second.sidecars] == ["AL020001.LRV"]


def test_the_same_number_in_another_folder_is_another_object(make_card):
    files = {"DCIM/100KESTR/KES_0001.MOV": b"x", "DCIM/101KESTR/KES_0001.THM": b"x"}
    assert read(make_card, files).clips[0].sidecars == ()


def test_a_thumbnail_of_a_still_is_no_lost_video(make_card):
    files = whole.dcf() | {"DCIM/100KESTR/KES_0009.THM": b"x", "DCIM/100KESTR/KES_0009.DNG": b"x"}
    assert read(make_card, files).findings == ()


def test_folders_named_otherwise_are_read_all_the_same(make_card):
    reading = read(make_card, {"DCIM/FLIGHT_1/CLIP.MP4": b"x"})
    assert (reading.layout, len(reading.clips), reading.findings) == ("DCF", 1, ())
