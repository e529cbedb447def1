"""When it will be done. The arithmetic is the house's own; the check values are common practice, no source: a week has
168 hours, and an unscripted series shoots 1,000 to 2,000 hours."""

import math
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from review import forecast
from review.forecast import Assumed, Coming, Day, Done, WhatIf

TODAY = date(2026, 11, 25)  # a Wednesday


def worked(name, back, hours, pace=1.0, kind="A", skim=False):
    """A day of one person, `back` days before today."""
    return Day(name, TODAY - timedelta(back), {(kind, skim): Done(hours, hours * pace)})


def a_week(name, hours=8.0, pace=1.0, kind="A", days=7):
    return [worked(name, back, hours, pace, kind) for back in range(1, days + 1)]


def ahead(days, left, coming=None, **changed):
    return forecast.look_ahead(days, left, coming or Coming(), TODAY, WhatIf(**changed))


def test_it_works():
    """One person who sees eight hours of footage a day has seen forty on the fifth day."""
    told = ahead(a_week("ilse"), {"A": 40.0})
    assert told.days == pytest.approx(5)
    assert told.early == told.likely == told.late == TODAY + timedelta(5)  # every day on record was the same


def test_at_real_time_and_forty_hours_a_week_a_thousand_hours_take_25_people_a_week():
    assert forecast.people_for_weeks(1000, weeks=1, hours_a_week=40) == 25
    told = forecast.assume(Assumed(25, 40, 1.0), {"A": 1000.0}, Coming(), TODAY)
    assert told.days == pytest.approx(7) and told.likely == TODAY + timedelta(7)
    assert forecast.assume(Assumed(24, 40, 1.0), {"A": 1000.0}, Coming(), TODAY).likely > TODAY + timedelta(7)
    assert forecast.people_for(told, {"A": 1000.0}, Coming(), TODAY, TODAY + timedelta(7)) == 25


@pytest.mark.parametrize("hours", [1000.0, 2000.0])
def test_no_single_person_sees_in_a_week_what_a_series_shoots_in_one(hours):
    told = forecast.assume(Assumed(1, forecast.HOURS_A_WEEK, 1.0), {"A": hours}, Coming(), TODAY)
    assert told.likely == TODAY + timedelta(math.ceil(hours / 24)) > TODAY + timedelta(7)
    assert forecast.people_for_weeks(hours, 1, forecast.HOURS_A_WEEK) == math.ceil(hours / 168)


@pytest.mark.parametrize("hours", [168.5, 0, -1, float("inf"), float("nan")])
def test_nobody_works_more_hours_than_a_week_has(hours):
    with pytest.raises(ValueError, match="a week has 168 hours"):
        Assumed(1, hours, 1.0)


def test_more_hours_a_day_end_at_24():
    told = ahead(a_week("ilse", hours=20.0), {"A": 240.0}, hours=10)
    assert told.days == pytest.approx(10)


def test_each_kind_goes_at_its_own_pace():
    days = [*a_week("ilse", pace=2.0, kind="A"), *a_week("odd", pace=0.5, kind="C")]
    told = ahead(days, {"A": 32.0, "C": 8.0})
    assert told.team.paces == {"A": 2.0, "C": 0.5}
    # ilse is twice as fast at A as odd would be: nobody knows more of odd than that he is like the team.
    assert told.a_day["A"] == pytest.approx(8 * 2 + 8 * 2)
    assert told.days == pytest.approx(32 / 32 + 8 / 8)


def test_somebody_without_a_pace_of_their_own_is_as_fast_as_they_are_elsewhere():
    days = [*a_week("ilse", pace=2.0, kind="A"), *a_week("odd", pace=1.0, kind="A"), *a_week("odd", pace=1.0, kind="C")]
    odd = next(hand for hand in ahead(days, {"A": 1.0, "C": 1.0}).team.hands if hand.name == "odd")
    team = {"A": 1.5, "C": 1.0, "D": 1.2}
    assert odd.pace("A", team) == 1.0
    assert odd.pace("D", team) == pytest.approx(1.2 * odd.against(team))
    assert odd.against(team) == pytest.approx(2 / 2.5)


def test_days_off_are_counted_in():
    """Eight hours on three days out of six are four a day."""
    told = ahead([worked("ilse", back, 8.0) for back in (2, 4, 6)], {"A": 40.0})
    assert told.team.hours == pytest.approx(4) and told.days == pytest.approx(10)
    assert told.early < told.likely < told.late  # the days differ, so there is a range


def test_who_has_not_worked_for_a_week_is_not_reckoned_with():
    told = ahead([*a_week("ilse"), worked("bram", 8, 8.0)], {"A": 40.0})
    assert told.team.gone == ["bram"] and [hand.name for hand in told.team.hands] == ["ilse"]
    assert told.days == pytest.approx(5)


def test_more_loggers_are_like_those_that_are_there():
    days = [*a_week("ilse"), *a_week("odd")]
    assert ahead(days, {"A": 160.0}).days == pytest.approx(10)
    told = ahead(days, {"A": 160.0}, loggers=2)
    assert told.people == 4 and told.days == pytest.approx(5)
    assert ahead(days, {"A": 160.0}, loggers=-1).days == pytest.approx(20)
    assert ahead(days, {"A": 160.0}, loggers=-2).likely is None


