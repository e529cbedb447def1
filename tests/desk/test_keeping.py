"""Footage worth keeping: flagged with people and rights, found, pulled as a list of its own."""

import csv
import io
import uuid

import pytest

from review.desk import keeping
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Activity, Select, WorthKeeping
from review.refusals import NotAllowed, NotFound, Refusal


@pytest.fixture
def select(cast, a_clip) -> Select:
    return selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(5, 30, ("gull",), "lands on the rail"), 0)


def told() -> list[tuple[str, str]]:
    return [
        (each.did, each.words) for each in Activity.objects.filter(about="select").exclude(did="marked").order_by("id")
    ]


def test_a_select_is_flagged_and_what_is_said_of_it_changed(cast, select):
    keeping.flag(cast.logger, select)
    keeping.flag(cast.editor, select, "none", "  Bay trust,\nuntil   2031 ")
    kept = WorthKeeping.objects.get()
    assert (kept.select, kept.people, kept.rights, kept.flagged_by) == (
        select,
        "none",
        "Bay trust,\nuntil 2031",
        cast.logger,
    )
    where = "KB04-261112-A01 A001C001 10:00:00:05"
    assert told() == [
        ("flagged as worth keeping", f"{where}: not looked at"),
        ("changed what is said of", f"{where}: nobody recognisable"),
    ]


def test_the_same_again_is_nothing_new(cast, select):
    for _ in range(2):
        keeping.flag(cast.logger, select, "none", "ours")
    assert len(told()) == 1


def test_a_flag_is_taken_away_and_the_rights_note_stays_on_record(cast, select):
    keeping.flag(cast.logger, select, "recognisable", "ours until 2031")
    for _ in range(2):
        keeping.unflag(cast.editor, select)
    assert not WorthKeeping.objects.exists()
    assert told()[1:] == [
        ("took the flag from", "KB04-261112-A01 A001C001 10:00:00:05; its rights note was: ours until 2031")
    ]


@pytest.mark.parametrize(
    ("people", "rights", "words"),
    [("crowd", "", "say one of unknown, none, recognisable"), ("none", "x" * 2001, "2,000 is the most")],
)
def test_what_cannot_be_is_refused(cast, select, people, rights, words):
    with pytest.raises(Refusal, match=words):
        keeping.flag(cast.logger, select, people, rights)


def test_a_deleted_select_is_not_flagged_nor_shown(cast, select):
    keeping.flag(cast.logger, select)
    selecting.delete(cast.logger, select)
    assert not keeping.of(cast.kb04).exists()
    with pytest.raises(Refusal, match="was deleted; bring it back first"):
        keeping.flag(cast.logger, select, "none")


def test_who_may_not(cast, select):
    for deed in (keeping.flag, keeping.unflag):
        with pytest.raises(NotAllowed, match="must be a logger"):
            deed(cast.media_manager, select)
        with pytest.raises(NotFound):
            deed(cast.stranger, select)
    keeping.flag(cast.logger, select)
    with pytest.raises(NotAllowed):
        keeping.pull(cast.media_manager, cast.kb04, "kept", [select.id])


@pytest.fixture
def three(cast, make_clip):
    """On two days; rights noted for the second, people for the first and third."""
    clips = [make_clip(), make_clip("A001C002", start="11:00:00:00"), make_clip("B1", card="KB04-261113-B01")]
    said = [("none", "", "gull"), ("unknown", "Bay trust", "boat"), ("recognisable", "", "skipper waves")]
    selects = []
    for clip, (people, rights, note) in zip(clips, said, strict=True):
        selects.append(selecting.put(cast.logger, uuid.uuid4(), clip, Mark(0, 25, ("wide",), note), 0))
        keeping.flag(cast.logger, selects[-1], people, rights)
    return selects


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ({}, [0, 1, 2]),
        ({"people": "none"}, [0]),
        ({"rights": "noted"}, [1]),
        ({"rights": "missing"}, [0, 2]),
        ({"card": "KB04-261113-B01"}, [2]),
        ({"date": "2026-11-12"}, [0, 1]),
        ({"text": "BAY"}, [1]),
        ({"text": "waves skipper"}, [2]),
        ({"text": "gull", "people": "unknown"}, []),
    ],
)
def test_what_is_flagged_is_found(cast, three, wanted, found):
    ids = list(keeping.find(keeping.of(cast.kb04), wanted).values_list("select_id", flat=True))
    assert ids == [three[each].id for each in found]


@pytest.mark.parametrize(("name", "value"), [("date", "yesterday"), ("people", "crowd")])
def test_a_filter_that_cannot_be_is_refused(cast, name, value):
    with pytest.raises(Refusal, match=value):
        keeping.find(keeping.of(cast.kb04), {name: value})


def test_pulled_as_a_list_of_its_own(cast, three):
    made = keeping.pull(cast.editor, cast.kb04, "for the library", [three[2].id, three[0].id])
    assert list(made.entries.values_list("select_id", flat=True)) == [three[2].id, three[0].id]
    with pytest.raises(Refusal, match="Nothing is chosen"):
        keeping.pull(cast.editor, cast.kb04, "empty", [])


def test_as_csv_with_rights_and_people(cast, three):
    keeping.flag(cast.logger, three[0], "none", "=cmd|'/c calc'!A1")
    text = keeping.csv_of(cast.kb04, keeping.find(keeping.of(cast.kb04), {})).content.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 3
    first = rows[0]
    assert (first["card"], first["reel"], first["file"], first["clip"]) == (
        *("KB04-261112-A01", "61112A01", "CLIP/A001C001.MOV", "A001C001"),
    )
    assert (first["source in"], first["source out"], first["seconds"]) == ("10:00:00:00", "10:00:01:00", "1.000")
    assert (first["people"], first["rights"], first["tags"]) == ("nobody recognisable", "'=cmd|'/c calc'!A1", "wide")
    assert rows[1]["rights"] == "Bay trust"
