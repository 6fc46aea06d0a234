import math

import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels.trials import chance_of_crossing, judge, spending_bounds, watch


def clearly_better(pairs):
    return {
        "count_now": ([6, 7, 5, 8, 6] * 20)[:pairs],
        "pieces_now": [50] * pairs,
        "count_changed": ([2, 1, 2, 3, 1, 2, 4] * 20)[:pairs],
        "pieces_changed": [50] * pairs,
    }


def hardly_better(pairs):
    return {**clearly_better(pairs), "count_changed": ([5, 2, 9, 6, 4, 7, 6] * 20)[:pairs]}


def test_an_early_look_asks_for_much_more_than_the_last():
    early = watch(**hardly_better(10), planned_pairs=40)
    late = watch(**hardly_better(40), planned_pairs=40, earlier_looks=(10, 20, 30))
    assert early.bound > 4
    assert late.bound == pytest.approx(2.02, abs=0.02)
    assert early.spent < 1e-4
    assert late.spent == pytest.approx(0.05)
    assert early.judgement.level > 0.9999
    assert (early.stop, late.stop) == (False, True)


def test_a_clear_difference_ends_the_trial_early():
    found = watch(**clearly_better(20), planned_pairs=40, earlier_looks=(10,))
    assert found.judgement.verdict == "better"
    assert found.stop
    assert found.fraction_done == 0.5


def test_what_looks_better_at_the_usual_level_may_not_end_it():
    pairs = 12
    sewn = hardly_better(pairs) | {"count_changed": [5, 2, 6, 6, 4, 7, 5, 5, 2, 6, 6, 4]}
    assert judge(**sewn).verdict == "better"
    found = watch(**sewn, planned_pairs=40)
    assert found.judgement.verdict == "not_enough_data"
    assert not found.stop


def test_one_look_at_the_end_is_an_ordinary_judgement():
    found = watch(**hardly_better(40), planned_pairs=40)
    assert found.alpha == pytest.approx(0.05, abs=1e-8)
    assert found.judgement.lower == pytest.approx(judge(**hardly_better(40)).lower)


def test_a_trial_that_ran_over_is_judged_as_at_its_end():
    found = watch(**hardly_better(44), planned_pairs=40, earlier_looks=(20,))
    assert found.fraction_done == 1
    assert found.spent == pytest.approx(0.05)
    assert found.stop


def test_looks_at_too_few_pairs_cost_nothing():
    few = watch(**clearly_better(4), planned_pairs=40, earlier_looks=(1, 2))
    assert few.judgement.verdict == "not_enough_data"
    assert math.isnan(few.judgement.lower)
    assert not few.stop
    after = watch(**hardly_better(40), planned_pairs=40, earlier_looks=(1, 2, 4))
    assert after.alpha == pytest.approx(0.05, abs=1e-8)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({"planned_pairs": 5}, "at least 6 pairs; 5 were planned"),
        ({"earlier_looks": (10, 20)}, "Looks must rise"),
        ({"earlier_looks": (12, 10)}, "Looks must rise"),
        ({"planned_pairs": 15, "earlier_looks": (15,)}, "judged at its end, after 15 of 15"),
    ],
)
def test_looks_that_cannot_be_are_refused(arguments, says):
    with pytest.raises(KernelError, match=says):
        watch(**{**clearly_better(20), "planned_pairs": 40, **arguments})


@pytest.mark.parametrize("done", [[], [0.0, 1.0], [0.5, 0.5], [0.5, 1.1], [math.nan, 1.0]])
def test_shares_of_a_trial_must_rise(done):
    with pytest.raises(KernelError, match="rising shares"):
        spending_bounds(fraction_done=done)


def test_each_look_needs_a_bound():
    with pytest.raises(KernelError, match="Each of 2 looks needs a bound"):
        chance_of_crossing(fraction_done=[0.5, 1.0], z=[2.0])


def test_the_bounds_spend_what_was_promised_and_no_more():
    done = np.array([0.1, 0.15, 0.4, 0.41, 0.9, 1.0])
    bounds = spending_bounds(fraction_done=done, alpha=0.1)
    crossed = chance_of_crossing(fraction_done=done, z=bounds.z)
    assert np.cumsum(crossed) == pytest.approx(bounds.spent, abs=1e-10)
    assert bounds.spent[-1] == pytest.approx(0.1)
    assert (np.diff(bounds.spent) > 0).all()


def test_what_was_decided_at_a_look_does_not_hang_on_later_ones():
    short, long = (spending_bounds(fraction_done=done) for done in ([0.3, 0.6], [0.3, 0.6, 1.0]))
    assert short.z == pytest.approx(long.z[:2], abs=1e-9)


def test_a_true_difference_is_found_sooner_with_looks():
    done = np.arange(1, 6) / 5
    bounds = spending_bounds(fraction_done=done)
    crossed = chance_of_crossing(fraction_done=done, z=bounds.z, drift=3.0)
    once = chance_of_crossing(fraction_done=[1.0], z=[1.96], drift=3.0)
    assert 0.97 * once[0] < crossed.sum() < once[0]
    assert crossed[:4].sum() > 0.5
