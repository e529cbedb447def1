"""Slots of five minutes: what is written down as watching arrives, and what forecasts read from it. The rules are the
house's own."""

import uuid
from datetime import UTC, date, datetime, timedelta
from unittest import mock

import pytest

from review.forecast import Done
from review.models import Clip, Stint, Viewing, WorkedSlot
from review.record import pace, stints, watching
from review.record.watching import Span

NOON = datetime(2026, 11, 12, 12, 3, 20, tzinfo=UTC)


@pytest.fixture
def at():
    """at(moment) makes it that late."""
    with mock.patch("django.utils.timezone.now") as now:
        now.return_value = NOON

        def set_to(moment):
            now.return_value = moment

        yield set_to


@pytest.fixture
def watch(cast, make_clip, at):
    clips = {}

    def record(*spans, person=cast.logger, card="KB04-261112-A01", kind=Clip.Kind.VIDEO, hours=20.0):
        if card not in clips:
            clips[card] = make_clip(card=card, kind=kind, frames=25 * 3600)
        clip = clips[card]
        opened = NOON - timedelta(hours=hours)
        viewing = Viewing.objects.create(id=uuid.uuid4(), person=person, clip=clip, opened_at=opened)
        watching.record(person, clip, viewing.id, 1, spans)
        return clip

    return record


def slots(**which):
    rows = WorkedSlot.objects.filter(**which).order_by("began", "camera", "sound")
    return [(row.began, row.shown // 10**6, row.fresh_watched // 10**6, row.fresh_skimmed // 10**6) for row in rows]


def test_it_works(cast, watch):
    watch(Span(0, 250, 1.0, False))
    assert slots() == [(NOON.replace(minute=0, second=0), 10, 10, 0)]
    slot = WorkedSlot.objects.get()
    assert (slot.production, slot.person, slot.camera, slot.sound) == (cast.kb04, cast.logger, "A", False)


def test_only_what_nobody_had_seen_is_fresh(cast, watch):
    watch(Span(0, 250, 1.0, False))
    watch(Span(0, 500, 8.0, False), person=cast.editor)  # half of it was seen
    watch(Span(250, 750, 1.0, False))  # half of it was skimmed
    watch(Span(0, 250, 1.0, False), Span(0, 250, 1.0, False))  # nothing new at all
    assert slots(person=cast.editor) == [(NOON.replace(minute=0, second=0), 20, 0, 10)]
    assert slots(person=cast.logger) == [(NOON.replace(minute=0, second=0), 10 + 20 + 20, 10 + 10, 0)]


def test_what_is_watched_and_skimmed_in_one_batch_is_fresh_once(watch):
    watch(Span(0, 250, 8.0, False), Span(125, 250, 1.0, False))
    assert slots() == [(NOON.replace(minute=0, second=0), 15, 5, 5)]


def test_each_camera_and_the_sound_have_slots_of_their_own(watch, at):
    watch(Span(0, 25, 1.0, False))
    watch(Span(0, 50, 1.0, False), card="KB04-261112-B01")
    watch(Span(0, 75, 1.0, False), card="KB04-261112-S01", kind=Clip.Kind.SOUND)
    at(NOON + timedelta(minutes=5))
    watch(Span(25, 50, 1.0, False))
    assert [each[1] for each in slots()] == [1, 2, 3, 1]
    rows = WorkedSlot.objects.order_by("began", "camera").values_list("camera", "sound")
    assert list(rows) == [("A", False), ("B", False), ("S", True), ("A", False)]


def test_what_a_page_brings_that_had_been_cut_off_goes_into_the_slots_it_took(watch):
    watch(Span(0, 25 * 1000, 1.0, False))  # a thousand seconds: four slots
    assert [began.minute for began, *_ in slots()] == [45, 50, 55, 0]
    assert [each[1] for each in slots()] == [250] * 4
    assert sum(WorkedSlot.objects.values_list("shown", flat=True)) == 1000 * 10**6


def test_the_slots_of_one_batch_are_bounded(watch):
    watch(*[Span(0, 25 * 3600, 1.0, False)] * 19)
    assert WorkedSlot.objects.count() == pace.MOST_SLOTS
    assert sum(WorkedSlot.objects.values_list("shown", flat=True)) == 19 * 3600 * 10**6


def test_a_held_stint_is_touched(cast, watch, at):
    clip = watch(Span(0, 25, 1.0, False))
    stint = stints.take(cast.logger, clip, 0, 1000)
    at(NOON + timedelta(hours=2))
    watch(Span(25, 50, 1.0, False))
    assert Stint.objects.get(id=stint.id).touched_at == NOON + timedelta(hours=2)


def worked(cast, began, camera="A", sound=False, person=None, **minutes):
    sums = {name: count * 60 * 10**6 for name, count in minutes.items()}
    which = {"production": cast.kb04, "person": person or cast.logger, "began": began, "camera": camera, "sound": sound}
    return WorkedSlot.objects.create(**which, **{"shown": 60 * 10**6, **sums})


def test_days_are_read_with_the_hours_shared_by_what_was_shown(cast, settings):
    worked(cast, NOON, shown=4, fresh_watched=3)
    worked(cast, NOON, camera="B", shown=1, fresh_watched=1)
    worked(cast, NOON + timedelta(minutes=5), shown=20, fresh_skimmed=10)
    worked(cast, NOON - timedelta(days=1), camera="", fresh_watched=1)
    worked(cast, NOON, camera="S", sound=True, person=cast.editor, fresh_watched=1)
    days = {(day.name, day.day): day.done for day in pace.observed(cast.kb04, date(2026, 11, 13))}
    slot = 5 / 60
    assert days["logger", date(2026, 11, 12)] == {
        ("A", False): Done(pytest.approx(slot * 4 / 5), pytest.approx(3 / 60)),
        ("B", False): Done(pytest.approx(slot / 5), pytest.approx(1 / 60)),
        ("A", True): Done(pytest.approx(slot), pytest.approx(10 / 60)),
    }
    assert set(days["logger", date(2026, 11, 11)]) == {("?", False)}
    assert set(days["editor", date(2026, 11, 12)]) == {("sound", False)}


def test_today_and_long_ago_are_not_read(cast):
    worked(cast, NOON)
    worked(cast, NOON - timedelta(days=pace.WINDOW_DAYS + 1))
    assert pace.observed(cast.kb04, NOON.date()) == []
    assert pace.observed(cast.nr07, NOON.date() + timedelta(1)) == []
