import math

import numpy as np

from logbook.kernels import limits


def test_dispersion_cannot_be_judged_without_counts_or_with_one_point():
    for count, exposure in [([0, 0, 0], 20), ([20, 20], 20), ([3, 0], [20, 0])]:
        test = limits.overdispersion(count=count, exposure=exposure, measure="pieces")
        assert math.isnan(test.p_value)
        assert math.isnan(test.ratio)


def test_dispersion_outside_the_baseline_does_not_count():
    count, exposure = np.array([5, 6, 4, 90]), np.full(4, 100)
    test = limits.overdispersion(
        count=count, exposure=exposure, measure="pieces", baseline=np.arange(4) < 3
    )
    alone = limits.overdispersion(count=count[:3], exposure=exposure[:3], measure="pieces")
    assert test == alone


def test_small_counts_correct_the_p_value_where_exposures_are_uneven():
    rng = np.random.default_rng(11)
    false_alarms = {"p_value": 0, "p_value_small_counts": 0}
    for _ in range(2000):
        exposure = rng.lognormal(0, 1.2, 40)
        count = rng.poisson(0.4 * exposure)
        test = limits.overdispersion(count=count, exposure=exposure, measure="events")
        for name in false_alarms:
            false_alarms[name] += getattr(test, name) < 0.01
    # 1 % of 2000 is 20; chi-square gives several times that, the correction about 30.
    assert false_alarms["p_value"] > 100
    assert false_alarms["p_value_small_counts"] < 50
