"""How much more record would settle a comparison."""

import math
from dataclasses import replace

import numpy as np
import pytest
from test_setup_model import TERMS, made

from logbook.kernels.setup_model import Setups, compare, fit, more_needed
from logbook.kernels.setup_model.contrasts import quantile
from logbook.kernels.setup_model.levels import Estimate


def test_more_record_on_new_lots_narrows_as_foretold():
    setups = made(runs=400, lots=10, sd_lot=0.4)
    everyone = np.ones(setups.trials.size, bool)

    def compared(data):
        fitted = fit(setups=data, terms=TERMS)
        return fitted, compare(
            fit=fitted,
            factor="supplier",
            level=1,
            reference=0,
            shared=np.ones(data.trials.size, bool),
            renewed="lot",
        )

    fitted, found = compared(setups)
    margin = found.difference.estimate + 2.0 * math.sqrt(found.variance)
    needed = more_needed(fit=fitted, comparison=found, rows=everyone, renewed="lot", margin=margin)
    assert needed is not None
    assert not needed.same_lots_suffice
    assert needed.pieces == math.ceil(needed.repeats * setups.trials.sum())
    assert needed.lots == math.ceil(needed.repeats * 10)
    times = 1 + round(needed.repeats)
    lots = np.concatenate([setups.factors["lot"] + 10 * again for again in range(times)])
    longer = Setups(
        trials=np.tile(setups.trials, times),
        squares=np.tile(setups.squares, times),
        count=np.tile(setups.count, times),
        runs=np.tile(setups.runs, times),
        factors={
            "fabric": np.tile(setups.factors["fabric"], times),
            "supplier": np.tile(setups.factors["supplier"], times),
            "lot": lots,
        },
        slopes={"density": np.tile(setups.slopes["density"], times)},
    )
    foretold = found.variance / compared(longer)[1].variance
    # The spread of lots is estimated anew from the longer record, so it agrees only about.
    assert foretold == pytest.approx(times, rel=0.25)


def test_a_hair_of_a_difference_cannot_be_told_by_any_number_of_pieces():
    setups = made(runs=400, lots=10)
    fitted = fit(setups=setups, terms=TERMS)
    everyone = np.ones(setups.trials.size, bool)
    found = compare(fit=fitted, factor="supplier", level=1, reference=0, shared=everyone)
    hair = replace(found, difference=Estimate(1e-7, -0.01, 0.01))
    assert (
        more_needed(fit=fitted, comparison=hair, rows=everyone, renewed="lot", margin=None) is None
    )


def test_a_plan_counts_on_new_lots_to_tell_how_lots_differ():
    setups = made(runs=400, lots=10)
    fitted = fit(setups=setups, terms=TERMS)
    everyone = np.ones(setups.trials.size, bool)
    found = compare(
        fit=fitted, factor="supplier", level=1, reference=0, shared=everyone, renewed="lot"
    )
    gap = 0.5 * math.sqrt(found.variance)
    found = replace(found, difference=Estimate(gap, -1.0, 1.0))
    sure = replace(found, degrees=1e6, quantile=quantile(level=0.95, degrees=1e6))
    unsure = replace(found, degrees=2.0, quantile=quantile(level=0.95, degrees=2.0))
    plans = [
        more_needed(fit=fitted, comparison=each, rows=everyone, renewed="lot", margin=None)
        for each in (sure, unsure)
    ]
    # Were two degrees of freedom all there will be, it would take 3.4 times as much.
    assert plans[0].repeats < plans[1].repeats < 1.3 * plans[0].repeats


def test_a_plan_does_not_ask_for_as_many_runs_of_a_lot_as_the_record_had():
    few, many = (made(runs=runs, lots=8, sd_lot=0.6) for runs in (400, 4000))
    plans = []
    for setups in (few, many):
        fitted = fit(setups=setups, terms=TERMS)
        everyone = np.ones(setups.trials.size, bool)
        found = compare(
            fit=fitted, factor="supplier", level=1, reference=0, shared=everyone, renewed="lot"
        )
        margin = found.difference.estimate + 1.5 * math.sqrt(found.variance)
        plans.append(
            more_needed(fit=fitted, comparison=found, rows=everyone, renewed="lot", margin=margin)
        )
    assert None not in plans
    per_lot = [plan.pieces / plan.lots for plan in plans]
    # 50 runs a lot of 105 pieces on average, up to rounding a lot up.
    assert per_lot == pytest.approx([50 * 105] * 2, rel=0.2)
