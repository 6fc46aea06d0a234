import math

import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels import limits


def test_centre_is_the_sum_over_the_sum_not_the_mean_of_the_rates():
    fit = limits.chart(count=[1, 0], exposure=[10, 990], measure="pieces")
    assert fit.centre == 0.001


def test_fractional_exposure_is_kept():
    fit = limits.chart(count=[1, 2], exposure=[0.25, 0.5], measure="events")
    assert fit.centre == 4.0
    np.testing.assert_allclose(fit.upper, 4 + 3 * np.sqrt(4 / np.array([0.25, 0.5])))


def test_limits_are_floored_at_zero_and_capped_at_one_for_pieces_only():
    pieces = limits.chart(count=[9, 9, 9], exposure=[10, 10, 10], measure="pieces")
    assert pieces.upper.tolist() == [1, 1, 1]
    events = limits.chart(count=[9, 9, 9], exposure=[1, 1, 1], measure="events")
    assert events.upper[0] == 18
    assert limits.chart(count=[1, 2], exposure=1, measure="events").lower.tolist() == [0, 0]


def test_a_point_without_exposure_has_no_limits_and_is_never_beyond():
    fit = limits.chart(
        count=[10, 0, 10, 10, 40], exposure=[100, 0, 100, 100, 100], measure="pieces"
    )
    assert np.isnan([fit.rate[1], fit.lower[1], fit.upper[1], fit.z[1]]).all()
    assert fit.beyond.tolist() == [False] * 4 + [True]
    assert fit.centre == 0.175


def test_moving_ranges_skip_points_without_exposure():
    whole = limits.chart(count=[3, 9, 4, 8], exposure=10.0, measure="events", spread="laney")
    gap = limits.chart(
        count=[3, 9, 0, 4, 8], exposure=[10, 10, 0, 10, 10], measure="events", spread="laney"
    )
    assert float(gap.sigma_z) == pytest.approx(float(whole.sigma_z))


def test_the_baseline_alone_sets_centre_and_sigma_z():
    count, exposure = np.array([4, 6, 5, 7, 40, 50]), np.full(6, 100)
    first = np.arange(6) < 4
    for spread in ("plain", "laney"):
        fit = limits.chart(
            count=count, exposure=exposure, measure="pieces", spread=spread, baseline=first
        )
        alone = limits.chart(
            count=count[first], exposure=exposure[first], measure="pieces", spread=spread
        )
        assert float(fit.centre) == float(alone.centre)
        assert float(fit.sigma_z) == float(alone.sigma_z)
        np.testing.assert_array_equal(fit.upper[first], alone.upper)
    assert fit.beyond.tolist() == [False] * 4 + [True] * 2


def test_rounding_does_not_put_steady_points_on_one_side():
    # 0.1 + 0.2 > 0.3 in binary: the pooled rate differs from equal rates in the last digit.
    exposure = np.array([0.1, 0.2, 0.3, 0.7, 0.9, 1.1, 1.3, 1.7, 1.9])
    fit = limits.chart(count=exposure * 3, exposure=exposure, measure="events")
    assert fit.z.tolist() == [0] * 9
    assert not limits.run_signals(z=fit.z).run_of_8.any()


def test_a_steady_series_has_primed_limits_of_no_width_and_nothing_beyond():
    fit = limits.chart(count=[2, 2, 2], exposure=[10, 10, 10], measure="pieces", spread="laney")
    assert fit.sigma_z == 0
    assert fit.lower.tolist() == fit.upper.tolist() == [0.2] * 3
    assert not fit.beyond.any()


def test_a_defect_after_a_spotless_baseline_is_beyond():
    fit = limits.chart(
        count=[0, 0, 0, 1],
        exposure=[50, 50, 50, 50],
        measure="pieces",
        baseline=np.array([True, True, True, False]),
    )
    assert fit.centre == 0
    assert fit.beyond.tolist() == [False, False, False, True]
    assert fit.z.tolist() == [0, 0, 0, math.inf]


