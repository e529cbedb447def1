"""The restore list: which files, how many bytes, and from where."""

import csv
from fractions import Fraction

import pytest
from django.utils import timezone

from review.desk import restoring, returned_cuts
from review.models import Copy, Medium
from review.refusals import Refusal

EDL = b"""001  61112A01 V     C        10:00:01:00 10:00:01:10 01:00:00:00 01:00:00:10
002  61112B01 V     C        10:00:00:00 10:00:01:00 01:00:00:10 01:00:01:10
"""


@pytest.fixture
def clips(make_clip):
    """A recording of three files of 50 frames with sound and a sidecar, and another card with one file."""
    spanned = make_clip(
        frames=150,
        files=["CLIP/A-1.MOV", "CLIP/A-2.MOV", "CLIP/A-3.MOV"],
        file_frames=[50, 50, 50],
        sound_files=[["CLIP/A-1.WAV"], [], []],
        sidecars=["CLIP/A.XML"],
    )
    other = make_clip("B1", card="KB04-261112-B01")
    sizes = {"CLIP/A-1.MOV": 1000, "CLIP/A-2.MOV": 2000, "CLIP/A-3.MOV": 4000, "CLIP/A.XML": 7, "OTHER.BIN": 99}
    for path, size in sizes.items():
        spanned.card.files.create(path=path, size=size, modified=0)
    other.card.files.create(path="CLIP/B1.MOV", size=500, modified=0)
    for clip, whole in ((spanned, 7106), (other, 500)):
        clip.card.total_bytes = whole
        clip.card.save()
    return spanned, other


@pytest.fixture
def cut(cast, clips):
    return returned_cuts.take_in(cast.editor, cast.kb04, "x.edl", EDL)


@pytest.fixture
def drives(cast, clips):
    """A shuttle with proven copies of both cards, a vault with one that is away, and a drive that is retired."""
    media = {
        name: Medium.objects.create(production=cast.kb04, volume=f"named:{name}", label=name, kind="disk", **facts)
        for name, facts in {
            "shuttle": {"place": "the truck"},
            "vault": {"elsewhere": True},
            "old": {"retired_at": timezone.now()},
        }.items()
    }
    proven = {"state": Copy.State.SAME, "proven_at": timezone.now()}
    for clip in clips:
        clip.card.copies.create(medium=media["shuttle"], folder=f"/s/{clip.card.name}", **proven)
        clip.card.copies.create(medium=media["old"], folder=f"/o/{clip.card.name}", **proven)
    clips[0].card.copies.create(medium=media["shuttle"], folder="/s/spare")
    clips[0].card.copies.create(medium=media["vault"], folder="/v/x", here=False, **proven)
    return media


def files(card) -> dict[str, tuple]:
    return {file.path: (file.what, file.size) for file in card.files}


def test_every_file_of_a_recording_is_named_and_what_it_is_for(cast, cut):
    first, second = restoring.restore_list(cast.kb04, cut).cards
    assert files(first) == {
        "CLIP/A-1.MOV": ("holds the frames", 1000),
        "CLIP/A-2.MOV": ("rest of the recording", 2000),
        "CLIP/A-3.MOV": ("rest of the recording", 4000),
        "CLIP/A-1.WAV": ("sound beside it", None),
        "CLIP/A.XML": ("sidecar", 7),
    }
    assert files(second) == {"CLIP/B1.MOV": ("holds the frames", 500)}


def test_bytes_add_up(cast, cut):
    found = restoring.restore_list(cast.kb04, cut)
    assert [(each.size, each.unknown, each.card.total_bytes) for each in found.cards] == [
        (7007, 1, 7106),
        (500, 0, 500),
    ]
    assert (found.size, found.whole, found.files) == (7507, 7606, 6)


@pytest.mark.parametrize(
    ("handles", "spans", "holding"),
    [("0", (25, 35), 1), ("0.6", (10, 50), 1), ("0.61", (9, 51), 2), ("1", (0, 60), 2), ("600", (0, 150), 3)],
)
def test_handles_are_clipped_and_may_reach_into_the_next_file(cast, cut, handles, spans, holding):
    first = restoring.restore_list(cast.kb04, cut, restoring.parse_handles(handles)).cards[0]
    assert [tuple(span) for _, span in first.spans] == [spans]
    assert sum(file.what == "holds the frames" for file in first.files) == holding


