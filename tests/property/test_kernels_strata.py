"""What holds for every comparison over strata."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from logbook.kernels import strata

TRIALS = st.integers(0, 300)


@st.composite
def tables(draw):
    rows = draw(st.lists(st.tuples(TRIALS, TRIALS), min_size=1, max_size=8))
    return np.array(
        [(draw(st.integers(0, n1)), n1, draw(st.integers(0, n0)), n0) for n1, n0 in rows]
    ).T


def risk(table):
    x1, n1, x0, n0 = table
    return strata.risk(count_a=x1, trials_a=n1, count_b=x0, trials_b=n0)


def rate(table, k=1.0):
    x1, t1, x0, t0 = table
    return strata.rate(
        count_a=np.where(t1 > 0, x1, 0),
        exposure_a=t1 * k,
        count_b=np.where(t0 > 0, x0, 0),
        exposure_b=t0 * k,
    )


def same(one, other):
    np.testing.assert_allclose(one, other, rtol=1e-8, atol=1e-10)


def inverse(ratio):
    return np.inf if ratio == 0 else 1 / ratio


@given(tables())
def test_swapping_the_groups_negates_differences_and_inverts_ratios(table):
    one, other = risk(table), risk(table[[2, 3, 0, 1]])
    same(-other.risk_difference, one.risk_difference)
    same(-other.risk_difference_upper, one.risk_difference_lower)
    same(inverse(other.odds_ratio), one.odds_ratio)
    same(inverse(other.odds_ratio_upper), one.odds_ratio_lower)
    same(inverse(other.risk_ratio), one.risk_ratio)
    same(inverse(other.risk_ratio_upper), one.risk_ratio_lower)
    same(other.cmh_p, one.cmh_p)
    same(other.homogeneity_chi2, one.homogeneity_chi2)


@given(tables())
def test_swapping_the_groups_turns_rates_too(table):
    one, other = rate(table), rate(table[[2, 3, 0, 1]])
    same(-other.rate_difference, one.rate_difference)
    same(inverse(other.rate_ratio), one.rate_ratio)
    same(inverse(other.rate_ratio_upper), one.rate_ratio_lower)
    same(other.homogeneity_chi2, one.homogeneity_chi2)


@given(tables(), st.randoms(use_true_random=False))
def test_the_order_of_strata_does_not_matter(table, random):
    order = list(range(table.shape[1]))
    random.shuffle(order)
    for compare in (risk, rate):
        straight, shuffled = compare(table), compare(table[:, order])
        for name in straight.__slots__:
            same(getattr(shuffled, name), getattr(straight, name))


@given(tables())
def test_counting_the_good_pieces_inverts_the_odds_ratio(table):
    x1, n1, x0, n0 = table
    bad, good = risk(table), risk(np.array([n1 - x1, n1, n0 - x0, n0]))
    same(inverse(good.odds_ratio), bad.odds_ratio)
    same(-good.risk_difference, bad.risk_difference)
    same(good.homogeneity_chi2, bad.homogeneity_chi2)


@given(tables())
def test_an_estimate_lies_within_its_bounds(table):
    fit = risk(table)
    for name in ("odds_ratio", "risk_ratio", "risk_difference"):
        lower, upper = getattr(fit, f"{name}_lower"), getattr(fit, f"{name}_upper")
        assert np.isnan(lower) or lower <= getattr(fit, name) <= upper


@given(tables(), st.floats(0.01, 100))
def test_exposure_times_k_leaves_ratios_and_divides_differences(table, k):
    fit, scaled = rate(table), rate(table, k)
    same(scaled.rate_ratio, fit.rate_ratio)
    same(scaled.rate_ratio_upper, fit.rate_ratio_upper)
    same(scaled.rate_difference * k, fit.rate_difference)
    same(scaled.rate_difference_upper * k, fit.rate_difference_upper)


@given(tables(), st.integers(2, 5))
def test_equal_strata_give_what_one_of_them_gives(table, copies):
    one, many = risk(table[:, :1]), risk(np.repeat(table[:, :1], copies, axis=1))
    same(many.odds_ratio, one.odds_ratio)
    same(many.risk_ratio, one.risk_ratio)
    same(many.risk_difference, one.risk_difference)