def test_a_tiny_rate_after_a_spotless_baseline_is_not_rounded_away():
    fit = limits.chart(
        count=[0, 1],
        exposure=[10.0, 1e10],
        measure="events",
        baseline=np.array([True, False]),
    )
    assert fit.beyond.tolist() == [False, True]


def test_all_defective_is_a_centre_of_one_with_nothing_beyond():
    fit = limits.chart(count=[5, 7], exposure=[5, 7], measure="pieces")
    assert fit.centre == 1
    assert fit.lower.tolist() == [1, 1]
    assert not fit.beyond.any()


def test_nothing_inspected_at_all():
    fit = limits.chart(count=[0, 0], exposure=[0, 0], measure="events", spread="laney")
    assert math.isnan(fit.centre)
    assert math.isnan(fit.sigma_z)
    assert not fit.beyond.any()
    assert limits.chart(count=[], exposure=[], measure="events").beyond.shape == (0,)


def test_one_point_has_no_sigma_z():
    fit = limits.chart(count=[3], exposure=[50], measure="pieces", spread="laney")
    assert math.isnan(fit.sigma_z)
    assert math.isnan(fit.upper[0])
    assert not fit.beyond[0]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({"measure": "metres"}, "no measure called 'metres'"),
        ({"spread": "wide"}, "no spread called 'wide'"),
        ({"count": [3, 11]}, "count cannot exceed exposure; got 11 in 10 at index 1"),
        ({"count": [[1, 2]]}, "count must be one line of points"),
        ({"baseline": np.array([False, False])}, "baseline marks no point"),
        ({"baseline": np.array([True])}, "one True or False a point; got 1 values"),
        ({"baseline": np.array([0, 1])}, "values of type int64"),
        ({"centre": 0.0}, "given centre 0.0"),
        ({"centre": 1.0}, "given centre 1.0"),
    ],
)
def test_what_cannot_be_drawn_is_refused(arguments, says):
    usual = {"count": [1, 2], "exposure": [10, 10], "measure": "pieces"}
    with pytest.raises(KernelError, match=says):
        limits.chart(**{**usual, **arguments})


def test_spread_is_plain_where_counting_alone_explains_the_points():
    choice = limits.choose_spread(
        count=[12, 8, 6, 9, 10, 12, 11, 16, 10, 6], exposure=100, measure="pieces"
    )
    assert choice.spread == "plain"
    assert choice.reason.startswith("Plain limits: the 10 points show")


def test_spread_is_primed_where_points_differ_from_their_neighbours():
    choice = limits.choose_spread(
        count=[20, 60, 15, 70, 25, 55, 10, 65], exposure=500, measure="pieces"
    )
    assert choice.spread == "laney"
    assert choice.sigma_z > 1
    assert "more than chance explains" in choice.reason


def test_a_change_of_level_does_not_widen_the_limits_that_should_show_it():
    choice = limits.choose_spread(
        count=[20, 21, 20, 22, 21, 20, 60, 61, 60, 62, 61, 60], exposure=1000, measure="pieces"
    )
    assert choice.overdispersion.p_value < 0.01
    assert choice.spread == "plain"
    assert "a change of level" in choice.reason


def test_spread_is_plain_where_nothing_was_counted():
    choice = limits.choose_spread(count=[0, 0], exposure=[40, 40], measure="pieces")
    assert choice.spread == "plain"
    assert "too little was counted" in choice.reason


def test_centre_is_an_array_and_a_number() -> None:
    fit = limits.chart(count=[1, 2, 3], exposure=[100, 100, 100], measure="pieces")
    assert fit.centre.shape == fit.rate.shape
    assert float(fit.centre) == fit.centre[0] == pytest.approx(0.02)
    assert abs(fit.centre - 0.02) < 1e-12
    assert f"{fit.centre:.2f}" == "0.02"
