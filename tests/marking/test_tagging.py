"""The tag set: words that come by themselves, and how they are tidied."""

import uuid

import pytest

from review.marking import selecting, tagging
from review.marking.selecting import Mark
from review.models import Activity, Findable, Select, Tag
from review.refusals import NotAllowed, NotFound, Refusal


def mark(cast, clip, *tags: str, select_id=None, version=0) -> Select:
    return selecting.put(cast.logger, select_id or uuid.uuid4(), clip, Mark(0, 10, tags), version)


def words_of(select: Select) -> set[str]:
    return {tag.name for tag in select.tags.all()}


def told() -> tuple[str, str]:
    last = Activity.objects.first()
    return last.did, last.words


def tag(cast, name: str) -> Tag:
    return cast.kb04.tags.get(name=name)


def test_a_word_that_a_select_uses_joins_the_set_with_the_next_key(cast, a_clip):
    mark(cast, a_clip, "gull", "Net")
    mark(cast, a_clip, "GULL")
    assert [(each.name, each.key) for each in cast.kb04.tags.order_by("id")] == [("gull", "a"), ("Net", "s")]


def test_a_rename_is_seen_on_every_select_and_in_the_search(cast, a_clip):
    select = mark(cast, a_clip, "gul", "net")
    tagging.rename(cast.editor, tag(cast, "gul"), "  gull  ")
    assert words_of(select) == {"gull", "net"}
    assert "gull" in Findable.objects.get(select=select).words.split()
    assert told() == ("renamed the tag", "gul to gull")


def test_the_old_word_goes_on_meaning_the_tag(cast, a_clip):
    """A browser that has not heard of it sends the old word with the select that it has."""
    select = mark(cast, a_clip, "gul")
    tagging.rename(cast.editor, tag(cast, "gul"), "gull")
    again = mark(cast, a_clip, "GUL", select_id=select.id)
    assert (words_of(again), again.version, cast.kb04.tags.count()) == ({"gull"}, 1, 1)


def test_until_it_is_added_as_a_word_of_its_own(cast, a_clip):
    mark(cast, a_clip, "gul")
    tagging.rename(cast.editor, tag(cast, "gul"), "gull")
    tagging.add(cast.editor, cast.kb04, "Gul", "people")
    assert words_of(mark(cast, a_clip, "gul")) == {"Gul"}


def test_a_change_of_case_is_a_rename(cast, a_clip):
    mark(cast, a_clip, "skipper")
    tagging.rename(cast.editor, tag(cast, "skipper"), "Skipper")
    assert cast.kb04.tags.get().name == "Skipper" and not cast.kb04.former_words.exists()


def test_back_to_the_old_word(cast, a_clip):
    mark(cast, a_clip, "gul")
    tagging.rename(cast.editor, tag(cast, "gul"), "gull")
    tagging.rename(cast.editor, tag(cast, "gull"), "gul")
    assert [(each.name, each.tag.name) for each in cast.kb04.former_words.all()] == [("gull", "gul")]


def test_a_rename_to_a_word_that_is_there_is_refused(cast, a_clip):
    mark(cast, a_clip, "gul", "gull")
    with pytest.raises(Refusal, match="There is a tag gull already; to make two words one, merge them"):
        tagging.rename(cast.editor, tag(cast, "gul"), "GULL")


def test_merged_words_are_one_and_selects_have_it_once(cast, a_clip):
    both, one, other = mark(cast, a_clip, "gull", "gul"), mark(cast, a_clip, "gulls"), mark(cast, a_clip, "net")
    merged = [tag(cast, "gul"), tag(cast, "gulls"), tag(cast, "gull")]
    assert tagging.merge(cast.editor, merged, tag(cast, "gull")) == 2
    assert [words_of(each) for each in (both, one, other)] == [{"gull"}, {"gull"}, {"net"}]
    assert {each.name for each in cast.kb04.tags.all()} == {"gull", "net"}
    assert told() == ("merged into the tag", "gull: gul (1), gulls (1), on 2 selects")
    assert words_of(mark(cast, a_clip, "gulls")) == {"gull"}


