"""The stretches that nobody has watched: a page of them at a time, and as a file."""

import pytest

from review.record import coverage, stints
from review.seeing import unwatched
from review.seeing.coverage_asked import Asked
from tests.conftest import api_of, browser_of
from tests.seeing.test_coverage import lines


def test_unwatched_stretches_are_what_nobody_saw_longest_first(cast, room):
    stretches = list(unwatched.Stretches(cast.kb04))
    assert [(each.clip.name, each.in_frame, each.out_frame) for each in stretches] == [
        ("A1", 1000, 1500),
        ("C1", 0, 250),
        ("A1", 600, 750),
    ]
    assert sum(each.seconds for each in stretches) == coverage.total(coverage.by_card(cast.kb04).values()).unwatched


def test_a_stretch_that_nobody_watched_says_who_holds_any_of_it(cast, room):
    stints.take(cast.editor, room["c1"], 0, 10)
    stints.take(cast.logger, room["c1"], 200, 250)
    stints.take(cast.producer, room["a1"], 0, 600)  # which has been seen
    told = {each.clip.name: each.held_by for each in unwatched.with_holders(unwatched.Stretches(cast.kb04)[:])}
    assert told["C1"] == ("editor", "logger") and told["A1"] == ()
    page = browser_of(cast.producer).get("/coverage/?production=KB04").content.decode()
    assert "<td>editor, logger</td>" in page and "<td>nobody</td>" in page


@pytest.mark.parametrize(
    ("kind", "name"),
    [("unwatched", "unwatched"), ("skimmed", "only skimmed"), ("both", "unwatched and only skimmed")],
)
def test_the_file_of_stretches_is_named_after_their_kind(cast, room, kind, name):
    assert unwatched.as_csv(cast.kb04, Asked.read({"stretches": kind})).name == f"KB04 {name}.csv"


def test_the_stretches_as_csv_say_how_by_whom_and_who_holds_them(cast, room):
    stints.take(cast.producer, room["c1"])
    told = lines(unwatched.as_csv(cast.kb04, Asked.read({"stretches": "both"})))
    assert [(line["clip"], line["length (frames)"], line["how"], line["skimmed by"]) for line in told] == [
        ("A2", "750", "only skimmed", "editor"),
        ("A1", "500", "unwatched", ""),
        ("C1", "250", "unwatched", ""),
        ("A1", "150", "unwatched", ""),
    ]
    assert [line["held by"] for line in told] == ["", "", "producer", ""]
    last = told[-1]
    assert (last["from (frame)"], last["to, not included (frame)"]) == ("600", "750")
    assert (last["from (timecode)"], last["to, not included (timecode)"]) == ("10:00:24:00", "10:00:30:00")


def test_pages_of_stretches_are_cut_from_one_order(cast, room):
    every = list(unwatched.Stretches(cast.kb04, Asked.read({"stretches": "both"})))
    stretches = unwatched.Stretches(cast.kb04, Asked.read({"stretches": "both"}))
    assert len(stretches) == 4
    assert [stretches[at] for at in range(4)] == every
    assert [*stretches[0:3], *stretches[3:9]] == every
    with pytest.raises(IndexError):
        stretches[4]
    told = api_of(cast.producer).get("/api/v1/coverage/unwatched/", {"production": "KB04", "page_size": 2, "page": 2})
    assert told.json()["count"] == 3 and [row["length"] for row in told.json()["results"]] == ["00:00:06:00"]


def test_only_skimmed_stretches_are_one_kind(cast, room):
    (only,) = unwatched.with_skimmers(unwatched.Stretches(cast.kb04, Asked.read({"stretches": "skimmed"})))
    assert (only.clip.name, only.in_frame, only.out_frame, only.skimmed_by) == ("A2", 0, 750, ("editor",))
