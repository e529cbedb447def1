"""Finding selects among many: each filter, filters together, and filters that make no sense."""

import uuid

import pytest

from review import access, finding, selecting
from review.refusals import Refusal
from review.selecting import Mark


@pytest.fixture
def marked(cast, make_clip):
    """Selects of three clips by two people, named in their notes."""
    one = make_clip("A1", card="KB04-261112-A01")
    two = make_clip("B1", card="KB04-261112-B01")
    three = make_clip("A2", card="KB04-261113-A01")
    elsewhere = make_clip("X1", card="NR07-261112-A01", production=cast.nr07)
    for person, clip, note, tags, rating in (
        (cast.logger, one, "one: gull lands on the Cliff", ("gull", "cliff"), 5),
        (cast.editor, one, "two: only sea", ("sea",), 0),
        (cast.logger, two, "three: the gull again", ("gull", "sea"), 3),
        (cast.producer, three, "four: interview, 100% sharp_focus", ("interview",), 4),
        (cast.stranger, elsewhere, "elsewhere: gull", ("gull",), 5),
    ):
        selecting.put(person, uuid.uuid4(), clip, Mark(0, 10, tags, note, rating), 0)
    gone = selecting.put(cast.logger, uuid.uuid4(), one, Mark(0, 10, ("gull",), "gone: gull"), 0)
    selecting.delete(cast.logger, gone)
    return {"one": one, "two": two, "three": three, "elsewhere": elsewhere}


@pytest.fixture
def find(cast, marked):
    """find(person=…, filter=value) -> the first word of each note found."""

    def by(person=cast.producer, **wanted):
        found = finding.find(access.selects(person), wanted)
        return sorted(select.note.split(":")[0] for select in found.distinct())

    return by


def test_it_works(find):
    assert find() == ["four", "one", "three", "two"]


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ({"production": "KB04"}, ["four", "one", "three", "two"]),
        ({"production": "kb04"}, ["four", "one", "three", "two"]),
        ({"production": "NR07"}, []),
        ({"card": "KB04-261112-A01"}, ["one", "two"]),
        ({"card": "KB04-261112"}, []),
        ({"camera": "A"}, ["four", "one", "two"]),
        ({"camera": "b"}, ["three"]),
        ({"date": "2026-11-12"}, ["one", "three", "two"]),
        ({"date": "2026-11-14"}, []),
        ({"tag": "gull"}, ["one", "three"]),
        ({"tag": "GULL"}, ["one", "three"]),
        ({"tag": "gull,sea"}, ["three"]),
        ({"tag": " gull , , sea "}, ["three"]),
        ({"tag": "gul"}, []),
        ({"rating": "4"}, ["four", "one"]),
        ({"rating": "0"}, ["four", "one", "three", "two"]),
        ({"logger": "logger"}, ["one", "three"]),
        ({"logger": "nobody"}, []),
        ({"text": "GULL"}, ["one", "three"]),
        ({"text": "lands cliff"}, ["one"]),
        ({"text": "B01"}, ["three"]),
        ({"text": "A2"}, ["four"]),
        ({"text": "sea"}, ["three", "two"]),
        ({"text": "100%"}, ["four"]),  # a sign that databases take for 'anything'
        ({"text": "p_f"}, ["four"]),
        ({"text": "r%f"}, []),
        ({"text": "'; drop table review_select; --"}, []),
        ({"tag": "sea", "camera": "A"}, ["two"]),
        ({"date": "2026-11-12", "rating": "3", "logger": "logger", "tag": "gull", "text": "again"}, ["three"]),
        ({"card": "  ", "text": "", "tag": ","}, ["four", "one", "three", "two"]),
    ],
)
def test_each_filter_narrows(find, wanted, found):
    assert find(**wanted) == found


def test_a_clip_by_its_number(find, marked):
    assert find(clip=str(marked["two"].id)) == ["three"]
    assert find(clip=str(marked["elsewhere"].id)) == []


def test_a_stranger_finds_only_their_own(find, cast):
    assert find(cast.stranger) == ["elsewhere"]
    assert find(cast.stranger, production="KB04") == []


@pytest.mark.parametrize(
    ("wanted", "field", "words"),
    [
        ({"date": "12.11.2026"}, "date", "is not a date; write it as 2026-11-12"),
        ({"date": "2026-02-30"}, "date", "is not a date"),
        ({"rating": "6"}, "rating", "it goes from 0 to 5"),
        ({"rating": "-1"}, "rating", "it goes from 0 to 5"),
        ({"rating": "good"}, "rating", "is not a rating"),
        ({"clip": "A1"}, "clip", "is not a clip's number"),
        ({"clip": "9" * 40}, "clip", "is not a clip's number"),
        ({"clip": "-1"}, "clip", "is not a clip's number"),
    ],
)
def test_a_filter_that_makes_no_sense_is_refused_in_words(find, wanted, field, words):
    with pytest.raises(Refusal, match=words) as refused:
        find(**wanted)
    assert refused.value.field == field
