"""What counts as seen. The rules (2 times, sound on or none there, the clock) are the house's own."""

import uuid
from datetime import timedelta
from itertools import pairwise

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from review.models import Viewing, WatchedRange
from review.record import watching
from review.record.watching import SKIMMED, WATCHED, Span
from review.refusals import NotFound, Refusal

CLIP = 50  # frames, at 25 a second: two seconds


@pytest.fixture
def watch(cast, a_clip):
    """watch(span, …) records a batch of a viewing that was opened an hour ago, and returns the clip."""
    viewings, batches = {}, {}

    def record(*spans, person=cast.logger, clip=a_clip, batch=None, ago=3600.0):
        if (person.id, clip.id) not in viewings:
            opened = timezone.now() - timedelta(seconds=ago)
            viewing = Viewing.objects.create(id=uuid.uuid4(), person=person, clip=clip, opened_at=opened)
            viewings[person.id, clip.id] = viewing.id
        viewing_id = viewings[person.id, clip.id]
        batches[viewing_id] = batch or batches.get(viewing_id, 0) + 1
        return watching.record(person, clip, viewing_id, batches[viewing_id], spans)

    return record


def shown(in_frame, out_frame, speed=1.0, muted=False):
    return Span(in_frame, out_frame, speed, muted)


def seen(clip, person=None):
    ranges = watching.seen_ranges(clip, person)
    return [tuple(each) for each in ranges[WATCHED]], [tuple(each) for each in ranges[SKIMMED]]


def test_it_works(watch):
    clip = watch(shown(0, 25))
    assert (clip.watched_frames, clip.skimmed_frames, clip.unwatched_frames) == (25, 0, 25)
    assert seen(clip) == ([(0, 25)], [])


@pytest.mark.parametrize(
    ("speed", "muted", "watched"),
    [
        (1.0, False, True),
        (2.0, False, True),
        (0.25, False, True),
        (2.01, False, False),
        (8, False, False),
        (1.0, True, False),
        (2.0, True, False),
    ],
)
def test_watched_is_up_to_twice_the_speed_with_its_sound(watch, speed, muted, watched):
    clip = watch(shown(0, 25, speed, muted))
    assert (clip.watched_frames, clip.skimmed_frames) == ((25, 0) if watched else (0, 25))


def test_a_muted_clip_that_has_no_sound_is_watched(watch, make_clip):
    silent = make_clip("SILENT", channels=0)
    assert watch(shown(0, 25, muted=True), clip=silent).watched_frames == 25
    assert watch(shown(25, 50, speed=4, muted=True), clip=silent).skimmed_frames == 25


def test_a_batch_that_comes_twice_counts_once(watch):
    watch(shown(0, 10), batch=1)
    clip = watch(shown(20, 30), batch=1)
    assert seen(clip) == ([(0, 10)], [])


def test_a_batch_that_comes_after_a_later_one_does_not_count(watch):
    watch(shown(0, 10), batch=5)
    assert watch(shown(20, 30), batch=4).watched_frames == 10


def test_batch_0_only_opens_the_viewing(cast, a_clip):
    watching.record(cast.logger, a_clip, uuid.uuid4(), 0, [])
    assert Viewing.objects.count() == 1 and not WatchedRange.objects.exists()


def test_the_clock_cuts_back_what_cannot_have_been_shown(cast, make_clip):
    long = make_clip("LONG", frames=25 * 3600)
    clip = watching.record(cast.logger, long, uuid.uuid4(), 1, [shown(0, 25 * 3600)])
    assert clip.watched_frames <= 25 * 2  # the page has been open for no time; a second and a half is allowed for
    assert clip.watched_frames >= 25


def test_the_clock_is_used_up_by_every_span_of_every_batch(cast, make_clip):
    long, viewing = make_clip("LONG", frames=25 * 3600), uuid.uuid4()
    opened = timezone.now() - timedelta(seconds=10)
    Viewing.objects.create(id=viewing, person=cast.logger, clip=long, opened_at=opened)
    watching.record(cast.logger, long, viewing, 1, [shown(0, 25 * 6), shown(1000, 1000 + 25 * 6)])
    clip = watching.record(cast.logger, long, viewing, 2, [shown(5000, 9000)])
    assert 25 * 10 <= clip.watched_frames <= 25 * 13


def test_at_eight_times_the_clock_allows_eight_times_the_frames(cast, make_clip):
    long, viewing = make_clip("LONG", frames=25 * 3600), uuid.uuid4()
    opened = timezone.now() - timedelta(seconds=10)
    Viewing.objects.create(id=viewing, person=cast.logger, clip=long, opened_at=opened)
    clip = watching.record(cast.logger, long, viewing, 1, [shown(0, 25 * 3600, speed=8)])
    assert 8 * 25 * 10 <= clip.skimmed_frames <= 8 * 25 * 13


