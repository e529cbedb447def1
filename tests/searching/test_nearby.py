"""When nothing is found: which word found nothing, what is nearly so, and which one to leave out."""

import uuid

import pytest

from review import roles
from review.crew import people
from review.desk import most_words, nearby
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Select
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


def asked(ways) -> list[tuple[str, int]]:
    return [(way.wanted.text, way.number) for way in ways]


def nearest(found) -> list[tuple[str, str]]:
    """Each select by its note, with the words it has."""
    return [(near.row.select.note, " ".join(near.has)) for near in found.nearest]


def test_the_rest_without_what_is_unknown(look):
    found = look(text="zebra gate")
    assert asked(found.fewer) == [("gate", 2)] and list(found.unknown) == ["zebra"]
    assert nearest(found) == [("she laughs at the gate", "gate"), ("a gull on the gate", "gate")]


def test_those_with_the_most_words_come_first_then_the_rarest(look):
    found = look(text="laughs gull gate")
    assert found.unknown == {} and asked(found.fewer) == [("laughs gate", 1), ("gull gate", 1)]
    assert nearest(found) == [
        ("she laughs at the gate", "laughs gate"),
        ("a gull on the gate", "gull gate"),
        ("the gull settles", "gull"),
    ]
    found = look(text="gull laughs zebra")
    assert asked(found.fewer) == [("laughs", 1), ("gull", 2)]
    assert [has for _, has in nearest(found)] == ["laughs", "gull", "gull"]


def test_words_that_many_have_are_looked_up_in_the_rows(look, monkeypatch):
    monkeypatch.setattr(most_words, "LOOKED_THROUGH", 1)
    found = look(text="laughs gull gate")
    assert asked(found.fewer) == [("laughs gate", 1)] and found.fewer[0].counted_all
    found = look(text="gate gull zebra")  # two have each of them: what is not looked through is not counted
    assert [(way.number, way.counted_all) for way in found.fewer] == [(1, False)]


def test_nearest_keep_to_the_filters_and_their_order(look):
    assert nearest(look(text="gate zebra", rating="1")) == [("a gull on the gate", "gate")]
    found = look(text="gate zebra", sort="newest")
    assert [note for note, _ in nearest(found)] == ["a gull on the gate", "she laughs at the gate"]


def test_what_is_meant_by_a_misspelt_word_comes_first(look):
    assert nearest(look(text="settels")) == [("the gull settles", "settles")]
    assert nearest(look(text="gatte laughs gull"))[0][1] == "laughs"  # no gate has both
    assert nearest(look(text="gatte laughs")) == [("she laughs at the gate", "gate laughs")]


def test_a_nearly_same_word_that_finds_nothing_is_offered_where_nothing_else_helps(look):
    assert look(text="gatte settles").unknown == {"gatte": []}
    assert words(look(text="gatte settels").unknown["gatte"]) == [("gate", 0)]


def test_no_more_are_shown_than_one_can_look_at(look, monkeypatch):
    monkeypatch.setattr(nearby, "MOST_SHOWN", 2)
    assert len(look(text="laughs gull gate").nearest) == 2
    assert len(look(text="gul").nearest) == 2


def test_what_the_filters_keep_away(look):
    found = look(text="gull", rating="5")
    assert (found.unfiltered.number, found.unfiltered.wanted.rating) == (2, None)
    assert [note for note, _ in nearest(found)] == ["a gull on the gate", "the gull settles"]
    nothing = look(rating="5")
    assert (nothing.unfiltered, nothing.nearest) == (None, [])


def test_as_much_of_it_as_there_is_where_the_filters_keep_all_away(look):
    found = look(text="laughs gate settles", rating="5")
    assert (found.fewer, found.unfiltered) == ([], None)
    assert [(way.wanted.text, way.wanted.rating, way.number) for way in found.elsewhere] == [
        ("laughs gate", None, 1),
        ("settles", None, 1),
    ]
    assert nearest(found)[0] == ("she laughs at the gate", "laughs gate")
    assert look(text="zebra", rating="5").elsewhere == [] and look(text="gull", rating="5").elsewhere == []


def test_tags_that_begin_so(look, cast, make_clip):
    clip = make_clip("C1", card="KB04-261112-C01")
    selecting.put(cast.logger, uuid.uuid4(), clip, Mark(0, 10, ("Carpenter",), "planing", 3), 0)
    found = look(tag="carp")
    assert words(found.tags["carp"]) == [("Carpenter", 1)] and nearest(found) == [("planing", "carpenter")]
    assert look(tag="carp", rating="4").tags == {} and look(tag="carpenter", rating="4").tags == {}
    page = see(cast.editor, "/selects/?production=KB04&tag=carp")
    assert "There is no tag “<b>carp</b>”" in page and "tag=carpenter" in page and "words alone" not in page


def test_another_production_that_knows_a_word(look, cast, make_clip):
    people.add_member("editor", cast.nr07, roles.EDITOR)
    page = see(cast.editor, "/selects/?production=KB04&text=a whale, gate")
    assert "Night Run has “<b>whale</b>”" in page and "?production=NR07&amp;text=a%20whale%2C%20gate" in page
    assert "Night Run" not in see(cast.producer, "/selects/?production=KB04&text=whale")
    select = Select.objects.get(note="whale")
    selecting.delete(cast.stranger, select)
    assert "Night Run has" not in see(cast.editor, "/selects/?production=KB04&text=whale")


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


def test_the_page_shows_what_comes_nearest_and_says_it_was_not_found(cast, look):
    page = see(cast.editor, "/selects/?production=KB04&text=laughs gate zebra")
    assert "No select has all of these words" in page and "0 found" in page and "These come nearest" in page
    assert "has <b>laughs</b>, <b>gate</b>" in page and "she <mark>laughs</mark> at the <mark>gate</mark>" in page
    assert 'id="add-all"' not in page and 'id="next-page"' not in page


def test_a_way_keeps_the_day_that_was_read_from_the_words(cast, look):
    page = see(cast.editor, "/selects/?production=KB04&text=first day gull zebra&view=pictures")
    assert "?production=KB04&amp;text=gull&amp;day=1&amp;view=pictures&amp;exact=yes" in page
