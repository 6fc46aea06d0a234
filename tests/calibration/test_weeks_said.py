"""Weeks in which nothing happened are seldom called, also where single runs go far astray.

Small; ``tests/benchmarks/bench_calibration.py --questions weeks`` is the full size. Before skewness
was allowed for, one long-tailed week in seven was called.
"""

import pytest
from week_measures import week_summary, weeks_in_shops

pytestmark = pytest.mark.slow


def test_quiet_weeks_of_long_tailed_runs_are_seldom_called():
    found = weeks_in_shops(
        shops=range(501, 507), long_tails=True, runs_a_week=40, weeks=52, every=6
    )
    assert week_summary(found).some_more <= 13.0


def test_bad_weeks_are_found():
    found = weeks_in_shops(
        shops=range(501, 504), long_tails=False, runs_a_week=40, weeks=52, every=6, times=2.5
    )
    assert week_summary(found).bad_found >= 80.0