def test_what_was_merged_is_found_by_its_new_word(cast, a_clip):
    select = mark(cast, a_clip, "gul")
    mark(cast, a_clip, "heron")
    tagging.merge(cast.editor, [tag(cast, "gul")], tag(cast, "heron"))
    assert "heron" in Findable.objects.get(select=select).words.split()
    assert "gul" not in Findable.objects.get(select=select).words.split()


def test_a_deleted_select_comes_back_with_what_its_words_became(cast, a_clip):
    select = mark(cast, a_clip, "gul")
    mark(cast, a_clip, "gull")
    selecting.delete(cast.logger, select)
    tagging.merge(cast.editor, [tag(cast, "gul")], tag(cast, "gull"))
    assert words_of(mark(cast, a_clip, "gul", select_id=select.id, version=2)) == {"gull"}


def test_a_chain_of_renames_and_merges_still_leads_to_the_tag(cast, a_clip):
    mark(cast, a_clip, "a1")
    mark(cast, a_clip, "b1")
    tagging.rename(cast.editor, tag(cast, "a1"), "a2")
    tagging.merge(cast.editor, [tag(cast, "a2")], tag(cast, "b1"))
    assert words_of(mark(cast, a_clip, "a1")) == {"b1"} == words_of(mark(cast, a_clip, "a2"))


def test_the_key_of_a_merged_word_is_not_lost(cast, a_clip):
    mark(cast, a_clip, "gul")
    plain = tagging.add(cast.editor, cast.kb04, "gull")
    tagging.merge(cast.editor, [tag(cast, "gul")], plain)
    assert tag(cast, "gull").key == "a"


def test_merging_needs_two(cast, a_clip):
    mark(cast, a_clip, "gull")
    with pytest.raises(Refusal, match="Choose at least one other tag"):
        tagging.merge(cast.editor, [tag(cast, "gull")], tag(cast, "gull"))


def test_what_somebody_else_merged_meanwhile_is_said(cast, a_clip):
    mark(cast, a_clip, "gul", "gull")
    stale = tag(cast, "gul")
    tagging.merge(cast.editor, [stale], tag(cast, "gull"))
    with pytest.raises(Refusal, match="The tag gul is gone: somebody merged or removed it"):
        tagging.rename(cast.producer, stale, "gulls")


def test_tags_move_between_groups(cast, a_clip):
    mark(cast, a_clip, "gull", "net")
    every = cast.kb04.tags.all()
    assert tagging.move(cast.editor, cast.kb04, every, " Story ") == 2
    assert {each.group for each in every.all()} == {"story"}
    assert told() == ("moved to the group", "story: gull, net")
    assert tagging.move(cast.editor, cast.kb04, every, "story") == 0


def test_a_key_is_given_and_taken(cast, a_clip):
    mark(cast, a_clip, "gull", "net")
    tagging.set_key(cast.editor, tag(cast, "net"), "A")
    assert [tag(cast, name).key for name in ("gull", "net")] == ["", "a"]
    assert told() == ("gave the key", "A to net, from gull")
    tagging.set_key(cast.editor, tag(cast, "net"), "")
    assert told() == ("took the key", "A from net") and tag(cast, "net").key == ""


@pytest.mark.parametrize("key", ["k", "1", "aa", "ß", "€"])
def test_a_key_that_does_something_else_is_refused(cast, a_clip, key):
    mark(cast, a_clip, "gull")
    with pytest.raises(Refusal, match="A tag's key is one of"):
        tagging.set_key(cast.editor, tag(cast, "gull"), key)


def test_a_change_that_is_refused_changes_nothing(cast, a_clip):
    mark(cast, a_clip, "gul")
    with pytest.raises(Refusal):
        tagging.change(cast.editor, tag(cast, "gul"), name="gull", group="story", key="k")
    assert tag(cast, "gul").group == ""


