"""What holds for every control chart and every run rule."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from logbook.kernels import limits

MEASURES = st.sampled_from(["pieces", "events"])
SPREADS = st.sampled_from(["plain", "laney"])


@st.composite
def series(draw, smallest=0):
    exposure = draw(st.lists(st.integers(smallest, 400), min_size=1, max_size=40))
    count = [draw(st.integers(0, n)) for n in exposure]
    return np.array(count, dtype=float), np.array(exposure, dtype=float)


@given(series(), MEASURES, SPREADS)
def test_beyond_is_outside_the_limits_up_to_rounding(points, measure, spread):
    fit = limits.chart(count=points[0], exposure=points[1], measure=measure, spread=spread)
    seen = ~np.isnan(fit.upper)
    rate, lower, upper = fit.rate[seen], fit.lower[seen], fit.upper[seen]
    outside = np.maximum(rate - upper, lower - rate)
    width = 1e-8 * (1 + upper)
    assert fit.beyond[seen][outside > width].all()
    assert not fit.beyond[seen][outside < -width].any()
    assert not fit.beyond[~seen].any()
    assert (lower >= 0).all()
    assert (lower <= upper).all()
    np.testing.assert_array_equal(fit.beyond, np.abs(fit.z) > 3)


@given(series(), st.floats(1e-3, 1e3), SPREADS)
def test_exposure_times_k_divides_rates_and_limits_by_k(points, k, spread):
    count, exposure = points
    fit = limits.chart(count=count, exposure=exposure, measure="events", spread=spread)
    scaled = limits.chart(count=count, exposure=exposure * k, measure="events", spread=spread)
    np.testing.assert_allclose(scaled.upper * k, fit.upper, rtol=1e-9)
    np.testing.assert_allclose(scaled.centre * k, fit.centre, rtol=1e-9)
    np.testing.assert_allclose(scaled.sigma_z, fit.sigma_z, rtol=1e-9)


@given(series(smallest=1))
def test_counting_the_good_pieces_mirrors_the_chart(points):
    count, exposure = points
    bad = limits.chart(count=count, exposure=exposure, measure="pieces")
    good = limits.chart(count=exposure - count, exposure=exposure, measure="pieces")
    np.testing.assert_allclose(1 - good.upper, bad.lower, atol=1e-9)
    np.testing.assert_allclose(1 - good.centre, bad.centre, atol=1e-9)


@given(series(), MEASURES, st.randoms(use_true_random=False))
def test_dispersion_does_not_depend_on_the_order(points, measure, random):
    order = list(range(points[0].size))
    random.shuffle(order)
    straight = limits.overdispersion(count=points[0], exposure=points[1], measure=measure)
    shuffled = limits.overdispersion(
        count=points[0][order], exposure=points[1][order], measure=measure
    )
    for name in ("statistic", "p_value", "p_value_small_counts", "ratio"):
        np.testing.assert_allclose(
            getattr(shuffled, name), getattr(straight, name), rtol=1e-8, atol=1e-12
        )


Z = st.lists(st.floats(-4, 4) | st.just(float("nan")), max_size=60)


@given(Z)
def test_turning_a_series_upside_down_signals_at_the_same_points(z):
    up, down = limits.run_signals(z=z), limits.run_signals(z=[-value for value in z])
    for rule in up:
        np.testing.assert_array_equal(up[rule], down[rule])


@given(Z, Z)
def test_what_comes_before_a_gap_does_not_change_what_follows(before, after):
    whole = limits.run_signals(z=[*before, float("nan"), *after])
    alone = limits.run_signals(z=after)
    for rule in whole:
        np.testing.assert_array_equal(whole[rule][len(before) + 1 :], alone[rule])


@given(Z, Z)
def test_later_points_never_change_an_earlier_signal(z, later):
    short, long = limits.run_signals(z=z), limits.run_signals(z=[*z, *later])
    for rule in short:
        np.testing.assert_array_equal(long[rule][: len(z)], short[rule])
