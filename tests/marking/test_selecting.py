"""Marking. Frames are half-open [in, out): the house's own law; limits of notes and tags are the house's too."""

import uuid

import pytest

from review.crew import access
from review.marking import selecting
from review.marking.selecting import Mark
from review.models import Select, Tag
from review.refusals import Conflict, NotAllowed, NotFound, Refusal

MARK = Mark(5, 20)


def put(person, clip, mark=MARK, version=0, select_id=None):
    return selecting.put(person, select_id or uuid.uuid4(), clip, mark, version)


def tags_of(select):
    return [tag.name for tag in select.tags.all()]


def test_it_works(cast, a_clip):
    made = put(cast.logger, a_clip, Mark(5, 20, ("gull",), "it lands", 4))
    assert (made.in_frame, made.out_frame, made.rating, made.version) == (5, 20, 4, 1)
    assert (made.note, tags_of(made), made.logger) == ("it lands", ["gull"], cast.logger)


def test_the_whole_clip_and_a_single_frame_can_be_marked(cast, a_clip):
    assert put(cast.logger, a_clip, Mark(0, 50)).frames == 50
    assert put(cast.logger, a_clip, Mark(49, 50)).frames == 1


def test_writing_it_twice_is_writing_it_once(cast, a_clip):
    mark, select_id = Mark(5, 20, ("gull",)), uuid.uuid4()
    first = put(cast.logger, a_clip, mark, select_id=select_id)
    again = put(cast.logger, a_clip, mark, select_id=select_id)
    assert again.version == first.version == 1
    assert a_clip.selects.count() == 1


def test_the_clip_keeps_count_of_those_that_are_there(cast, a_clip):
    def counted():
        a_clip.refresh_from_db()
        assert a_clip.select_count == a_clip.selects.filter(deleted=None).count()
        return a_clip.select_count

    first, mark = put(cast.logger, a_clip), Mark(5, 20, ("gull",))
    put(cast.editor, a_clip, Mark(6, 21, ("gull",)), 1, first.id)
    put(cast.editor, a_clip, mark, select_id=uuid.UUID(int=1))
    put(cast.editor, a_clip, mark, select_id=uuid.UUID(int=1))  # sent again
    assert counted() == 2
    gone = selecting.delete(cast.logger, first)
    selecting.delete(cast.logger, first)
    assert counted() == 1
    put(cast.logger, a_clip, mark, gone.version, first.id)
    assert counted() == 2


def test_a_change_from_the_version_seen_is_written(cast, a_clip):
    first = put(cast.logger, a_clip)
    second = put(cast.editor, a_clip, Mark(6, 21, ("cliff",), "better", 5), 1, first.id)
    assert (second.version, second.in_frame, second.out_frame, second.note) == (2, 6, 21, "better")
    assert second.logger == cast.logger  # who marked it first stays its logger


def test_a_change_sent_again_after_it_was_written_is_written_once(cast, a_clip):
    first = put(cast.logger, a_clip)
    put(cast.logger, a_clip, Mark(6, 21), 1, first.id)
    assert put(cast.logger, a_clip, Mark(6, 21), 1, first.id).version == 2


def test_two_people_who_change_one_select_are_told(cast, a_clip):
    first = put(cast.logger, a_clip)
    put(cast.editor, a_clip, Mark(6, 21), 1, first.id)
    with pytest.raises(Conflict, match="Somebody changed this select since you saw it") as refused:
        put(cast.logger, a_clip, Mark(7, 22), 1, first.id)
    assert (refused.value.current.in_frame, refused.value.current.version) == (6, 2)
    assert Select.objects.get().in_frame == 6


def test_a_version_from_the_future_is_a_conflict_too(cast, a_clip):
    first = put(cast.logger, a_clip)
    with pytest.raises(Conflict):
        put(cast.logger, a_clip, Mark(7, 22), 9, first.id)


def test_a_delete_can_be_undone(cast, a_clip):
    made = put(cast.logger, a_clip, Mark(5, 20, ("gull",), "it lands", 4))
    gone = selecting.delete(cast.logger, made, 1)
    assert gone.deleted and gone.version == 2
    back = put(cast.logger, a_clip, Mark(5, 20, ("gull",), "it lands", 4), 2, made.id)
    assert (back.deleted, back.version, back.note, tags_of(back)) == (None, 3, "it lands", ["gull"])


def test_deleting_twice_is_deleting_once(cast, a_clip):
    made = put(cast.logger, a_clip)
    assert selecting.delete(cast.logger, made).version == selecting.delete(cast.logger, made, 1).version == 2


def test_what_somebody_else_changed_is_not_deleted_unseen(cast, a_clip):
    made = put(cast.logger, a_clip)
    put(cast.editor, a_clip, Mark(6, 21), 1, made.id)
    with pytest.raises(Conflict, match="look at it before you delete it"):
        selecting.delete(cast.logger, made, 1)
    assert Select.objects.get().deleted is None


