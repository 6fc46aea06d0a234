import numpy as np
import pytest
from scipy import stats

from logbook.errors import KernelError
from logbook.kernels.limits import overdispersion
from logbook.kernels.rate_intervals import interval
from logbook.kernels.week_surprise import surprise


def test_a_small_count_is_judged_exactly():
    # Given 9 events in all, a tenth of the stitches: the binomial tail of scipy, doubled.
    got = surprise(count=4, exposure=1e5, count_before=5, exposure_before=9e5, measure="events")
    assert got.p_value[0] == pytest.approx(2 * stats.binom.sf(3, 9, 0.1), rel=1e-12)
    assert got.expected[0] == pytest.approx(5 / 9)
    assert got.excess[0] == pytest.approx(4 - 5 / 9)


def test_a_count_below_usual_is_judged_by_the_lower_tail():
    got = surprise(count=0, exposure=1e5, count_before=40, exposure_before=5e5, measure="events")
    assert got.p_value[0] == pytest.approx(2 * stats.binom.cdf(0, 40, 1 / 6), rel=1e-12)


def test_restless_weeks_before_make_a_count_less_surprising():
    # By hand: pooled rate 100/5000 = 0.02; se = sqrt(4 x 0.02 x 0.98 x (1/1000 + 1/4000)).
    given = {"exposure": 1000, "exposure_before": 4000, "measure": "pieces"}
    got = surprise(
        count=5, count_before=95, dispersion=4.0, degrees_of_freedom=11, **given
    ).p_value[0]
    error = np.sqrt(4 * 0.02 * 0.98 * (1 / 1000 + 1 / 4000))
    assert got == pytest.approx(2 * stats.t.sf((0.02375 - 0.005) / error, 11), rel=1e-12)


def test_high_counts_of_restless_weeks_are_judged_without_their_skewness():
    # By hand: pooled rate 150/5000 = 0.03; a quarter of the variance is counting's, so that the
    # ratio of the rates, 60/22.5, is raised to 1/4 - 1/48.
    got = surprise(
        count=60,
        exposure=1000,
        count_before=90,
        exposure_before=4000,
        measure="pieces",
        dispersion=4.0,
        degrees_of_freedom=11,
    )
    power = 1 / 4 - 1 / 48
    away = ((60 / 22.5) ** power - 1) / power * 0.03
    error = np.sqrt(4 * 0.03 * 0.97 * (1 / 1000 + 1 / 4000))
    assert got.p_value[0] == pytest.approx(2 * stats.t.sf(away / error, 11), rel=1e-12)


@pytest.mark.parametrize(("share", "skewness"), [(1.0, 1.0), (0.0, 3.0)])
def test_the_power_takes_the_skewness_of_counts_and_of_log_normal_sums_away(share, skewness):
    # Skewness over coefficient of variation: 1 for a Poisson count, 3 for a log-normal sum.
    assert 3 * (1 - (share - share**2 / 3)) == pytest.approx(skewness)


@pytest.mark.parametrize("ratio", [0.2, np.nan])
def test_calm_weeks_before_never_make_it_more_surprising(ratio):
    given = {"count": 30, "exposure": 1000, "count_before": 180, "exposure_before": 12000}
    calm = surprise(**given, measure="pieces", dispersion=ratio)
    plain = surprise(**given, measure="pieces")
    assert calm.p_value[0] == plain.p_value[0]


def test_kinds_are_judged_side_by_side():
    got = surprise(
        count=[3, 0, 0],
        exposure=[100, 0, 100],
        count_before=[10, 10, 0],
        exposure_before=[1000, 1000, 1000],
        measure="pieces",
    )
    assert np.isnan(got.p_value).tolist() == [False, True, False]
    assert got.p_value[2] == 1.0


def test_with_nothing_before_nothing_can_be_said():
    got = surprise(count=3, exposure=100, count_before=0, exposure_before=0, measure="pieces")
    assert np.isnan(got.p_value[0])
    assert np.isnan(got.expected[0])


def test_every_piece_defective_before_and_now_is_no_surprise():
    got = surprise(count=9, exposure=9, count_before=50, exposure_before=50, measure="pieces")
    assert got.p_value[0] == 1.0


def test_false_alarms_stay_rare_where_weeks_truly_differ():
    # Steady 3 % with a between-week spread of 30 %: at most 5 % of weeks may surprise at 0.05.
    # 2,000 weeks: standard error half a point, so 6.5 % leaves three of them.
    generator = np.random.default_rng(20261005)
    alarms = 0
    for _ in range(2000):
        pieces = generator.integers(800, 1600, size=27)
        rates = 0.03 * generator.gamma(1 / 0.09, 0.09, size=27)
        counts = generator.binomial(pieces, rates)
        spread = overdispersion(count=counts[:-1], exposure=pieces[:-1], measure="pieces")
        got = surprise(
            count=counts[-1],
            exposure=pieces[-1],
            count_before=counts[-13:-1].sum(),
            exposure_before=pieces[-13:-1].sum(),
            measure="pieces",
            dispersion=spread.ratio,
            degrees_of_freedom=spread.degrees_of_freedom,
        )
        alarms += got.p_value[0] <= 0.05
    assert alarms / 2000 <= 0.065


def test_counts_that_cannot_be_are_refused():
    with pytest.raises(KernelError, match="cannot exceed"):
        surprise(count=5, exposure=4, count_before=1, exposure_before=10, measure="pieces")


def test_the_interval_is_that_of_the_measure():
    # Newcombe (1998), table I, 81 of 263 by Wilson: 0.2553 to 0.3662.
    pieces = interval(count=81, exposure=263, measure="pieces")
    assert (pieces.lower, pieces.upper) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    # Garwood (1936): 10 events in one unit, 4.795 to 18.39.
    events = interval(count=10, exposure=1, measure="events")
    assert (events.lower, events.upper) == pytest.approx((4.795, 18.39), abs=5e-3)


def test_an_unknown_measure_is_refused():
    with pytest.raises(KernelError, match="no measure"):
        interval(count=1, exposure=2, measure="yards")