def test_opening_a_viewing_again_does_not_restart_its_clock(cast, a_clip):
    viewing = uuid.uuid4()
    first = watching.open_viewing(cast.logger, a_clip, viewing).opened_at
    assert watching.open_viewing(cast.logger, a_clip, viewing).opened_at == first


def test_ranges_that_touch_are_joined(watch):
    watch(shown(0, 10), shown(20, 30))
    clip = watch(shown(10, 20))
    assert WatchedRange.objects.count() == 1
    assert seen(clip) == ([(0, 30)], [])


def test_watched_by_one_is_not_skimmed_by_another(cast, watch):
    watch(shown(0, 40, speed=8), person=cast.editor)
    clip = watch(shown(10, 20), person=cast.logger)
    assert seen(clip) == ([(10, 20)], [(0, 10), (20, 40)])
    assert seen(clip, cast.editor) == ([], [(0, 40)])
    assert (clip.watched_frames, clip.skimmed_frames, clip.unwatched_frames) == (10, 30, 10)


SPANS = st.tuples(
    st.integers(0, 1), st.integers(0, CLIP - 1), st.integers(1, CLIP), st.sampled_from([0.5, 1, 2, 4]), st.booleans()
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.lists(SPANS, max_size=4), max_size=5))
def test_totals_are_those_of_plain_sets_of_frames(cast, a_clip, batches):
    """The model: a set of frames for each person and manner, and set arithmetic."""
    WatchedRange.objects.all().delete()
    watching.count_seen(a_clip)
    a_clip.save()
    people = (cast.logger, cast.editor)
    model = {(person, manner): set() for person in (0, 1) for manner in (WATCHED, SKIMMED)}
    opened = timezone.now() - timedelta(hours=1)
    viewings = [Viewing.objects.create(id=uuid.uuid4(), person=each, clip=a_clip, opened_at=opened) for each in people]
    for number, batch in enumerate(batches, 1):
        for who in (0, 1):
            spans = [Span(a, min(a + n, CLIP), speed, muted) for by, a, n, speed, muted in batch if by == who]
            watching.record(people[who], a_clip, viewings[who].id, number, spans)
            for span in spans:
                manner = WATCHED if span.speed <= 2 and not span.muted else SKIMMED
                model[who, manner] |= set(range(span.in_frame, span.out_frame))
    watched = model[0, WATCHED] | model[1, WATCHED]
    skimmed = (model[0, SKIMMED] | model[1, SKIMMED]) - watched
    a_clip.refresh_from_db()
    assert (a_clip.watched_frames, a_clip.skimmed_frames) == (len(watched), len(skimmed))
    assert a_clip.unwatched_frames == CLIP - len(watched) - len(skimmed)
    ranges = watching.seen_ranges(a_clip)
    assert {frame for each in ranges[WATCHED] for frame in range(*each)} == watched
    assert {frame for each in ranges[SKIMMED] for frame in range(*each)} == skimmed
    for who in (0, 1):
        rows = sorted(people[who].watched_ranges.filter(manner=WATCHED).values_list("in_frame", "out_frame"))
        assert all(before[1] < after[0] for before, after in pairwise(rows))


@pytest.mark.parametrize("span", [shown(-1, 5), shown(5, 5), shown(6, 5), shown(0, 51), shown(0, 10**30)])
def test_a_span_that_is_not_in_the_clip_is_refused(watch, span):
    with pytest.raises(Refusal, match="is not a range of frames of A001C001, which has 50"):
        watch(span)


@pytest.mark.parametrize("speed", [0, -1, 16.5, float("inf"), float("nan")])
def test_a_speed_that_cannot_be_is_refused(watch, speed):
    with pytest.raises(Refusal, match="it is a number above 0 and up to 16"):
        watch(shown(0, 5, speed))


def test_a_refused_span_takes_its_whole_batch_with_it(watch, a_clip):
    with pytest.raises(Refusal):
        watch(shown(0, 10), shown(0, 51))
    assert not WatchedRange.objects.exists()


def test_a_viewing_is_one_persons_and_one_clips(cast, a_clip, make_clip):
    viewing = uuid.uuid4()
    watching.open_viewing(cast.logger, a_clip, viewing)
    with pytest.raises(Refusal, match="belongs to another clip or person; open the clip's page again"):
        watching.record(cast.editor, a_clip, viewing, 1, [shown(0, 5)])
    with pytest.raises(Refusal, match="belongs to another clip or person"):
        watching.record(cast.logger, make_clip("OTHER"), viewing, 1, [shown(0, 5)])


def test_a_strangers_watching_is_not_counted(cast, a_clip):
    with pytest.raises(NotFound):
        watching.record(cast.stranger, a_clip, uuid.uuid4(), 1, [shown(0, 5)])
    assert not Viewing.objects.exists()
