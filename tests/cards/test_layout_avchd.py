"""AVCHD cards. The shape of a BDMV folder and of its playlists: what public readers of such discs agree on, and
common practice, no source. No camera original was at hand: the cards here are made for the tests."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.layouts import read_layout
from review.cards.layouts.mpls import PlayItem, parse_playlist
from review.cards.tree import read_tree
from tests.cards import whole_cards
from tests.cards.whole_cards import FRAME, SECOND, stream

PACKETS = bytes(192 * 3)
BDMV = "PRIVATE/AVCHD/BDMV"


def read(folder):
    return read_layout(read_tree(folder))


@pytest.fixture
def whole(avchd):
    return avchd({"00001": PACKETS, "00002": PACKETS})


def test_it_works(make_card, whole):
    reading = read(make_card(whole))
    assert reading.layout == "AVCHD"
    assert reading.findings == ()
    assert [(clip.name, clip.files, clip.sidecars, clip.kind) for clip in reading.clips] == [
        (number, (f"{BDMV}/STREAM/{number}.MTS",), (f"{BDMV}/CLIPINF/{number}.CPI",), "video")
        for number in ("00001", "00002")
    ]


@pytest.mark.parametrize("root", ["AVCHD/BDMV", "BDMV", "private/avchd/bdmv"])
def test_the_bdmv_folder_is_found_wherever_it_is(make_card, avchd, root):
    reading = read(make_card(avchd({"00001": PACKETS}, root=root)))
    assert (len(reading.clips), reading.findings) == (1, ())


def test_long_names_are_the_same_card(make_card, whole):
    long = {".MTS": ".m2ts", ".CPI": ".clpi", ".MPL": ".mpls", ".BDM": ".bdmv"}
    files = {path[:-4] + long[path[-4:]]: data for path, data in whole.items()}
    files = {path.replace("MOVIEOBJ", "MovieObject"): data for path, data in files.items()}
    reading = read(make_card(files))
    assert ([clip.name for clip in reading.clips], reading.findings) == (["00001", "00002"], ())


def test_seamless_streams_are_one_clip(make_card, avchd):
    streams = dict.fromkeys(["00001", "00002", "00003", "00004"], PACKETS)
    items = [("00001", 1), ("00002", 6), ("00003", 6), ("00004", 5)]
    clips = read(make_card(avchd(streams, items))).clips
    assert [[path[-9:-4] for path in clip.files] for clip in clips] == [["00001", "00002", "00003"], ["00004"]]
    assert clips[0].name == "00001"
    assert len(clips[0].sidecars) == 3


def test_a_playlist_that_closes_a_ring_gives_every_stream_once(make_card, avchd):
    streams = dict.fromkeys(["00001", "00002", "00003"], PACKETS)
    items = [("00001", 1), ("00002", 6), ("00001", 6), ("00003", 6), ("00002", 6), ("00003", 6)]
    clips = read(make_card(avchd(streams, items))).clips
    assert sorted(path[-9:-4] for clip in clips for path in clip.files) == ["00001", "00002", "00003"]


@pytest.mark.parametrize(
    ("lost", "code", "where", "words"),
    [
        ("INDEX.BDM", "missing-index", "INDEX.BDM", "index (INDEX.BDM) is missing"),
        ("MOVIEOBJ.BDM", "missing-index", "MOVIEOBJ.BDM", "MOVIEOBJ.BDM is missing"),
        ("PLAYLIST/00000.MPL", "missing-index", "PLAYLIST", "playlists (PLAYLIST/*.MPL) are missing"),
        ("CLIPINF/00002.CPI", "missing-clip-info", "STREAM/00002.MTS", "without its clip information"),
        ("STREAM/00002.MTS", "missing-stream", "STREAM/00002.MTS", "CLIPINF/00002.CPI and PRIVATE/AVCHD/BDMV/PLAYLIST"),
    ],
)
def test_each_missing_part_stops(make_card, whole, lost, code, where, words):
    del whole[f"{BDMV}/{lost}"]
    findings = read(make_card(whole)).findings
    assert [(each.severity, each.code, each.where) for each in findings] == [("stop", code, f"{BDMV}/{where}")]
    assert words in findings[0].what
    assert "Copy the whole card again" in findings[0].next


def test_a_stream_that_only_a_playlist_names_is_missing_too(make_card, whole):
    del whole[f"{BDMV}/STREAM/00001.MTS"], whole[f"{BDMV}/CLIPINF/00001.CPI"]
    findings = read(make_card(whole)).findings
    assert [each.code for each in findings] == ["missing-stream"]
    assert "named by PRIVATE/AVCHD/BDMV/PLAYLIST/00000.MPL" in findings[0].what


def test_a_stream_cut_short_stops(make_card, whole):
    whole[f"{BDMV}/STREAM/00002.MTS"] = PACKETS[:-1]
    findings = read(make_card(whole)).findings
    assert [(each.code, each.where) for each in findings] == [("truncated-stream", f"{BDMV}/STREAM/00002.MTS")]
    assert "575 bytes are not a whole number of 192-byte packets" in findings[0].what


def test_a_damaged_playlist_stops(make_card, whole):
    whole[f"{BDMV}/PLAYLIST/00000.MPL"] = whole[f"{BDMV}/PLAYLIST/00000.MPL"][:-20]
    findings = read(make_card(whole)).findings
    assert [each.code for each in findings] == ["bad-playlist"]
    assert "it ends too early" in findings[0].what


@pytest.mark.parametrize("folder", ["", "day one/", f"{BDMV}/STREAM/", "STREAM/"])
def test_only_the_stream_files_came(make_card, folder):
    reading = read(make_card({f"{folder}00001.MTS": PACKETS, f"{folder}00002.m2ts": PACKETS}))
    assert [(each.severity, each.code) for each in reading.findings] == [("stop", "partial-copy")]
    assert "Only the stream files" in reading.findings[0].what
    assert "Copy the whole card again, from its top folder, before it is wiped" in reading.findings[0].next
    assert [clip.name for clip in reading.clips] == ["00001", "00002"]


def test_without_playlists_streams_whose_clock_runs_on_are_one_clip(make_card):
    data = {"00003": stream(0), "00004": stream(50 * FRAME), "00005": stream(100 * FRAME), "00006": stream(SECOND)}
    card = whole_cards.avchd(tuple(data), data=data)
    del card[f"{BDMV}/PLAYLIST/00000.MPL"]
    reading = read(make_card(card))
    assert [[path[-9:-4] for path in clip.files] for clip in reading.clips] == [["00003", "00004", "00005"], ["00006"]]
    assert [each.code for each in reading.findings] == ["missing-index", "joined-by-time"]


def test_streams_that_playlists_name_are_not_joined_by_their_clock(make_card):
    """The camera says that they are recordings of their own."""
    data = {"00003": stream(0), "00004": stream(50 * FRAME)}
    reading = read(make_card(whole_cards.avchd(tuple(data), data=data)))
    assert ([clip.name for clip in reading.clips], reading.findings) == (["00003", "00004"], ())


def test_a_seam_that_the_clock_bears_out_is_told_of_no_one(make_card):
    data = {"00003": stream(0), "00004": stream(50 * FRAME)}
    reading = read(make_card(whole_cards.avchd(tuple(data), joined=("00004",), data=data)))
    assert ([clip.name for clip in reading.clips], reading.findings) == (["00003"], ())


def test_two_streams_of_one_number_are_both_clips(make_card, whole):
    clips = read(make_card(whole | {f"{BDMV}/STREAM/00001.m2ts": PACKETS})).clips
    assert len([path for clip in clips for path in clip.files]) == 3


def test_other_files_of_footage_inside_the_structure_are_not_hidden(make_card, whole):
    clips = read(make_card(whole | {f"{BDMV}/STREAM/A.MP4": b"x", f"{BDMV}/B.MOV": b"x"})).clips
    assert [clip.name for clip in clips] == ["00001", "00002", "B", "A"]


def test_other_footage_on_the_card_is_not_forgotten(make_card, whole):
    reading = read(make_card(whole | {"DCIM/100MEDIA/CLIP1.MP4": b"x", "DCIM/100MEDIA/CLIP1.THM": b"x"}))
    assert reading.findings == ()
    assert reading.clips[-1].files == ("DCIM/100MEDIA/CLIP1.MP4",)
    assert reading.clips[-1].sidecars == ("DCIM/100MEDIA/CLIP1.THM",)


def test_an_unused_structure_beside_other_footage_is_no_avchd_card(make_card):
    reading = read(make_card({f"{BDMV}/INDEX.BDM": b"x", f"{BDMV}/STREAM/": b"", "CLIP/C0001.MP4": b"x"}))
    assert (reading.layout, len(reading.clips), reading.findings) == ("Video files", 1, ())


def test_a_playlist_reads(playlist):
    assert parse_playlist(playlist([("00001", 1), ("00002", 6)])) == [PlayItem("00001", 1), PlayItem("00002", 6)]


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda data: b"", "does not begin"),
        (lambda data: b"INDX" + data[4:], "does not begin"),
        (lambda data: data[:9], "ends too early"),
        (lambda data: data[:-1], "ends too early"),
        (lambda data: data.replace(b"M2TS", b"M3TS"), "has a damaged entry, 1 of 1"),
        (lambda data: data.replace(b"00001", b"\xff0001"), "has a damaged entry, 1 of 1"),
    ],
)
def test_a_damaged_playlist_is_refused(playlist, spoil, words):
    with pytest.raises(ValueError, match=words):
        parse_playlist(spoil(playlist([("00001", 1)])))


@given(st.binary(max_size=200) | st.binary(max_size=200).map(lambda tail: b"MPLS0100\0\0\0\x0c" + tail))
def test_any_bytes_are_a_playlist_or_a_refusal(data):
    try:
        parse_playlist(data)
    except ValueError as problem:
        assert str(problem)
