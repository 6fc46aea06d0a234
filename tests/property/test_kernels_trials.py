"""What holds for every trial, plan and look."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from logbook.kernels.trials import chance_of_crossing, judge, plan, spending_bounds

PIECES = st.integers(1, 200)


@st.composite
def trials(draw, most=12):
    """(4, R): count and pieces of either arm."""
    sizes = draw(st.lists(st.tuples(PIECES, PIECES), min_size=6, max_size=most))
    return np.array(
        [(draw(st.integers(0, n0)), n0, draw(st.integers(0, n1)), n1) for n0, n1 in sizes]
    ).T


def judged(trial, **more):
    names = ("count_now", "pieces_now", "count_changed", "pieces_changed")
    return judge(**dict(zip(names, trial, strict=True)), draws=500, **more)


def same(one, other):
    np.testing.assert_allclose(one, other, rtol=1e-8, atol=1e-10)


MIRRORED = {"better": "worse", "worse": "better", "not_enough_data": "not_enough_data"}


@given(trials())
def test_swapping_the_arms_negates_the_difference(trial):
    one, other = judged(trial), judged(trial[[2, 3, 0, 1]])
    same(-other.difference, one.difference)
    same(-other.upper, one.lower)
    same(other.p_value, one.p_value)
    same(other.sign_flip_p_value, one.sign_flip_p_value)
    assert other.verdict == MIRRORED[one.verdict]


@given(trials(), st.randoms(use_true_random=False))
def test_the_order_of_pairs_does_not_matter(trial, random):
    order = list(range(trial.shape[1]))
    random.shuffle(order)
    one, other = judged(trial), judged(trial[:, order])
    for name in ("difference", "lower", "upper", "p_value", "degrees", "sign_flip_p_value"):
        same(getattr(other, name), getattr(one, name))


@given(trials(), st.integers(2, 50))
def test_the_pairs_are_the_sample_however_many_pieces_they_hold(trial, times):
    one, other = judged(trial), judged(trial * times)
    for name in ("difference", "lower", "upper", "p_value", "degrees", "sign_flip_p_value"):
        same(getattr(other, name), getattr(one, name))


@given(trials())
def test_counting_the_good_pieces_negates_the_difference(trial):
    y0, n0, y1, n1 = trial
    bad, good = judged(trial), judged(np.array([n0 - y0, n0, n1 - y1, n1]))
    same(-good.difference, bad.difference)
    same(-good.upper, bad.lower)
    same(good.p_value, bad.p_value)


@given(trials())
def test_bounds_hold_the_difference_and_the_verdict_follows_them(trial):
    found = judged(trial)
    same(found.rate_changed - found.rate_now, found.difference)
    assert 0 < found.sign_flip_p_value <= 1
    if not np.isnan(found.lower):
        assert found.lower <= found.difference <= found.upper
        assert 1 - 1e-9 <= found.degrees <= found.pairs - 1 + 1e-6
        assert (found.verdict == "better") == (found.upper < 0)
        assert (found.verdict == "worse") == (found.lower > 0)


@given(trials(), st.floats(0, 2), st.integers(1, 8))
def test_doubt_about_lots_never_narrows_the_interval(trial, lot_sd, lots):
    one, other = judged(trial), judged(trial, lot_sd=lot_sd, lots_each=(lots, 1))
    assume(not np.isnan(one.lower))
    assert other.standard_error >= one.standard_error * (1 - 1e-12)


@given(
    st.floats(0.005, 0.5),
    st.floats(0.2, 0.9),
    st.integers(5, 500),
    st.floats(0, 3),
    st.floats(0.5, 0.95),
)
@settings(max_examples=60)
def test_a_plan_reaches_its_power_with_the_fewest_pairs(rate, share, pieces, overdispersion, power):
    asked = {
        "rate_now": rate,
        "rate_changed": rate * share,
        "overdispersion": overdispersion,
        "power": power,
    }
    found = plan(**asked, pieces_per_arm_and_pair=pieces)
    assert found.power >= power
    assert found.pieces == 2 * found.pairs * pieces
    longer = plan(**asked, pieces_per_arm_and_pair=2 * pieces)
    if overdispersion <= 1 / (rate * (1 - rate)):
        # Pieces of a run may share more luck than that only if they are worse than copies.
        assert longer.pairs <= found.pairs


@given(
    st.floats(0.005, 0.5),
    st.floats(0.2, 0.9),
    st.floats(0, 1),
    st.floats(0.01, 1),
    st.integers(1, 9),
)
@settings(max_examples=60)
def test_more_lots_never_take_more_pairs(rate, share, overdispersion, lot_sd, lots):
    asked = {
        "rate_now": rate,
        "rate_changed": rate * share,
        "overdispersion": overdispersion,
        "lot_sd": lot_sd,
    }
    few = plan(**asked, pieces_per_arm_and_pair=50, lots_each=(lots, lots))
    enough = plan(**asked, pieces_per_arm_and_pair=50, lots_each=(few.lots_needed,) * 2)
    assert enough.more_pieces_help
    if few.more_pieces_help and few.lots_needed > lots:
        assert enough.pairs <= max(few.pairs, few.lots_needed)


@given(st.lists(st.integers(1, 40), min_size=1, max_size=7, unique=True), st.floats(0.01, 0.2))
@settings(max_examples=40)
def test_bounds_come_closer_and_spend_their_chance(places, alpha):
    done = np.sort(places) / 40
    bounds = spending_bounds(fraction_done=done, alpha=alpha)
    crossed = np.cumsum(chance_of_crossing(fraction_done=done, z=bounds.z))
    np.testing.assert_allclose(crossed, bounds.spent, atol=1e-9)
    assert bounds.spent[-1] <= alpha * (1 + 1e-12)
    assert (bounds.alpha <= alpha * (1 + 1e-6)).all()
