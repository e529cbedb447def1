"""When nothing is found: which word found nothing, what is nearly so, and which one to leave out."""

import uuid

import pytest

from review.desk import nearby
from review.marking import selecting
from review.marking.selecting import Mark
from review.searching import wanted
from tests.conftest import see


@pytest.fixture
def look(cast, make_clip):
    clip = make_clip()
    for at, note in enumerate(["she laughs at the gate", "a gull on the gate", "the gull settles"]):
        selecting.put(cast.logger, uuid.uuid4(), clip, Mark(at, at + 10, (), note, at), 0)
    elsewhere = make_clip("X1", card="NR07-261112-A01", production=cast.nr07)
    selecting.put(cast.stranger, uuid.uuid4(), elsewhere, Mark(0, 10, (), "whale"), 0)
    return lambda **asked: nearby.look(cast.kb04, wanted.read(asked))


def words(ways) -> list[tuple[str, int]]:
    return [(way.word, way.number) for way in ways]


def test_a_misspelt_word_is_named_with_the_nearest(look):
    found = look(text="settels")
    assert list(found.unknown) == ["settels"] and words(found.unknown["settels"]) == [("settles", 1)]
    assert found.unknown["settels"][0].wanted.text == "settles"
    assert words(look(text="gatte laughs").unknown["gatte"]) == [("gate", 1)]


def test_a_misspelt_first_letter_too(look):
    assert words(look(text="dull").unknown["dull"]) == [("gull", 2)]


def test_a_word_like_no_other_is_named_alone(look):
    assert look(text="zebra").unknown == {"zebra": []}


def test_another_productions_words_are_not_known_here(look):
    assert list(look(text="whale").unknown) == ["whale"] and look(text="whele").unknown == {"whele": []}


def test_the_rest_without_what_is_unknown(look):
    found = look(text="zebra gate")
    assert (found.known.wanted.text, found.known.number) == ("gate", 2)


def test_which_word_to_leave_out(look):
    found = look(text="laughs gull gate")
    assert found.unknown == {} and words(found.without) == [("laughs", 1), ("gull", 1)]


def test_each_by_itself_where_nothing_else_helps(look):
    found = look(text="laughs settles")
    assert words(found.without) == [("laughs", 1), ("settles", 1)] and found.alone == []
    found = look(text="laughs settles zebra")
    assert found.known is None and words(found.alone) == [("laughs", 1), ("settles", 1)]


def test_what_the_filters_keep_away(look):
    found = look(text="gull", rating="5")
    assert (found.unfiltered.number, found.unfiltered.wanted.rating) == (2, None)
    assert look(rating="5").unfiltered.number == 3


def test_as_much_of_it_as_there_is_where_the_filters_keep_all_away(look):
    found = look(text="laughs gate settles", rating="5")
    assert (found.without, found.alone, found.unfiltered) == ([], [], None)
    assert [(way.wanted.text, way.wanted.rating, way.number) for way in found.elsewhere] == [("laughs gate", None, 1)]
    found = look(text="laughs settles zebra", rating="5")
    assert [(way.wanted.text, way.number) for way in found.elsewhere] == [("laughs", 1), ("settles", 1)]
    assert look(text="zebra", rating="5").elsewhere == [] and look(text="gull", rating="5").elsewhere == []


def test_little_words_are_not_offered_for_another(look):
    assert look(text="thee").unknown == {"thee": []}


def test_the_page_says_it(cast, look):
    page = see(cast.editor, "/selects/?production=KB04&text=settels&camera=A")
    assert "No select of KB04 has “<b>settels</b>”" in page and "?production=KB04&amp;text=settles&amp;camera=A" in page
    page = see(cast.editor, "/selects/?production=KB04&text=gull&rating=5")
    assert "With the words alone and no filter" in page
    page = see(cast.editor, "/selects/?production=KB04&text=first day gull")
    assert "was taken for day 1, 12 Nov 2026" in page and "2 found" in page
    assert "0 found" in see(cast.editor, "/selects/?production=KB04&text=first day gull&exact=yes")
    assert "0 found" in see(cast.editor, "/selects/?production=KB04&text=ninth day gull")