def test_what_each_place_could_give(cast, cut, drives):
    found = restoring.restore_list(cast.kb04, cut)
    places = [
        (place.medium.label, len(place.copies), place.proven, place.here, place.size, place.whole)
        for place in found.places
    ]
    assert places == [("shuttle", 2, 2, True, 7507, 7606), ("vault", 1, 1, False, 7007, 7106)]
    assert found.nowhere == []


def test_cards_without_a_proven_copy_are_named(cast, cut, clips):
    assert [card.name for card in restoring.restore_list(cast.kb04, cut).nowhere] == [
        "KB04-261112-A01",
        "KB04-261112-B01",
    ]


def test_as_csv(cast, cut, drives):
    text = restoring.csv_of(restoring.restore_list(cast.kb04, cut)).content.decode("utf-8-sig")
    head, first, *rest = text.splitlines()
    assert head == "card,reel,file,bytes,what for,clips,copies,proven copies,events,least sure event"
    today = f"{timezone.now():%Y-%m-%d}"
    assert first == (
        "KB04-261112-A01,61112A01,CLIP/A-1.MOV,1000,holds the frames,A001C001,"
        f'"shuttle (the truck), proven {today}, connected; vault, proven {today}, not connected",2,001,sure'
    )
    assert len(rest) == 5 and "not known" in text


LESS_SURE = (
    EDL
    + b"003  61112AO1 V     C        10:00:02:00 10:00:02:10 01:00:01:10 01:00:01:20\n"
    + b"004  =1+1     V     C        10:00:00:00 10:00:01:00 01:00:01:20 01:00:02:20\n"
    + b"005  61112B01 V     C        10:00:00 10:00:01:00 01:00:02:20 01:00:03:20\n"
    + b"006  BL       V     C        00:00:00:00 00:00:01:00 01:00:03:20 01:00:04:20\n"
)


def test_what_no_file_is_named_for_comes_first(cast, clips):
    cut = returned_cuts.take_in(cast.editor, cast.kb04, "y.edl", LESS_SURE)
    found = restoring.restore_list(cast.kb04, cut)
    assert [(event.number, event.how_sure) for event in found.missing] == [("004", "not found"), ("005", "not read")]
    rows = list(csv.reader(restoring.csv_of(found).content.decode("utf-8-sig").splitlines()))
    assert rows[1][:4] == ["", "'=1+1", "", ""] and rows[1][-2:] == ["004 (line 4)", "not found"]
    assert rows[1][4] == "NOT IN THIS LIST: reel =1+1 is no card's, and the list names no clip"
    assert rows[2][-2:] == ["005 (line 5)", "not read"] and "has not the four timecodes" in rows[2][4]
    assert rows[3][0] == "KB04-261112-A01"


def test_every_file_says_how_sure_the_least_sure_event_is_that_needs_it(cast, clips):
    cut = returned_cuts.take_in(cast.editor, cast.kb04, "y.edl", LESS_SURE)
    first, second = restoring.restore_list(cast.kb04, cut).cards
    assert {(file.how_sure, file.numbers) for file in first.files} == {("likely", "001, 003 (likely)")}
    assert [(file.how_sure, file.numbers) for file in second.files] == [("sure", "002")]
    returned_cuts.choose(cast.producer, cut, 3, clips[0].id)
    first, _ = restoring.restore_list(cast.kb04, cut).cards
    assert {(file.how_sure, file.numbers) for file in first.files} == {("chosen by producer", "001, 003")}


def test_an_event_whose_clip_is_gone_since_is_named(cast, cut, clips):
    clips[0].delete()
    assert [event.number for event in restoring.restore_list(cast.kb04, cut).missing] == ["001"]


def test_of_all_cuts(cast, cut):
    more = EDL.splitlines()[1].replace(b"002", b"001")
    returned_cuts.take_in(cast.editor, cast.kb04, "y.edl", more)
    assert len(restoring.restore_list(cast.kb04).cards) == 2


def test_a_clip_that_became_shorter_since(cast, cut, clips):
    clips[0].frames, clips[0].file_frames = 30, [30, 0, 0]
    clips[0].save()
    (_, span), *_ = restoring.restore_list(cast.kb04, cut).cards[0].spans
    assert tuple(span) == (25, 30)


@pytest.mark.parametrize("text", ["-1", "two", "1e9", "1000", "601", "²", "1.2345"])
def test_handles_that_are_no_handles_are_refused(text):
    with pytest.raises(Refusal, match="andles"):
        restoring.parse_handles(text)


def test_handles_as_people_write_them():
    assert [restoring.parse_handles(text) for text in ("", " 2 ", "0.5")] == [0, 2, Fraction(1, 2)]
