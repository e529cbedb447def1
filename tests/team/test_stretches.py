"""Taking what nobody holds, in stretches: near what one watches, ending where it is quiet, and never twice."""

import uuid
from multiprocessing import get_context

import pytest
from django.db import connection

from review import roles
from review.crew import people
from review.marking import selecting
from review.models import Activity, Clip, Person, Production, Stint
from review.record import stints
from review.refusals import NotAllowed, NotFound, Refusal
from review.team import stretches
from tests.seeing.test_coverage import see
from tests.splits import MINUTE, lock_step, overlaps

# Taking stretches -------------------------------------------------------------------------------


def taken(stints_):
    return [(stint.clip.name, stint.in_frame, stint.out_frame) for stint in stints_]


def test_a_stretch_of_some_minutes_is_taken(cast, reel):
    got = stretches.take_stretch(cast.logger, cast.kb04, 15)
    assert taken(got) == [("A0", 0, 10 * MINUTE), ("A1", 0, 5 * MINUTE)]
    assert [stint.place for stint in got] == [0, 1]
    more = stretches.take_stretch(cast.logger, cast.kb04, 5)
    assert taken(more) == [("A1", 5 * MINUTE, 10 * MINUTE)]
    assert more[0].place == 2
    assert Activity.objects.filter(did="took").count() == 2


def test_it_is_near_what_the_person_watched_last(cast, reel):
    see(cast.logger, reel["B"], (0, MINUTE))
    assert taken(stretches.take_stretch(cast.logger, cast.kb04, 9)) == [("B", MINUTE, 10 * MINUTE)]
    see(cast.editor, reel["A2"], (0, 10 * MINUTE))
    assert taken(stretches.take_stretch(cast.editor, cast.kb04, 10)) == [("A3", 0, 10 * MINUTE)]


def test_a_stretch_never_ends_inside_a_select(cast, reel):
    selecting.put(cast.editor, uuid.uuid4(), reel["A0"], selecting.Mark(4 * MINUTE, 5 * MINUTE + 500), 0)
    ((_, _, end),) = taken(stretches.take_stretch(cast.logger, cast.kb04, 5))
    assert end in (4 * MINUTE, 5 * MINUTE + 500)


def test_what_is_seen_or_held_is_not_in_a_stretch(cast, reel):
    stints.take(cast.editor, reel["A0"], 0, 8 * MINUTE)
    see(cast.editor, reel["A1"], (0, 10 * MINUTE))
    got = taken(stretches.take_stretch(cast.logger, cast.kb04, 10))
    assert got[0] == ("A0", 8 * MINUTE, 10 * MINUTE) and got[1][0] == "A2"


def test_when_nothing_is_free_it_is_told(cast, reel):
    for clip in reel.values():
        stints.take(cast.editor, clip)
    with pytest.raises(Refusal, match="Nothing of KB04 that can be watched is free: all of it is seen or held"):
        stretches.take_stretch(cast.logger, cast.kb04, 15)
    for minutes in (0, -5, 100_000):
        with pytest.raises(Refusal, match="A stretch is 1 to 480 minutes long"):
            stretches.take_stretch(cast.logger, cast.kb04, minutes)


def test_only_who_may_take_gets_a_stretch(cast, reel):
    with pytest.raises(NotAllowed):
        stretches.take_stretch(cast.media_manager, cast.kb04, 15)
    with pytest.raises(NotFound):
        stretches.take_stretch(cast.stranger, cast.kb04, 15)


@pytest.mark.django_db(transaction=True)
def test_eight_who_ask_in_the_same_second_never_get_the_same_frames(cast, reel):
    names = [f"logger{at}" for at in range(8)]
    for name in names:
        people.add_member(name, cast.kb04, roles.LOGGER)
    crew = [Person.objects.get(username=name) for name in names]
    told = lock_step(8, lambda at: stretches.take_stretch(crew[at], cast.kb04, 8))
    # Fifty minutes: eight stretches of six or so, and none is refused while there is any left.
    assert not overlaps()
    assert sum(not isinstance(each, Refusal) for each in told) >= 6
    held = sum(stint.out_frame - stint.in_frame for stint in Stint.objects.filter(ended_at=None))
    assert held > 45 * MINUTE


def _take_in_a_process(name: str) -> None:
    stretches.take_stretch(Person.objects.get(username=name), Production.objects.get(code="KB04"), 8)
    connection.close()


@pytest.mark.django_db(transaction=True)
def test_processes_that_ask_at_once_never_get_the_same_frames(cast, reel):
    connection.close()  # each process has one of its own
    fork = get_context("fork")
    names = ("logger", "editor", "producer", "owner")
    asking = [fork.Process(target=_take_in_a_process, args=[name]) for name in names]
    for each in asking:
        each.start()
    for each in asking:
        each.join(60)
    assert [each.exitcode for each in asking] == [0, 0, 0, 0]
    assert not overlaps()
    assert Stint.objects.values("logger").distinct().count() == 4


@pytest.mark.django_db(transaction=True)
def test_of_eight_who_take_one_clip_at_once_one_gets_it(cast, a_clip):
    names = [f"logger{at}" for at in range(8)]
    for name in names:
        people.add_member(name, cast.kb04, roles.LOGGER)
    crew = [Person.objects.get(username=name) for name in names]

    def take(at):
        clip = Clip.objects.select_related("card__production").get(id=a_clip.id)
        return stints.take(crew[at], clip)

    told = lock_step(8, take)
    assert sum(isinstance(each, Stint) for each in told) == 1
    assert Stint.objects.count() == 1
