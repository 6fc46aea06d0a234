import math

import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels import intervals


def test_single_numbers_give_plain_floats():
    fit = intervals.proportion(count=3, trials=40)
    assert (type(fit.estimate), type(fit.lower), type(fit.upper)) == (float, float, float)
    assert fit.level == 0.95


def test_a_scalar_broadcasts_against_an_array():
    fit = intervals.rate(count=np.array([0, 5]), exposure=1000.0)
    assert fit.lower.shape == (2,)
    assert fit.lower[0] == 0


@pytest.mark.parametrize("method", ["wilson", "exact", "jeffreys"])
def test_nothing_inspected_says_nothing(method):
    fit = intervals.proportion(count=[0, 1], trials=[0, 10], method=method)
    assert np.isnan([fit.estimate[0], fit.lower[0], fit.upper[0]]).all()
    assert np.isfinite([fit.estimate[1], fit.lower[1], fit.upper[1]]).all()


@pytest.mark.parametrize("method", ["wilson", "exact", "jeffreys"])
def test_none_and_all_defective_reach_the_ends_exactly(method):
    fit = intervals.proportion(count=[0, 20], trials=[20, 20], method=method)
    assert fit.lower[0] == 0
    assert fit.upper[1] == 1


def test_wilson_lower_limit_of_a_rare_defect_keeps_its_digits():
    # (1 + z^2/2 - z sqrt(1 + z^2/4)) / n to first order: the Poisson score limit.
    z = 1.959963984540054
    poisson = 1 + z**2 / 2 - z * math.sqrt(1 + z**2 / 4)
    fit = intervals.proportion(count=1, trials=10**9)
    assert fit.lower * 10**9 == pytest.approx(poisson, rel=1e-7)


def test_no_exposure_says_nothing_and_no_events_start_at_zero():
    assert math.isnan(intervals.rate(count=0, exposure=0).upper)
    fit = intervals.rate(count=0, exposure=2.0)
    assert fit.lower == 0
    # With no events the upper limit is -log(0.025) / exposure.
    assert fit.upper == pytest.approx(-math.log(0.025) / 2)


@pytest.mark.parametrize("method", ["newcombe", "miettinen_nurminen"])
def test_difference_with_an_empty_group_says_nothing(method):
    fit = intervals.proportion_difference(
        count_a=0, trials_a=0, count_b=1, trials_b=9, method=method
    )
    assert np.isnan([fit.difference, fit.lower, fit.upper]).all()


@pytest.mark.parametrize("method", ["newcombe", "miettinen_nurminen"])
def test_difference_stays_within_minus_one_and_one(method):
    fit = intervals.proportion_difference(
        count_a=[1, 0, 3],
        trials_a=[1, 1, 3],
        count_b=[0, 1, 0],
        trials_b=[1, 1, 900],
        method=method,
    )
    assert (fit.lower >= -1).all()
    assert (fit.upper <= 1).all()
    assert (fit.lower <= fit.difference).all()
    assert (fit.difference <= fit.upper).all()


@pytest.mark.parametrize(
    ("count", "trials", "says"),
    [
        (-1, 10, "count must not be negative; got -1"),
        ([1, 12], [10, 10], "count cannot exceed trials; got 12 in 10 at index 1"),
        (math.nan, 10, "count must be finite; got nan"),
        (1, math.inf, "trials must be finite; got inf"),
        ([1, 2], [10, 10, 10], r"do not fit together: count \(2,\), trials \(3,\)"),
        ("many", 10, "count must be numbers; got 'many'"),
    ],
)
def test_what_cannot_be_true_is_refused_in_a_sentence(count, trials, says):
    with pytest.raises(KernelError, match=says):
        intervals.proportion(count=count, trials=trials)


def test_events_over_no_exposure_are_refused():
    with pytest.raises(KernelError, match="count cannot exceed exposure; got 2 in 0"):
        intervals.rate(count=2, exposure=0)


@pytest.mark.parametrize("level", [0, 1, 95, math.nan])
def test_a_level_is_a_fraction(level):
    with pytest.raises(KernelError, match="level must lie between 0 and 1"):
        intervals.rate(count=1, exposure=2, level=level)


def test_unknown_methods_are_refused():
    with pytest.raises(KernelError, match="no interval called 'wald' for a proportion"):
        intervals.proportion(count=1, trials=2, method="wald")
    with pytest.raises(KernelError, match="no interval called 'wald' for a difference"):
        intervals.proportion_difference(count_a=1, trials_a=2, count_b=1, trials_b=2, method="wald")


def test_kernel_errors_are_value_errors_with_a_hint():
    with pytest.raises(ValueError, match="hint: Check that the two were not swapped"):
        intervals.proportion(count=40, trials=3)
