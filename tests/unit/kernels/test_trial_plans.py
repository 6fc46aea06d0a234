import math

import pytest

from logbook.errors import KernelError
from logbook.kernels import power
from logbook.kernels.trials import FEWEST_PAIRS, judge, plan

USUAL = {
    "rate_now": 0.04,
    "rate_changed": 0.028,
    "pieces_per_arm_and_pair": 100,
    "overdispersion": 0.3,
}


def planned(**changed):
    return plan(**{**USUAL, **changed})


def test_the_fewest_pairs_that_reach_the_power():
    found = planned()
    # 7.85 times a pair's variance of 0.00131 over 0.012 squared is 72; Student's test takes 2 more.
    assert found.pairs == 74
    assert found.pieces == 2 * 74 * 100
    assert 0.8 <= found.power < 0.81
    assert found.more_pieces_help


def test_the_smallest_fall_says_the_same_as_the_rate_it_leads_to():
    by_rate = planned(rate_changed=0.03)
    by_fall = planned(rate_changed=None, smallest_difference=0.01)
    assert by_fall.pairs == by_rate.pairs
    assert by_fall.rate_changed == pytest.approx(0.03)


def test_a_fall_to_nothing_can_be_planned():
    found = planned(rate_changed=None, smallest_difference=0.04)
    assert found.rate_changed == 0
    assert 0.8 <= found.power < 1


def test_restless_runs_small_differences_and_certainty_cost_pairs():
    usual = planned().pairs
    assert planned(overdispersion=1.0).pairs > usual
    assert planned(rate_changed=0.032).pairs > usual
    assert planned(power=0.9).pairs > usual
    assert planned(alpha=0.01).pairs > usual
    assert planned(pieces_per_arm_and_pair=200).pairs < usual


def test_pieces_that_stand_for_themselves_need_what_the_plain_test_needs():
    pairs = planned(overdispersion=0.0, pieces_per_arm_and_pair=5).pairs
    plain = power.pieces_per_arm(rate_a=0.04, rate_b=0.028)
    assert pairs * 5 == pytest.approx(plain, rel=0.01)


def test_longer_runs_help_only_down_to_the_luck_of_runs():
    endless = planned(pieces_per_arm_and_pair=10**9).pairs
    luck_alone = 0.3 * ((0.04 * 0.96) ** 2 + (0.028 * 0.972) ** 2)
    assert endless == pytest.approx(7.85 * luck_alone / 0.012**2 + 2, abs=1)


def test_a_large_difference_still_takes_the_fewest_pairs_a_verdict_rests_on():
    found = planned(rate_now=0.5, rate_changed=0.05)
    assert found.pairs == FEWEST_PAIRS
    assert found.power > 0.99


def test_with_one_lot_of_each_no_number_of_pieces_speaks_of_the_backing():
    found = planned(lot_sd=0.3)
    assert (found.pairs, found.pieces) == (None, None)
    assert not found.more_pieces_help
    assert found.power < 0.15
    error = 0.3 * math.hypot(0.04 * 0.96, 0.028 * 0.972)
    assert found.lots_error == pytest.approx(error)


def test_lots_are_short_until_they_leave_room_for_the_pieces():
    # 0.3**2 (0.0384**2 + 0.0272**2) / L falls below 0.012**2 / 7.85 with 11 lots of each.
    assert planned(lot_sd=0.3, lots_each=(10, 10)).pairs is None
    twelve, enough = (planned(lot_sd=0.3, lots_each=(lots, lots)) for lots in (12, 22))
    assert twelve.pairs > 10 * planned().pairs
    assert enough.lots_needed == 22
    assert enough.pairs < 2.1 * planned().pairs


def test_without_spread_of_lots_one_will_do():
    assert planned().lots_needed == 1
    assert planned().lots_error == 0
    assert planned(lots_each=(40, 90)).pairs == 90


def test_a_plan_is_what_judging_its_own_expectation_finds():
    # Lots told to both: the doubt about lots widens the interval by as much as was planned.
    lots = {"lot_sd": 0.2, "lots_each": (1, 1)}
    counts = {"count_now": [4, 5, 3] * 4, "count_changed": [2, 3, 4] * 4}
    sewn = {"pieces_now": [100] * 12, "pieces_changed": [100] * 12}
    told, untold = judge(**counts, **sewn, **lots), judge(**counts, **sewn)
    hidden = plan(**{**USUAL, "rate_changed": 0.03}, **lots).lots_error
    assert told.standard_error**2 - untold.standard_error**2 == pytest.approx(hidden**2)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({"rate_now": 0}, "rate_now must lie between 0 and 1; got 0"),
        ({"rate_changed": 1.2}, "rate_changed must lie between 0 and 1; got 1.2"),
        ({"rate_changed": 0.04}, "two rates are equal"),
        ({"rate_changed": None}, "either the rate hoped for or the smallest difference"),
        ({"smallest_difference": 0.01}, "either the rate hoped for or the smallest difference"),
        ({"rate_changed": None, "smallest_difference": 0.05}, "no higher than the rate now, 0.04"),
        ({"rate_changed": None, "smallest_difference": 0}, "must lie above 0"),
        ({"rate_changed": None, "smallest_difference": math.nan}, "must lie above 0"),
        ({"pieces_per_arm_and_pair": 0}, "at least one piece; got 0"),
        ({"overdispersion": -1}, "overdispersion must not be negative; got -1"),
        ({"overdispersion": math.nan}, "overdispersion must not be negative"),
        ({"alpha": 0}, "alpha must lie between 0 and 1"),
        ({"power": 0.04}, "power must lie between alpha and 1"),
        ({"power": 80}, "power must lie between alpha and 1; got 80"),
        ({"lot_sd": -0.1}, "spread of lots must not be negative; got -0.1"),
        ({"lots_each": (0, 1)}, "at least one lot"),
    ],
)
def test_plans_that_cannot_be_are_refused(arguments, says):
    with pytest.raises(KernelError, match=says):
        planned(**arguments)
