"""A small week of a whole team: nobody is given the same hour twice, and no frame is lost. The week of 1,000 hours is
`python -m tests.bench.bench_week`."""

from datetime import timedelta

import pytest

from review.models import Stint
from tests.bench.week import Week


@pytest.mark.django_db
def test_it_works():
    week = Week(hours=12, clips=90, loggers=5, days=2)
    week.loggers[1].ill_from = week.now + timedelta(hours=4)
    report = week.run()
    week.refuse_doubled_stints()
    week.refuse_lost_frames()
    assert report.splits == 3 and report.selects > 20
    assert len({stint.logger_id for stint in Stint.objects.all()}) == 5
    assert report.shares[0] < 1.05  # later ones count what was begun, which stays where it is
