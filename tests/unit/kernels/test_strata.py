import math

import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels import strata


def test_one_stratum_is_the_plain_two_by_two_table():
    fit = strata.risk(count_a=12, trials_a=100, count_b=6, trials_b=120)
    assert fit.odds_ratio == pytest.approx((12 * 114) / (6 * 88))
    assert fit.risk_ratio == pytest.approx(0.12 / 0.05)
    assert fit.risk_difference == pytest.approx(0.07)
    assert (fit.homogeneity_degrees, fit.strata_used) == (0, 1)
    assert math.isnan(fit.homogeneity_p)


def test_strata_seen_in_one_group_only_drop_out():
    alone = strata.risk(count_a=[4, 3], trials_a=[50, 60], count_b=[2, 1], trials_b=[40, 30])
    more = strata.risk(
        count_a=[4, 3, 9, 0],
        trials_a=[50, 60, 9, 0],
        count_b=[2, 1, 0, 5],
        trials_b=[40, 30, 0, 70],
    )
    assert more == alone


def test_the_risk_difference_uses_strata_without_events():
    fit = strata.risk(count_a=[5, 0], trials_a=[50, 50], count_b=[0, 0], trials_b=[50, 50])
    assert fit.risk_difference == pytest.approx(0.05)
    assert (fit.strata_used, fit.strata_informative) == (2, 1)


def test_events_in_one_group_only_give_ratios_without_bounds():
    fit = strata.risk(count_a=[3, 2], trials_a=[50, 50], count_b=[0, 0], trials_b=[50, 50])
    assert fit.odds_ratio == fit.risk_ratio == math.inf
    assert np.isnan([fit.odds_ratio_lower, fit.odds_ratio_upper, fit.risk_ratio_upper]).all()
    assert math.isnan(fit.homogeneity_p)
    assert math.isfinite(fit.cmh_p)
    turned = strata.risk(count_a=[0, 0], trials_a=[50, 50], count_b=[3, 2], trials_b=[50, 50])
    assert turned.odds_ratio == turned.risk_ratio == 0
    assert math.isnan(turned.risk_ratio_lower)


def test_no_events_leave_a_difference_of_nil_without_false_certainty():
    fit = strata.risk(count_a=[0], trials_a=[50], count_b=[0], trials_b=[50])
    assert fit.risk_difference == 0
    assert np.isnan([fit.risk_difference_lower, fit.odds_ratio, fit.risk_ratio, fit.cmh_p]).all()
    rates = strata.rate(count_a=[0], exposure_a=[5.0], count_b=[0], exposure_b=[5.0])
    assert rates.rate_difference == 0
    assert np.isnan([rates.rate_difference_upper, rates.rate_ratio, rates.p_value]).all()


def test_all_defective_strata_count_in_the_risk_ratio():
    fit = strata.risk(count_a=[5, 1], trials_a=[5, 10], count_b=[5, 4], trials_b=[5, 10])
    # (5 * 5 / 10 + 1 * 10 / 20) / (5 * 5 / 10 + 4 * 10 / 20)
    assert fit.risk_ratio == pytest.approx(3.0 / 4.5)
    assert fit.strata_informative == 1


def test_nothing_comparable_says_nothing():
    fit = strata.risk(count_a=[1], trials_a=[5], count_b=[0], trials_b=[0])
    assert fit.strata_used == 0
    assert np.isnan([fit.odds_ratio, fit.risk_difference, fit.cmh_p, fit.homogeneity_p]).all()
    rates = strata.rate(count_a=[], exposure_a=[], count_b=[], exposure_b=[])
    assert np.isnan([rates.rate_ratio, rates.rate_difference, rates.homogeneity_p]).all()


def test_rates_of_one_stratum():
    fit = strata.rate(count_a=11, exposure_a=800, count_b=21, exposure_b=3011)
    assert fit.rate_ratio == pytest.approx(11 / 800 / (21 / 3011))
    # The log variance of one stratum is 1/11 + 1/21.
    assert fit.rate_ratio_log_se == pytest.approx(math.sqrt(1 / 11 + 1 / 21))
    assert fit.rate_difference_se == pytest.approx(math.sqrt(11 / 800**2 + 21 / 3011**2))


def test_unlike_strata_are_told_apart():
    like = strata.rate(count_a=[20, 40], exposure_a=[10, 10], count_b=[10, 20], exposure_b=[10, 10])
    unlike = strata.rate(
        count_a=[20, 20], exposure_a=[10, 10], count_b=[10, 80], exposure_b=[10, 10]
    )
    assert like.homogeneity_chi2 == pytest.approx(0, abs=1e-12)
    assert unlike.homogeneity_p < 0.001
    assert like.homogeneity_degrees == 1


def test_one_group_with_all_the_events_has_no_homogeneity():
    fit = strata.rate(count_a=[3, 4], exposure_a=[9, 9], count_b=[0, 0], exposure_b=[9, 9])
    assert fit.rate_ratio == math.inf
    assert fit.homogeneity_degrees == 1
    assert math.isnan(fit.homogeneity_p)


def test_expected_events_fit_the_odds_ratio_where_few_are_left():
    """A stratum with nearly all pieces defective takes the other form of the root."""
    fit = strata.risk(
        count_a=[2, 40, 30], trials_a=[60, 60, 32], count_b=[40, 58, 31], trials_b=[60, 60, 32]
    )
    assert 0 < fit.homogeneity_p < 1


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({"count_a": [9]}, "count_a cannot exceed trials_a; got 9 in 5"),
        ({"count_b": [-1]}, "count_b must not be negative"),
        ({"count_a": [1, 2, 3], "trials_a": [5, 5, 5]}, "do not fit together"),
        ({"count_a": [[1], [2]], "trials_a": [[5], [5]]}, "one line of points"),
        ({"level": 95}, "level must lie between 0 and 1"),
    ],
)
def test_what_cannot_be_true_is_refused(arguments, says):
    usual = {"count_a": [1], "trials_a": [5], "count_b": [1, 0], "trials_b": [5, 5]}
    with pytest.raises(KernelError, match=says):
        strata.risk(**{**usual, **arguments})
