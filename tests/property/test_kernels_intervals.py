"""What holds for every interval, whatever was counted."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from logbook.kernels import intervals

METHODS = st.sampled_from(["wilson", "exact", "jeffreys"])
DIFFERENCES = st.sampled_from(["newcombe", "miettinen_nurminen"])
LEVELS = st.floats(0.5, 0.999)
SLACK = 1e-9


@st.composite
def sample(draw):
    trials = draw(st.integers(1, 5000))
    return draw(st.integers(0, trials)), trials


@given(sample(), METHODS, LEVELS)
def test_a_proportion_lies_in_its_interval_and_both_between_0_and_1(counted, method, level):
    count, trials = counted
    fit = intervals.proportion(count=count, trials=trials, level=level, method=method)
    assert 0 <= fit.lower <= fit.estimate + SLACK
    assert fit.estimate - SLACK <= fit.upper <= 1


@given(sample(), METHODS, LEVELS, LEVELS)
def test_more_confidence_takes_a_wider_interval(counted, method, one, other):
    count, trials = counted
    low, high = sorted((one, other))
    narrow = intervals.proportion(count=count, trials=trials, level=low, method=method)
    wide = intervals.proportion(count=count, trials=trials, level=high, method=method)
    assert wide.lower <= narrow.lower + SLACK
    assert wide.upper >= narrow.upper - SLACK


@given(sample(), METHODS)
def test_counting_the_good_pieces_mirrors_the_interval(counted, method):
    count, trials = counted
    bad = intervals.proportion(count=count, trials=trials, method=method)
    good = intervals.proportion(count=trials - count, trials=trials, method=method)
    np.testing.assert_allclose([1 - good.upper, 1 - good.lower], [bad.lower, bad.upper], atol=1e-9)


@given(st.lists(sample(), min_size=1, max_size=6), METHODS)
def test_an_array_gives_what_its_elements_give(counted, method):
    count, trials = np.array(counted).T
    together = intervals.proportion(count=count, trials=trials, method=method)
    apart = [intervals.proportion(count=x, trials=n, method=method) for x, n in counted]
    np.testing.assert_allclose(together.lower, [fit.lower for fit in apart], rtol=1e-12)
    np.testing.assert_allclose(together.upper, [fit.upper for fit in apart], rtol=1e-12)


@given(st.integers(0, 10**6), st.floats(1e-3, 1e9), st.floats(1e-3, 1e6))
def test_exposure_times_k_divides_a_rate_by_k(count, exposure, k):
    fit = intervals.rate(count=count, exposure=exposure)
    scaled = intervals.rate(count=count, exposure=exposure * k)
    expected = np.array([fit.estimate, fit.lower, fit.upper]) / k
    np.testing.assert_allclose([scaled.estimate, scaled.lower, scaled.upper], expected, rtol=1e-12)
    assert fit.lower <= fit.estimate <= fit.upper


@given(sample(), sample(), DIFFERENCES, LEVELS)
def test_swapping_the_groups_negates_the_difference(a, b, method, level):
    one = intervals.proportion_difference(
        count_a=a[0], trials_a=a[1], count_b=b[0], trials_b=b[1], level=level, method=method
    )
    other = intervals.proportion_difference(
        count_a=b[0], trials_a=b[1], count_b=a[0], trials_b=a[1], level=level, method=method
    )
    np.testing.assert_allclose(
        [-other.difference, -other.upper, -other.lower],
        [one.difference, one.lower, one.upper],
        atol=1e-6,
    )
    assert -1 <= one.lower <= one.difference + SLACK
    assert one.difference - SLACK <= one.upper <= 1
