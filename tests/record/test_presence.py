"""Who is at a clip, and what is left for the next person."""

import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from review.marking import selecting
from review.models import Viewing
from review.record import presence, watching
from review.refusals import NotFound, Refusal


@pytest.fixture
def pages(a_clip, cast):
    return a_clip, uuid.uuid4(), uuid.uuid4()


def names(found):
    return [(viewing.person.username, viewing.frame) for viewing in found]


def test_it_works(pages, cast):
    clip, mine, theirs = pages
    presence.pulse(cast.logger, clip, mine, 3, None)
    told = presence.pulse(cast.editor, clip, theirs, 7, None)
    assert names(told.others) == [("logger", 3)]
    assert names(presence.pulse(cast.logger, clip, mine, 4, None).others) == [("editor", 7)]


def test_the_marks_of_others_are_told(pages, cast):
    clip, mine, _ = pages
    first = presence.pulse(cast.logger, clip, mine, 0, None)
    assert first.selects == []
    Select = selecting.Select
    made = selecting.put(cast.editor, uuid.uuid4(), clip, selecting.Mark(1, 5), 0)
    second = presence.pulse(cast.logger, clip, mine, 0, first.now)
    assert [select.id for select in second.selects] == [made.id]
    Select.objects.update(modified=timezone.now() - timedelta(seconds=30))
    assert presence.pulse(cast.logger, clip, mine, 0, second.now).selects == []
    selecting.delete(cast.editor, made)
    (gone,) = presence.pulse(cast.logger, clip, mine, 0, second.now).selects
    assert gone.deleted is not None


def test_a_page_that_was_closed_or_went_silent_is_not_there(pages, cast):
    clip, mine, theirs = pages
    presence.pulse(cast.logger, clip, mine, 3, None)
    presence.leave(cast.logger, clip, mine, 4)
    assert presence.others_at(clip, theirs) == []
    presence.pulse(cast.logger, clip, mine, 5, None)
    assert names(presence.others_at(clip)) == [("logger", 5)]
    Viewing.objects.update(heard_at=timezone.now() - presence.GONE_AFTER)
    assert presence.others_at(clip) == []


def test_the_next_person_gets_the_frame_what_is_unseen_and_the_remark(pages, cast):
    clip, mine, _ = pages
    assert presence.last_left(clip, cast.editor) is None
    Viewing.objects.create(id=mine, person=cast.logger, clip=clip, opened_at=timezone.now() - timedelta(hours=1))
    watching.record(cast.logger, clip, mine, 1, [watching.Span(0, 20, 1.0, False)])
    presence.leave(cast.logger, clip, mine, 19, "  the good part\nbegins here ")
    left = presence.last_left(clip, cast.editor)
    assert (left.frame, left.unseen, left.viewing.remark) == (19, 30, "the good part begins here")
    assert presence.last_left(clip, cast.logger) is None, "one knows where one was oneself"
    presence.leave(cast.logger, clip, mine, 21)
    assert presence.last_left(clip, cast.editor).viewing.remark == "the good part begins here"


def test_what_cannot_be_is_refused(pages, cast):
    clip, mine, _ = pages
    with pytest.raises(Refusal, match="no frame 50"):
        presence.pulse(cast.logger, clip, mine, 50, None)
    with pytest.raises(Refusal, match="501 letters"):
        presence.leave(cast.logger, clip, mine, 0, "x" * 501)
    for act in (
        lambda: presence.pulse(cast.stranger, clip, mine, 0, None),
        lambda: presence.last_left(clip, cast.stranger),
    ):
        with pytest.raises(NotFound):
            act()


def test_whoever_only_looks_in_hides_nothing_and_whoever_goes_on_does(pages, cast):
    clip, mine, theirs = pages
    presence.leave(cast.logger, clip, mine, 19, "the good part begins here")
    presence.leave(cast.editor, clip, theirs, 2)
    left = presence.last_left(clip, cast.producer)
    assert (left.frame, left.viewing.person, left.viewing.remark) == (19, cast.logger, "the good part begins here")
    Viewing.objects.filter(id=theirs).update(opened_at=timezone.now() - timedelta(hours=1))
    watching.record(cast.editor, clip, theirs, 1, [watching.Span(20, 40, 1.0, False)])
    presence.leave(cast.editor, clip, theirs, 39)
    left = presence.last_left(clip, cast.producer)
    assert (left.frame, left.viewing.person, left.viewing.remark) == (39, cast.editor, "")
