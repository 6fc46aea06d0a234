import math

import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels.trials import judge
from logbook.kernels.trials.signs import MOST_PAIRS_EXACT, sign_flip

FIFTY = [50] * 8


def judged(now, changed, *, pieces=50, **more):
    sewn = {"pieces_now": [pieces] * len(now), "pieces_changed": [pieces] * len(changed)}
    return judge(count_now=now, count_changed=changed, **sewn, **more)


def test_fewer_defects_in_every_pair_is_better():
    found = judged([6, 7, 5, 8, 6, 7, 9, 6], [2, 1, 2, 3, 1, 2, 2, 3])
    assert found.verdict == "better"
    assert found.difference == pytest.approx(-38 / 400)
    assert found.lower < found.difference < found.upper < 0
    assert found.p_value < 0.001
    assert found.sign_flip_p_value == 2 / 2**8
    assert (found.pairs, found.pieces, found.pairs_left_out) == (8, 800, 0)
    assert (found.rate_now, found.rate_changed) == pytest.approx((54 / 400, 16 / 400))
    assert found.level == 0.95


def test_more_defects_in_every_pair_is_worse():
    assert judged([2, 1, 2, 3, 1, 2, 2, 3], [6, 7, 5, 8, 6, 7, 9, 6]).verdict == "worse"


def test_as_many_defects_are_not_enough_to_say_better_or_worse():
    found = judged([2, 1, 2, 3, 1, 2, 2, 3], [2, 2, 1, 2, 3, 1, 2, 3])
    assert found.verdict == "not_enough_data"
    assert found.difference == pytest.approx(0)
    assert found.p_value == pytest.approx(1)


def test_within_the_margin_it_is_no_worse():
    now, changed = [2, 1, 2, 3, 1, 2, 2, 3], [2, 2, 1, 2, 3, 1, 2, 3]
    upper = judged(now, changed).upper
    assert judged(now, changed, margin=1.01 * upper).verdict == "no_worse"
    assert judged(now, changed, margin=0.99 * upper).verdict == "not_enough_data"


def test_five_pairs_say_nothing_whatever_they_look_like():
    found = judged([9] * 5, [0, 1, 0, 1, 0])
    assert found.verdict == "not_enough_data"
    assert found.difference == pytest.approx(-43 / 250)
    silent = (found.lower, found.upper, found.p_value, found.sign_flip_p_value, found.degrees)
    assert all(math.isnan(each) for each in silent)


def test_no_pairs_say_nothing_at_all():
    found = judged([], [])
    assert found.verdict == "not_enough_data"
    assert found.pairs == found.pieces == 0
    assert math.isnan(found.difference)
    assert math.isnan(found.rate_now)


def test_pairs_with_an_arm_that_was_not_sewn_are_left_out():
    now, changed = [6, 7, 5, 8, 6, 7, 9], [2, 1, 2, 3, 1, 2, 0]
    found = judge(
        count_now=now,
        pieces_now=[50] * 7,
        count_changed=changed,
        pieces_changed=[50] * 6 + [0],
    )
    whole = judged(now[:6], changed[:6])
    assert (found.pairs, found.pairs_left_out, found.pieces) == (6, 1, 600)
    assert found.p_value == whole.p_value


def test_no_defects_at_all_are_no_proof_of_anything():
    found = judged([0] * 8, [0] * 8, margin=0.01)
    assert found.verdict == "not_enough_data"
    assert found.difference == 0
    assert math.isnan(found.upper)
    assert found.p_value == 1


def test_pairs_that_all_say_the_same_are_judged_by_their_signs():
    found = judged([5] * 8, [1] * 8)
    assert found.verdict == "better"
    assert found.p_value == found.sign_flip_p_value == 2 / 2**8
    assert math.isnan(found.lower)
    # How lots differ is not in the signs.
    assert judged([5] * 8, [1] * 8, lot_sd=0.3).verdict == "not_enough_data"


def test_a_long_run_weighs_more_but_not_as_if_it_were_many():
    now = {"count_now": [3, 2, 4, 2, 3, 40], "pieces_now": [50] * 5 + [1000]}
    found = judge(**now, count_changed=[1, 2, 1, 1, 2, 10], pieces_changed=[50] * 5 + [1000])
    differences = np.array([-2, 0, -3, -1, -1, -1.5]) / 50
    weights = np.array([1, 1, 1, 1, 1, 20]) / 25
    assert found.difference == pytest.approx(float(weights @ differences))
    assert found.degrees < 1.5


def test_lots_widen_the_interval_and_all_new_lots_do_not():
    now, changed = [6, 7, 5, 8, 6, 7, 9, 6], [2, 4, 2, 7, 1, 2, 5, 3]
    plain = judged(now, changed)
    one, four, new = (
        judged(now, changed, lot_sd=0.5, lots_each=(lots, lots)) for lots in (1, 4, 8)
    )
    assert one.upper - one.lower > four.upper - four.lower > plain.upper - plain.lower
    # Lots that change with every pair are in the spread of the pairs already.
    assert new.lower == plain.lower
    assert one.difference == plain.difference
    assert one.sign_flip_p_value == plain.sign_flip_p_value


def test_a_stricter_level_gives_a_wider_interval():
    now, changed = [6, 7, 5, 8, 6, 7, 9, 6], [2, 4, 2, 7, 1, 2, 5, 3]
    usual, strict = judged(now, changed), judged(now, changed, alpha=0.01)
    assert strict.lower < usual.lower
    assert strict.level == 0.99
    assert strict.p_value == usual.p_value


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({"count_now": [51] + [1] * 7}, "count_now cannot exceed pieces_now; got 51 in 50"),
        ({"count_changed": [-1] + [1] * 7}, "count_changed must not be negative"),
        ({"count_now": [math.nan] + [1] * 7}, "count_now must be finite"),
        ({"count_now": [1] * 7}, "do not fit together"),
        ({"count_now": [1] * 7, "pieces_now": [50] * 7}, "do not fit together"),
        ({"count_now": [[1] * 8]}, "one line of points"),
        ({"alpha": 5}, "alpha must lie between 0 and 1"),
        ({"lot_sd": -1}, "spread of lots"),
        ({"draws": 0}, "At least one draw"),
    ],
)
def test_counts_that_cannot_be_are_refused(arguments, says):
    usual = {"count_now": [3] * 8, "pieces_now": FIFTY, "count_changed": [1, 2] * 4}
    with pytest.raises(KernelError, match=says):
        judge(**{**usual, "pieces_changed": FIFTY, **arguments})


def test_drawn_signs_repeat_and_agree_with_listed_ones():
    random = np.random.default_rng(4)
    listed = random.normal(0.4, 1, MOST_PAIRS_EXACT)
    exact = sign_flip(differences=listed)
    assert exact.draws == 0
    # One more pair without a difference leaves the exact p-value as it is.
    drawn = sign_flip(differences=np.append(listed, 0.0), draws=20_000, seed=3)
    assert drawn == sign_flip(differences=np.append(listed, 0.0), draws=20_000, seed=3)
    assert drawn.draws == 20_000
    error = math.sqrt(exact.p_value * (1 - exact.p_value) / 20_000)
    assert drawn.p_value == pytest.approx(exact.p_value, abs=4 * error)


def test_a_drawn_p_value_is_never_nothing():
    assert sign_flip(differences=np.ones(40), draws=99).p_value == pytest.approx(1 / 100)
