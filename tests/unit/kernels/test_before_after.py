"""The rate since a change against the rate before it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels.before_after import before_after
from logbook.kernels.intervals import proportion_difference, rate


def test_even_weeks_give_the_published_difference_of_two_proportions() -> None:
    # Newcombe (1998), Stat Med 17:873-890, table II, case (a), method 10: 56/70 less 48/80 is
    # 0.2, from 0.0524 to 0.3339.
    found = before_after(
        count_before=[48], exposure_before=[80], count_after=[56], exposure_after=[70],
        measure="pieces",
    )  # fmt: skip
    assert found.difference == pytest.approx(0.2)
    assert (found.lower, found.upper) == pytest.approx((0.0524, 0.3339), abs=5e-5)
    assert (found.dispersion, found.degrees_of_freedom) == (1.0, 0)


def test_points_that_agree_are_pooled_as_they_stand() -> None:
    found = before_after(
        count_before=[3, 3, 3, 3], exposure_before=[100] * 4, count_after=[1, 1],
        exposure_after=[100] * 2, measure="pieces",
    )  # fmt: skip
    plain = proportion_difference(count_a=2, trials_a=200, count_b=12, trials_b=400)
    assert (found.lower, found.upper) == pytest.approx((plain.lower, plain.upper))
    assert found.dispersion == 1.0


def test_restless_weeks_widen_the_doubt() -> None:
    even = before_after(
        count_before=[10] * 6, exposure_before=[200] * 6, count_after=[4] * 2,
        exposure_after=[200] * 2, measure="pieces",
    )  # fmt: skip
    restless = before_after(
        count_before=[0, 20] * 3, exposure_before=[200] * 6, count_after=[4] * 2,
        exposure_after=[200] * 2, measure="pieces",
    )  # fmt: skip
    # By hand: six times (10 - 0)²/(200 · 0.05 · 0.95) = 63.158 on 5 degrees, 0 on 1 since.
    assert restless.dispersion == pytest.approx(6 * 100 / (200 * 0.05 * 0.95) / 6)
    assert restless.degrees_of_freedom == 6
    assert restless.difference == pytest.approx(even.difference)
    assert even.upper < 0 < restless.upper
    assert restless.upper - restless.lower > 3 * (even.upper - even.lower)


def test_events_join_the_exact_bounds_of_both_rates() -> None:
    found = before_after(
        count_before=[20], exposure_before=[1e6], count_after=[0], exposure_after=[5e5],
        measure="events",
    )  # fmt: skip
    old, new = rate(count=20, exposure=1e6), rate(count=0, exposure=5e5)
    assert found.upper == pytest.approx(-2e-5 + math.hypot(new.upper, 2e-5 - old.lower))
    assert found.lower == pytest.approx(-2e-5 - (old.upper - 2e-5))


def test_a_side_without_anything_says_nothing() -> None:
    found = before_after(
        count_before=[3], exposure_before=[100], count_after=np.array([]),
        exposure_after=np.array([]), measure="pieces",
    )  # fmt: skip
    assert found.rate_before == pytest.approx(0.03)
    assert math.isnan(found.rate_after)
    assert math.isnan(found.lower)
    assert math.isnan(found.upper)


def test_the_interval_covers_as_it_promises_where_weeks_differ() -> None:
    """Rates of weeks vary (beta-binomial, three times the variance of counting), none changed."""
    draw = np.random.default_rng(20261)
    missed, worlds = 0, 2000
    for _ in range(worlds):
        rates = draw.beta(0.04 * 79, 0.96 * 79, size=15)
        counts = draw.binomial(160, rates)
        found = before_after(
            count_before=counts[:12], exposure_before=[160] * 12, count_after=counts[12:],
            exposure_after=[160] * 3, measure="pieces",
        )  # fmt: skip
        missed += not found.lower <= 0 <= found.upper
    assert 0.02 < missed / worlds < 0.075


def test_what_cannot_be_true_is_refused() -> None:
    with pytest.raises(KernelError, match="cannot exceed"):
        before_after(
            count_before=[3], exposure_before=[2], count_after=[0], exposure_after=[1],
            measure="pieces",
        )  # fmt: skip
    with pytest.raises(KernelError, match="between 0 and 1"):
        before_after(
            count_before=[1], exposure_before=[2], count_after=[0], exposure_after=[1],
            measure="pieces", level=95,
        )  # fmt: skip
