"""The day map: where each clip lies in its day, and how it was seen, in agreement with coverage."""

import json
import math
import random
import uuid
from datetime import date
from fractions import Fraction

import pytest

from review import frames
from review.clock import time_of
from review.marking import selecting, taking_notes
from review.marking.selecting import Mark
from review.models import Card, WatchedRange
from review.record import angles, coverage
from review.seeing import day_map
from review.timecode import STANDARD_RATES, Rate, Timebase
from tests.conftest import api_of
from tests.seeing.test_coverage import see

THE_12TH = date(2026, 11, 12)
TEN = 10 * 3600 * 1000  # ms
DROP = Timebase(Rate(30000, 1001), drop=True)


def test_it_works(cast, make_clip):
    first = make_clip("A1", frames=1500)
    make_clip("B1", card="KB04-261112-B01", start="10:05:00:00", frames=750)
    see(cast.logger, first, (0, 500), (700, 800))
    see(cast.editor, first, (400, 750), speed=4)
    selecting.put(cast.logger, uuid.uuid4(), first, Mark(100, 200), 0)
    gone = selecting.put(cast.logger, uuid.uuid4(), first, Mark(300, 400), 0)
    selecting.delete(cast.logger, gone)
    taking_notes.take(cast.owner, cast.kb04, b"date,timecode,camera,text\n2026-11-12,10:00:30:00,A,a gull lands\n")
    day = day_map.of(cast.kb04, THE_12TH)
    a, b = day.clips
    assert (a.name, a.camera, a.start, a.end) == ("A1", "A", TEN, TEN + 60_000)
    assert (b.camera, b.start, b.end) == ("B", TEN + 300_000, TEN + 330_000)
    assert a.seen == {"watched": [(0, 500), (700, 800)], "skimmed": [(500, 700)]}
    assert (a.watched, a.skimmed, a.unwatched) == (600, 200, 700)
    assert (a.selects, a.select_count, b.seen) == ([100], 1, {"watched": [], "skimmed": []})
    assert day.still == [(TEN + 60_000, TEN + 300_000)]
    assert day.notes == [(TEN + 30_000, "A", "a gull lands")]
    assert day_map.days(cast.kb04) == [THE_12TH]


def test_the_numbers_agree_with_coverage(cast, make_clip):
    random.seed(4)
    for number in range(12):
        timebase = (Timebase(Rate(25)), DROP)[number % 2]
        clip = make_clip(
            f"C{number}",
            card=f"KB04-261112-{'AB'[number % 2]}01",
            timebase=timebase,
            frames=2000,
            start=f"{8 + number:02}:00:00{';' if timebase.drop else ':'}00",
        )
        for person in (cast.logger, cast.editor):
            start = random.randrange(1900)
            see(person, clip, (start, random.randrange(start + 1, 2001)), speed=random.choice((1, 8)))
    part = coverage.by_day(coverage.by_card(cast.kb04))[THE_12TH]
    shot = watched = skimmed = Fraction(0)
    for clip in day_map.of(cast.kb04, THE_12TH).clips:
        rate = Rate(25) if clip.camera == "A" else DROP.rate
        assert frames.count(clip.seen["watched"]) == clip.watched
        assert frames.count(clip.seen["skimmed"]) == clip.skimmed
        shot += rate.seconds(clip.frames)
        watched += rate.seconds(clip.watched)
        skimmed += rate.seconds(clip.skimmed)
    assert (shot, watched, skimmed) == (part.shot, part.watched, part.skimmed) and watched and skimmed


@pytest.mark.parametrize("rate", STANDARD_RATES, ids=str)
def test_a_clip_lies_where_the_other_angles_say(cast, make_clip, rate):
    for drop in {False, rate.can_drop}:
        timebase = Timebase(rate, drop)
        start = random.randrange(timebase.frames_per_day)
        clip = make_clip(f"{rate.numerator}{drop}", timebase=timebase, start_frame=start, frames=100_000)
        card = clip.card
        card.clock_numerator, card.clock_denominator, card.clock_set = -7, 3, True
        card.save()
        (rolled,) = [each for each in day_map.of(cast.kb04, THE_12TH).clips if each.id == clip.id]
        times = (angles.time_on(clip, frame) for frame in (0, clip.frames))
        assert (rolled.start, rolled.end) == tuple(math.floor(1000 * time + Fraction(1, 2)) for time in times)
        assert time_of(timebase, start) - Fraction(7, 3) == angles.time_on(clip, 0)


def test_a_clip_runs_on_past_midnight(cast, make_clip):
    make_clip(start="23:59:30:00", frames=1500)
    (clip,) = day_map.of(cast.kb04, THE_12TH).clips
    assert (clip.start, clip.end) == (86_370_000, 86_430_000)