def test_a_word_that_no_select_has_is_removed(cast, a_clip):
    select = mark(cast, a_clip, "gull")
    tagging.remove(cast.editor, tagging.add(cast.editor, cast.kb04, "net"))
    assert told() == ("removed the tag", "net")
    selecting.delete(cast.logger, select)
    with pytest.raises(Refusal, match="1 selects have the tag gull"):
        tagging.remove(cast.editor, tag(cast, "gull"))


def test_uses_are_counted_without_deleted_selects(cast, a_clip):
    mark(cast, a_clip, "gull")
    selecting.delete(cast.logger, mark(cast, a_clip, "gull", "net"))
    assert {each.name: each.uses for each in tagging.counted(cast.kb04)} == {"gull": 1, "net": 0}


def test_a_set_is_imported(cast, a_clip):
    mark(cast, a_clip, "harbour")
    tagging.add(cast.editor, cast.kb04, "wide", "kind")
    text = "People: Skipper, Oona Prell ,\r\n\r\nplace: Harbour; slipway\nkind: wide, WIDE\n"
    assert tagging.import_set(cast.editor, cast.kb04, text) == tagging.Imported(added=3, moved=1, there=1)
    assert {(each.group, each.name) for each in cast.kb04.tags.all()} == {
        *(
            ("people", "Skipper"),
            ("people", "Oona Prell"),
            ("place", "harbour"),
            ("place", "slipway"),
            ("kind", "wide"),
        ),
    }
    assert told() == ("imported a tag set", "3 tags added, 1 moved to another group")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Nothing to import"),
        ("place: harbour\nslipway", "Line 2 has no colon"),
        ("place: " + "x" * 61, "60 is the most"),
        ("x" * 31 + ": word", "30 is the most"),
        ("n: " + ",".join(str(n) for n in range(5001)), "at most 5,000 tags"),
    ],
)
def test_a_set_that_cannot_be_is_refused_whole(cast, text, words):
    with pytest.raises(Refusal, match=words):
        tagging.import_set(cast.editor, cast.kb04, text)
    assert not cast.kb04.tags.exists()


@pytest.mark.parametrize("name", ["", " \x07 ", "two, words", "x" * 61])
def test_a_word_that_cannot_be_is_refused(cast, name):
    with pytest.raises(Refusal, match=r"without a comma|60 is the most"):
        tagging.add(cast.editor, cast.kb04, name)


def test_the_longest_fold_fits(cast, a_clip):
    tagging.add(cast.editor, cast.kb04, "ΐ" * 60)  # one letter that folds to three
    tagging.rename(cast.editor, tag(cast, "ΐ" * 60), "x")
    assert words_of(mark(cast, a_clip, "ΐ" * 60)) == {"x"}


def test_another_productions_tags_are_left_alone(cast, a_clip, make_clip):
    mark(cast, a_clip, "gull")
    other = cast.nr07.tags.create(name="gul", folded="gul")
    with pytest.raises(Refusal, match="at least one other"):
        tagging.merge(cast.editor, [other], tag(cast, "gull"))
    assert cast.nr07.tags.get() == other


def test_who_may_not(cast, a_clip):
    mark(cast, a_clip, "gull")
    deeds = (
        lambda person: tagging.add(person, cast.kb04, "net"),
        lambda person: tagging.rename(person, tag(cast, "gull"), "net"),
        lambda person: tagging.move(person, cast.kb04, cast.kb04.tags.all(), "x"),
        lambda person: tagging.set_key(person, tag(cast, "gull"), "q"),
        lambda person: tagging.merge(person, [tag(cast, "gull")], tag(cast, "gull")),
        lambda person: tagging.remove(person, tag(cast, "gull")),
        lambda person: tagging.import_set(person, cast.kb04, "x: y"),
    )
    for deed in deeds:
        with pytest.raises(NotAllowed, match="must be an editor"):
            deed(cast.logger)
        with pytest.raises(NotFound):
            deed(cast.stranger)
    assert [each.name for each in cast.kb04.tags.all()] == ["gull"]