def test_a_deleted_select_comes_back_only_from_its_new_version(cast, a_clip):
    made = put(cast.logger, a_clip)
    selecting.delete(cast.editor, made)
    with pytest.raises(Conflict):  # an old page that did not see the delete
        put(cast.logger, a_clip, Mark(5, 20), 1, made.id)


@pytest.mark.parametrize(
    ("mark", "field", "words"),
    [
        (Mark(-1, 5), "in_frame", "before the clip's first frame"),
        (Mark(20, 20), "out_frame", r"The out point \(20\) must be after the in point \(20\)"),
        (Mark(20, 5), "out_frame", "a select holds at least one frame"),
        (Mark(0, 51), "out_frame", "past the clip's end; A001C001 has 50 frames"),
        (Mark(10**30, 10**30 + 1), "out_frame", "past the clip's end"),
        (Mark(0, 5, rating=6), "rating", "from 0 .none. to 5"),
        (Mark(0, 5, rating=-1), "rating", "from 0 .none. to 5"),
        (Mark(0, 5, note="x" * 10_001), "note", "has 10,001 characters; 10,000 is the most"),
        (Mark(0, 5, tags=("x" * 61,)), "tags", "has 61 characters; 60 is the most"),
        (Mark(0, 5, tags=tuple(f"t{n}" for n in range(51))), "tags", "51 tags on one select; 50 is the most"),
    ],
)
def test_a_mark_that_cannot_be_is_refused_in_words(cast, a_clip, mark, field, words):
    with pytest.raises(Refusal, match=words) as refused:
        put(cast.logger, a_clip, mark)
    assert refused.value.field == field
    assert not Select.objects.exists()
    assert not Tag.objects.exists()


def test_a_new_select_starts_from_version_0(cast, a_clip):
    with pytest.raises(NotFound, match="a new one starts from version 0"):
        put(cast.logger, a_clip, version=3)


def test_notes_keep_their_lines_and_lose_control_characters(cast, a_clip):
    made = put(cast.logger, a_clip, Mark(5, 20, ("g\0ull\x1b",), " one\r\ntwo\rthree\0\x07\x1b[31m\tend \n"))
    assert made.note == "one\ntwo\nthree[31m\tend"
    assert tags_of(made) == ["gull"]


def test_tags_that_differ_in_case_or_spaces_are_one(cast, a_clip):
    put(cast.logger, a_clip, Mark(5, 20, ("Gull",)))
    made = put(cast.logger, a_clip, Mark(5, 20, ("gull", " GULL ", "big  bird", "", "  ")))
    assert set(tags_of(made)) == {"Gull", "big bird"}
    assert cast.kb04.tags.count() == 2


def test_a_new_word_gets_a_key_that_is_free(cast, a_clip):
    put(cast.logger, a_clip, Mark(5, 20, ("gull", "cliff")))
    keys = list(cast.kb04.tags.values_list("key", flat=True))
    assert len(set(keys)) == 2 and all(len(key) == 1 for key in keys)


def test_tags_of_two_productions_are_apart(cast, make_clip):
    put(cast.logger, make_clip(), Mark(5, 20, ("gull",)))
    put(cast.stranger, make_clip(card="NR07-261112-A01", production=cast.nr07), Mark(5, 20, ("gull",)))
    assert (cast.kb04.tags.count(), cast.nr07.tags.count()) == (1, 1)


def test_an_id_of_another_clip_is_refused(cast, make_clip):
    made = put(cast.logger, make_clip("ONE"))
    with pytest.raises(Refusal, match="a select cannot move to another clip") as refused:
        put(cast.logger, make_clip("TWO"), select_id=made.id)
    assert refused.value.field == "clip"


def test_an_id_of_another_production_tells_nothing_of_it(cast, make_clip):
    made = put(cast.logger, make_clip())
    theirs = make_clip(card="NR07-261112-A01", production=cast.nr07)
    with pytest.raises(Refusal, match="This id is taken; make a new one") as refused:
        put(cast.stranger, theirs, select_id=made.id)
    assert "KB04" not in refused.value.message


def test_a_stranger_finds_nothing_to_mark_or_delete(cast, a_clip):
    made = put(cast.logger, a_clip)
    with pytest.raises(NotFound, match="no such production, or you are not a member"):
        put(cast.stranger, a_clip)
    with pytest.raises(NotFound):
        selecting.delete(cast.stranger, made)
    assert not access.selects(cast.stranger).exists()


def test_a_media_manager_does_not_mark(cast, a_clip):
    with pytest.raises(NotAllowed, match="To mark selects in KB04 you must be a logger, an editor"):
        put(cast.media_manager, a_clip)


def test_somebody_who_has_left_marks_nothing(cast, a_clip):
    cast.logger.is_active = False
    with pytest.raises(NotFound):
        put(cast.logger, a_clip)
