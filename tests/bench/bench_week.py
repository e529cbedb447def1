"""A week of 1,000 hours in 6,000 clips, watched by 25 loggers of different paces, on rows alone.

    python -m tests.bench.bench_week [--hours 1000] [--clips 6000] [--loggers 25]

At its end every frame is accounted for, no stretch was given to two people, and what was forecast in the middle of
the week stands beside what came.
"""

import argparse
import os
import time
from datetime import timedelta

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.db import connection

from review.forecast import Forecast
from review.models import Activity, Clip, Select, Stint, WatchedRange
from review.record import coverage
from tests.bench.week import Week

KEPT = {Select: "selects", WatchedRange: "ranges", Activity: "deeds"}
MIDDLE = 3  # days lived through when the forecast is asked for


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("--hours", type=float, default=1000)
    reader.add_argument("--clips", type=int, default=6000)
    reader.add_argument("--loggers", type=int, default=25)
    reader.add_argument("--days", type=int, default=7)
    wanted = reader.parse_args()
    connection.creation.create_test_db(verbosity=0)
    try:
        live(wanted)
    finally:
        connection.creation.destroy_test_db(str(connection.settings_dict["NAME"]), verbosity=0)


def live(wanted: argparse.Namespace) -> None:
    week = Week(hours=wanted.hours, clips=wanted.clips, loggers=wanted.loggers, days=wanted.days)
    week.loggers[len(week.loggers) // 2].ill_from = week.now + timedelta(days=2, hours=5)
    begun = time.process_time()
    told: list[Forecast | None] = []

    def morning(week: Week, day: int) -> None:
        total = coverage.total(coverage.by_card(week.production).values())
        print(
            f"day {day + 1}: {float(total.shot) / 3600:7.1f} h shot, {float(total.unwatched) / 3600:7.1f} h unwatched, "
            f"{week.report.batches:,} reports, {time.process_time() - begun:,.0f} s of CPU",
            flush=True,
        )
        if day == MIDDLE:
            told.append(week.forecast())

    report = week.run(morning)
    week.refuse_doubled_stints()
    week.refuse_lost_frames()
    total = coverage.total(coverage.by_card(week.production).values())
    worked = sum(each.worked for each in week.loggers)
    print(
        f"\n{float(total.shot) / 3600:,.1f} h in {Clip.objects.count():,} clips; {len(week.loggers)} loggers, one ill"
    )
    print(f"watched {float(total.watched) / 3600:,.1f} h, skimmed {float(total.skimmed) / 3600:,.1f} h, unwatched 0")
    print(f"in {worked:,.0f} h of work; the last frame {report.done_at:%a %d %b %H:%M}")
    print(", ".join(f"{each.objects.count():,} {words}" for each, words in KEPT.items()))
    print(f"{Stint.objects.count():,} stints from {report.splits} splits; the longest share of each to the mean:")
    print("  " + ", ".join(f"{share:.3f}" for share in report.shares))
    for said in told:
        dates = [f"{day:%a %d %b}" if day else "never" for day in (said.early, said.likely, said.late)] if said else []
        print(f"forecast in the middle of the week: {dates[1]}, between {dates[0]} and {dates[2]}" if dates else "none")
    print(f"{time.process_time() - begun:,.0f} s of CPU, {report.batches:,} reports of watching")


if __name__ == "__main__":
    main()
