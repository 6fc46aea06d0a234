"""What holds for every set of p-values and every trial size."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.kernels import multiplicity, power

P = st.lists(st.floats(0, 1) | st.just(float("nan")), min_size=1, max_size=40)
RATES = st.floats(0.001, 0.5)


@given(P)
def test_q_values_keep_the_order_of_p_values_and_never_fall_below_them(p):
    p = np.array(p)
    tested = ~np.isnan(p)
    for adjust in (multiplicity.false_discovery, multiplicity.holm):
        q = adjust(p_values=p)
        np.testing.assert_array_equal(np.isnan(q), ~tested)
        assert (q[tested] >= p[tested]).all()
        assert (q[tested] <= 1).all()
        assert (np.diff(q[tested][np.argsort(p[tested])]) >= 0).all()


@given(P)
def test_holm_is_never_more_lenient(p):
    q = multiplicity.false_discovery(p_values=p)
    holm = multiplicity.holm(p_values=p)
    assert (holm[~np.isnan(q)] >= q[~np.isnan(q)] - 1e-12).all()


@given(P, st.integers(0, 39), st.floats(0, 1))
def test_a_smaller_p_value_never_raises_a_q_value(p, at, factor):
    p = np.array(p)
    smaller = p.copy()
    smaller[at % p.size] *= factor
    before = multiplicity.false_discovery(p_values=p)
    after = multiplicity.false_discovery(p_values=smaller)
    tested = ~np.isnan(p)
    assert (after[tested] <= before[tested] + 1e-12).all()


@given(P, st.randoms(use_true_random=False))
def test_neither_order_nor_labels_of_families_matter(p, random):
    p = np.array(p)
    family = np.arange(p.size) % 3
    order = list(range(p.size))
    random.shuffle(order)
    straight = multiplicity.false_discovery_by_family(p_values=p, family=family)
    renamed = multiplicity.false_discovery_by_family(p_values=p[order], family=7 - family[order])
    np.testing.assert_allclose(renamed, straight[order], rtol=1e-12)


@given(RATES, RATES, st.floats(0.2, 0.99), st.sampled_from([1, 2]), st.floats(0.2, 5))
def test_the_pieces_of_a_power_have_that_power(a, b, wanted, sides, ratio):
    if abs(a - b) < 1e-4:
        b = a + 0.1
    pieces = power.pieces_per_arm(
        rate_a=a, rate_b=b, power=wanted, alpha=0.1, sides=sides, ratio=ratio
    )
    got = power.power_of(
        rate_a=a, rate_b=b, pieces_per_arm=pieces, alpha=0.1, sides=sides, ratio=ratio
    )
    assert got == pytest.approx(wanted, rel=1e-9) or (pieces == 0 and got > wanted)


@given(RATES, RATES)
def test_either_arm_may_be_called_a(a, b):
    one = power.pieces_per_arm(rate_a=a, rate_b=b)
    assert power.pieces_per_arm(rate_a=b, rate_b=a) == pytest.approx(one, rel=1e-12)
