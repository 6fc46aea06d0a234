"""Trials are right about as often as they say, in shops whose truth is known.

Small: a few hundred trials a check, with bounds of three standard errors. The full size is
printed by ``tests/benchmarks/bench_trials.py``.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from invented_trials import BASE, HEAVY, UNEVEN
from trial_measures import judge_trials, watch_trials

from logbook.kernels.trials import plan

pytestmark = pytest.mark.slow

TRIALS = 600
ALIKE, BETTER = (0.04, 0.04), (0.04, 0.028)


def within(share: float, trials: int = TRIALS) -> float:
    """How far a share in per cent may stray by chance."""
    return 3 * math.sqrt(share * (100 - share) / trials)


@pytest.mark.parametrize("world", [BASE, HEAVY, UNEVEN])
@pytest.mark.parametrize("pieces", [50, 100])
def test_setups_that_are_alike_are_seldom_called_different(world, pieces):
    found = judge_trials(world, rates=ALIKE, pairs=40, pieces=pieces, trials=TRIALS, draws=500)
    assert abs(found.called_different - 5) < within(5) + 0.5
    assert found.by_signs < 5 + within(5)
    assert found.pooled > 2 * found.called_different


@pytest.mark.parametrize("pieces", [50, 100])
def test_a_planned_trial_finds_what_it_was_planned_for(pieces):
    planned = plan(
        rate_now=0.04,
        rate_changed=0.028,
        pieces_per_arm_and_pair=pieces,
        overdispersion=BASE.overdispersion,
    )
    found = judge_trials(
        BASE, rates=BETTER, pairs=planned.pairs, pieces=pieces, trials=TRIALS, draws=100
    )
    assert 75 - within(80) < found.called_different < 87 + within(80)
    assert abs(found.covered - 95) < within(95) + 0.5


def test_a_setup_worse_by_the_margin_is_seldom_called_no_worse():
    found = judge_trials(
        BASE, rates=(0.04, 0.052), pairs=74, pieces=100, trials=TRIALS, margin=0.012, draws=1
    )
    assert found.no_worse < 2.5 + within(2.5)


def test_looking_on_without_bounds_raises_false_alarms_and_with_them_does_not():
    looks = (*range(8, 40, 4), 40)
    free, bounded = (
        watch_trials(
            BASE, rates=ALIKE, pairs=40, pieces=50, looks=looks, trials=TRIALS, bounded=bounded
        )
        for bounded in (False, True)
    )
    assert free.called_different > 12
    assert bounded.called_different < 5 + within(5)


def test_one_lot_of_each_misleads_about_the_backing_unless_lots_are_counted():
    world = replace(BASE, lot_sd=0.3)
    untold, told = (
        judge_trials(
            world,
            rates=ALIKE,
            pairs=74,
            pieces=100,
            trials=TRIALS,
            lots_counted=counted,
            draws=1,
        )
        for counted in (False, True)
    )
    assert untold.called_different > 25
    assert told.called_different < 5 + within(5)
    assert abs(told.covered - 95) < within(95) + 0.5
