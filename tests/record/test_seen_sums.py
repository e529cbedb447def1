"""What coverage is read from is always what the ranges say: totals, each person's sums, stretches and second looks."""

import importlib
import uuid
from datetime import timedelta

import pytest
from django.apps import apps
from django.db import connection
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from review.models import Clip, SecondLook, SeenBy, Unwatched, Viewing, WatchedRange
from review.record import watching
from review.record.seen import Seen, at_least_two
from review.record.watching import Span
from review.team import second_looks

CLIP = 50

RANGES = st.lists(
    st.tuples(st.integers(0, CLIP - 1), st.integers(1, 15)).map(lambda at: (at[0], at[0] + at[1])), max_size=5
)


def frames_of(ranges):
    return {frame for start, end in ranges for frame in range(start, min(end, CLIP))}


@settings(max_examples=80, deadline=None)
@given(st.lists(RANGES, max_size=4), st.lists(RANGES, max_size=4))
def test_it_is_arithmetic_on_sets_of_frames(watched, skimmed):
    rows = [
        (who, how, *each)
        for how, people in ((False, watched), (True, skimmed))
        for who, ranges in enumerate(people)
        for each in ranges
    ]
    seen = Seen(CLIP, rows)
    everybody = [frames_of(ranges) for ranges in watched]
    any_watched = set().union(*everybody)
    any_skimmed = set().union(*(frames_of(ranges) for ranges in skimmed))
    assert frames_of(seen.watched()) == any_watched
    assert frames_of(seen.skimmed()) == any_skimmed - any_watched
    assert frames_of(seen.anybody()) == any_watched | any_skimmed
    assert frames_of(seen.twice()) == {frame for frame in any_watched if sum(frame in each for each in everybody) > 1}
    stretches = seen.unwatched()
    assert frames_of(stretches) == set(range(CLIP)) - any_watched
    assert frames_of(each for each, skim in stretches.items() if skim) == any_skimmed - any_watched
    for who, ranges in enumerate(skimmed):
        assert frames_of(seen.skimmed(who)) == frames_of(ranges) - (everybody[who] if who < len(everybody) else set())


def test_one_person_twice_is_not_two_people():
    assert at_least_two([[(0, 10), (5, 20)], []]) == []
    assert at_least_two([[(0, 10)], [(10, 20)]]) == []
    assert at_least_two([[(0, 10)], [(5, 20)], [(8, 9)]]) == [(5, 10)]


def written(clip):
    """Every row and total that coverage is read from."""
    clip.refresh_from_db()
    return (
        (clip.watched_frames, clip.unseen_count),
        clip.skimmed_frames,
        sorted(SeenBy.objects.filter(clip=clip).values_list("person", "watched_frames", "skimmed_frames")),
        sorted(Unwatched.objects.filter(clip=clip).values_list("in_frame", "out_frame", "skimmed", "seconds")),
        sorted(SecondLook.objects.filter(clip=clip, ended_at=None).values_list("in_frame", "seen_frames")),
    )


BATCH = st.lists(
    st.tuples(st.integers(0, CLIP - 1), st.integers(1, 20), st.sampled_from([1, 4])), min_size=1, max_size=3
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, 2), BATCH), max_size=6))
def test_batch_by_batch_is_the_same_as_all_at_once(cast, make_clip, batches):
    """And the same as what the migration fills in for stretches that were there before."""
    clip = make_clip(uuid.uuid4().hex)
    second_looks.ask(cast.editor, clip, 10, 30)
    people = (cast.logger, cast.editor, cast.producer)
    opened = timezone.now() - timedelta(hours=1)
    viewings = [Viewing.objects.create(id=uuid.uuid4(), person=each, clip=clip, opened_at=opened) for each in people]
    for number, (who, batch) in enumerate(batches, 1):
        spans = [Span(start, min(start + count, CLIP), speed, False) for start, count, speed in batch]
        watching.record(people[who], clip, viewings[who].id, number, spans)
    kept = written(clip)
    seen = Seen(
        CLIP,
        [(row.person_id, row.manner == "skimmed", row.in_frame, row.out_frame) for row in clip.watched_ranges.all()],
    )
    assert kept[2] == [
        (who, sum(r.length for r in seen.watched(who)), sum(r.length for r in seen.skimmed(who))) for who in seen.people
    ]
    stretches = seen.unwatched().items() if batches else ()
    assert kept[3] == sorted((*each, skim, each.length / 25) for each, skim in stretches)
    assert kept[4] == [(10, len(frames_of(seen.twice()) & set(range(10, 30))))]
    watching.count_seen(clip)
    clip.save()
    assert written(clip) == kept
    Unwatched.objects.update(seconds=0)
    Clip.objects.update(unseen_count=0)
    importlib.import_module("review.migrations.0017_longest").fill(apps, connection.schema_editor())
    assert written(clip) == kept


def test_a_clip_that_became_shorter_keeps_its_sums_true(cast, make_clip):
    clip = make_clip(frames=100)
    viewing = watching.open_viewing(cast.logger, clip, uuid.uuid4())
    Viewing.objects.update(opened_at=timezone.now() - timedelta(hours=1))
    watching.record(cast.logger, clip, viewing.id, 1, [Span(0, 20, 1, False), Span(60, 100, 1, False)])
    clip = Clip.objects.get(id=clip.id)
    clip.frames = 70
    watching.count_seen(clip)
    clip.save()
    assert written(clip)[:4] == ((30, 1), 0, [(cast.logger.id, 30, 0)], [(20, 60, False, 1.6)])
    clip.rate_numerator = 50  # a card that was copied anew may be read otherwise
    watching.count_seen(clip)
    clip.save()
    assert written(clip)[3] == [(20, 60, False, 0.8)]
    clip.frames = 20
    watching.count_seen(clip)
    clip.save()
    assert written(clip)[:4] == ((20, 0), 0, [(cast.logger.id, 20, 0)], [])


def test_ranges_that_are_extended_stay_one_row(cast, a_clip):
    viewing = watching.open_viewing(cast.logger, a_clip, uuid.uuid4())
    Viewing.objects.update(opened_at=timezone.now() - timedelta(hours=1))
    for number in range(1, 6):
        watching.record(cast.logger, a_clip, viewing.id, number, [Span(10 * (number - 1), 10 * number, 1, False)])
    assert WatchedRange.objects.count() == 1 and not Unwatched.objects.exists()
    assert SeenBy.objects.get().watched_frames == 50


@pytest.mark.django_db
def test_a_batch_with_nothing_in_it_writes_nothing(cast, a_clip):
    watching.record(cast.logger, a_clip, uuid.uuid4(), 1, [])
    assert not SeenBy.objects.exists() and not Unwatched.objects.exists()