def test_an_hour_more_a_day():
    told = ahead(a_week("ilse", hours=4.0), {"A": 40.0}, hours=1)
    assert told.days == pytest.approx(8)


def test_skimming_a_camera_is_as_fast_as_it_was_on_record():
    days = [*a_week("ilse"), worked("ilse", 1, 2.0, 6.0, "C", skim=True)]
    told = ahead(days, {"A": 1.0, "C": 1.0})
    assert told.team.skim == pytest.approx(6) and told.team.skim_known
    without, skimmed = ahead(days, {"A": 24.0}), ahead(days, {"A": 24.0}, skim=frozenset("A"))
    assert without.days == pytest.approx(6 * skimmed.days)


def test_without_skimming_on_record_four_times_is_assumed():
    told = ahead(a_week("ilse"), {"C": 32.0}, skim=frozenset("C"))
    assert (told.team.skim, told.team.skim_known) == (4.0, False)
    assert told.days == pytest.approx(1)


def test_what_is_still_shot_is_watched_from_the_next_day_on():
    coming = Coming({"A": 4.0}, TODAY + timedelta(10))
    assert ahead(a_week("ilse"), {"A": 8.0}, coming).likely == TODAY + timedelta(11)
    assert ahead(a_week("ilse"), {}, Coming({"A": 4.0}, TODAY)).likely == TODAY
    piling_up = ahead(a_week("ilse"), {"A": 8.0}, Coming({"A": 16.0}, TODAY + timedelta(10)))
    # 8 are done on the first day; 16 come on each of ten days, of which 8 are done on each of nine: 88 are left.
    assert piling_up.likely == TODAY + timedelta(10 + 11)
    assert piling_up.coming == pytest.approx(2)


def test_people_for_a_day():
    told = ahead(a_week("ilse"), {"A": 80.0})
    assert forecast.people_for(told, {"A": 80.0}, Coming(), TODAY, TODAY + timedelta(10)) == 1
    assert forecast.people_for(told, {"A": 80.0}, Coming(), TODAY, TODAY + timedelta(3)) == 4
    shooting = Coming({"A": 1.0}, TODAY + timedelta(5))
    assert forecast.people_for(told, {"A": 80.0}, shooting, TODAY, TODAY + timedelta(5)) is None


def test_what_takes_longer_than_three_years_has_no_date():
    told = ahead(a_week("ilse"), {"A": 8.0 * 1096})
    assert told.likely is told.early is told.late is None
    assert told.days == pytest.approx(1096)
    assert ahead(a_week("ilse", pace=0.0), {"A": 1.0}).likely is None


@pytest.mark.parametrize(
    ("days", "little"),
    [
        ([], True),
        (a_week("ilse", hours=3.0, days=1), True),
        (a_week("ilse", hours=8.0, days=2), True),
        (a_week("ilse", hours=2.0, days=3), True),
        (a_week("ilse", hours=3.0, days=3), False),
    ],
)
def test_too_little_is_said_to_be_too_little(days, little):
    assert forecast.too_little(days) is little


def test_the_same_record_gives_the_same_range():
    days = [worked("ilse", back, 2.0 + back % 3, 0.5 + back % 2) for back in range(1, 15)]
    first, second = ahead(days, {"A": 100.0}), ahead(list(reversed(days)), {"A": 100.0})
    assert (first.early, first.likely, first.late) == (second.early, second.likely, second.late)
    assert first.early < first.likely < first.late


RECORDS = st.lists(
    st.tuples(
        st.sampled_from(["ilse", "odd", "bram"]),
        st.integers(1, 7),
        st.floats(0.5, 10),
        st.floats(0.2, 2),
        st.sampled_from("AC"),
    ),
    min_size=1,
    max_size=12,
)


@settings(max_examples=25, deadline=None)
@given(RECORDS, st.floats(1, 300), st.floats(0, 20), st.integers(0, 20))
def test_more_people_or_hours_are_never_later_and_more_footage_never_sooner(record, left, a_day, shooting):
    days = [
        worked(*each[:4], kind=each[4])
        for each in {(name, back): (name, back, *rest) for name, back, *rest in record}.values()
    ]
    coming = Coming({"A": a_day}, TODAY + timedelta(shooting))
    usual = ahead(days, {"A": left}, coming)
    far = date.max
    assert (usual.early or far) <= (usual.likely or far) <= (usual.late or far)
    for better in ({"loggers": 1}, {"hours": 1.0}, {"skim": frozenset("A")}):
        assert (ahead(days, {"A": left}, coming, **better).likely or far) <= (usual.likely or far)
    assert (ahead(days, {"A": left + 10}, coming).likely or far) >= (usual.likely or far)


def test_it_stands_without_the_site():
    blocked = "import sys; sys.modules['django'] = None; import review.forecast, review.record.seen"
    done = subprocess.run(
        [sys.executable, "-c", blocked], cwd=Path(__file__).parents[1], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