def test_what_has_no_time_and_what_is_not_trusted_is_apart(cast, make_clip):
    make_clip("A1")
    blind = make_clip("A2", timecode_source="")
    make_clip("H1", card="KB04-261112-C01", state=Card.State.HELD)
    undated = make_clip("U1", card="KB04-261113-D01")
    Card.objects.filter(id=undated.card_id).update(shoot_date=None)
    assert [clip.name for clip in day_map.of(cast.kb04, THE_12TH).clips] == ["A1"]
    assert list(day_map.without_time(cast.kb04, THE_12TH)) == [blind]
    assert list(day_map.without_time(cast.kb04, None)) == [undated]
    Card.objects.filter(id=blind.card_id).update(clock_set=True)  # by a person, so its time is known
    assert [clip.name for clip in day_map.of(cast.kb04, THE_12TH).clips] == ["A1", "A2"]


def test_a_day_without_anything_is_empty(cast):
    assert day_map.compact(day_map.of(cast.kb04, THE_12TH))["clips"] == []
    assert day_map.days(cast.kb04) == [] and day_map.shown_day(cast.kb04, "2026-11-12") is None


def test_only_what_lies_within_is_read(cast, make_clip):
    for hour in (9, 10, 11):
        make_clip(f"H{hour}", start=f"{hour:02}:00:00:00", frames=25 * 60)
    day = day_map.of(cast.kb04, THE_12TH, within=(TEN + 59_999, TEN + 3_600_000))
    assert [clip.name for clip in day.clips] == ["H10"]
    assert len(day.still) == 2  # of the whole day all the same


# Rounding ------------------------------------------------------------------------------------------


def test_an_end_is_rounded_by_half_a_step_at_most():
    random.seed(7)
    for _ in range(300):
        length, step = random.randrange(1, 5000), random.randrange(2, 400)
        ends = sorted(random.sample(range(length + 1), min(length + 1, 8)))
        ranges = list(zip(ends[::2], ends[1::2], strict=False))
        found = day_map.rounded(ranges, step, length)
        assert found == frames.union(found) and all(0 <= a < b <= length for a, b in found)
        for frame in range(length):
            if min((abs(frame - end) for end in ends), default=step) > step:
                inside = any(a <= frame < b for a, b in ranges)
                assert inside == any(a <= frame < b for a, b in found)


def test_a_coarse_level_holds_less(cast, make_clip):
    clip = make_clip(frames=90_000)
    see(cast.logger, clip, *((at, at + 20) for at in range(0, 90_000, 100)))
    for at in range(0, 5000, 10):
        selecting.put(cast.logger, uuid.uuid4(), clip, Mark(at, at + 5), 0)
    sizes = []
    for level in day_map.LEVELS:
        (found,) = day_map.of(cast.kb04, THE_12TH, level).clips
        assert (found.watched, found.select_count) == (18_000, 500)  # what is counted is exact
        sizes.append((len(found.seen["watched"]), len(found.selects)))
    assert sizes[0] == (900, 500) and sizes[0] > sizes[1] > sizes[2]


# By the API ----------------------------------------------------------------------------------------


def test_the_api_answers_in_short_and_only_when_it_changed(cast, make_clip):
    clip = make_clip(frames=100)
    script, address = api_of(cast.producer), "/api/v1/days/2026-11-12/?production=KB04"
    told = script.get(address)
    assert json.loads(told.content)["clips"] == [[clip.id, "A001C001", 0, 0, TEN, TEN + 4000, 100, 0, 0, 0, [], [], []]]
    assert script.get(address, headers={"If-None-Match": told["ETag"]}).status_code == 304
    selecting.put(cast.logger, uuid.uuid4(), clip, Mark(3, 9), 0)
    again = script.get(address, headers={"If-None-Match": told["ETag"]})
    assert again.status_code == 200 and json.loads(again.content)["clips"][0][-1] == [3]


@pytest.mark.parametrize(
    ("query", "status"),
    [
        ("2026-11-12/?production=NR07", 400),
        ("2026-13-40/?production=KB04", 404),
        ("2026-11-12/?production=KB04&level=9", 400),
        ("2026-11-12/?production=KB04&since=1", 400),
        ("2026-11-12/?production=KB04&since=a&until=2", 400),
        ("2026-11-12/?production=KB04&since=٣&until=2", 400),
        ("1000-01-01/?production=KB04", 200),
    ],
)
def test_what_cannot_be_asked_is_refused(cast, query, status):
    assert api_of(cast.producer).get(f"/api/v1/days/{query}").status_code == status


def test_a_stranger_sees_no_day(cast, a_clip):
    told = api_of(cast.stranger).get("/api/v1/days/2026-11-12/?production=KB04")
    assert told.status_code == 400 and b"A001C001" not in told.content


def test_a_range_that_a_shorter_copy_left_behind_is_cut(cast, make_clip):
    clip = make_clip(frames=100)
    WatchedRange.objects.create(clip=clip, person=cast.logger, manner="watched", in_frame=50, out_frame=300)
    type(clip).objects.filter(id=clip.id).update(watched_frames=50)
    (found,) = day_map.of(cast.kb04, THE_12TH).clips
    assert found.seen["watched"] == [(50, 100)]
