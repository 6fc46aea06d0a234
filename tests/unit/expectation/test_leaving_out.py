"""Levels whose own effect, and what lies within them, is no excuse."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.expectation import (
    RUNS_BY,
    answered_for,
    coded_runs,
    counted,
    doubt_of_levels,
    doubt_of_terms,
    expected,
    expected_without,
)
from logbook.expectation.coding import coded


@pytest.fixture(scope="module")
def runs(year):
    return coded_runs(year.totals(by=("month", *RUNS_BY)))


@pytest.fixture(scope="module")
def gaps(year, runs):
    return counted(runs, year.cells(["gaps"], by=("run_ref",)), "gaps")


@pytest.mark.parametrize("column", ["machine", "backing_supplier", "design"])
def test_left_out_afterwards_is_as_if_fitted_so(runs, gaps, column):
    without = runs.made_of([column])
    again = expected(runs, *gaps, not_excused=[column])
    found = expected(runs, *gaps)
    assert expected_without(runs, found, without) == pytest.approx(again.expected)


def test_what_lies_within_levels_is_theirs_to_answer_for(runs):
    designs = coded(runs.runs["design"])
    halves = (designs % 2).astype(np.intp)
    assert answered_for(runs, ("customer",), halves) == ("design",)
    assert set(answered_for(runs, ("design",), designs)) == {"design", "density_band"}
    assert answered_for(runs, ("month",), coded(runs.runs["month"])) == ()


def test_a_level_of_one_design_is_known_as_well_as_that_design(runs, gaps):
    found = expected(runs, *gaps)
    designs = coded(runs.runs["design"])
    own = found.fitted.doubt["design"]
    doubt = doubt_of_levels(runs.terms, {"design": own}, found.expected, designs)
    share = np.bincount(designs, found.expected) / found.expected.sum()
    by_hand = (1 - share) ** 2 * own + (share**2 * own).sum() - share**2 * own
    assert doubt == pytest.approx(by_hand)
    everything = np.zeros(designs.size, dtype=np.intp)
    whole = doubt_of_levels(runs.terms, found.fitted.doubt, found.expected, everything)
    assert whole == pytest.approx([0.0], abs=1e-12)


def test_what_levels_lie_within_is_known_no_better_than_their_mean(runs, gaps):
    """Backing of one supplier is as many lots, and lots vary: planted 0.3."""
    found = expected(runs, *gaps)
    lots = runs.terms["lot"] + 1
    doubt = doubt_of_terms(runs, found, lots, without=("lot",))
    assert "lot" not in doubt
    pair = "backing_supplier x backing"
    assert (doubt[pair] > found.fitted.doubt[pair]).all()
    assert (doubt[pair] <= found.fitted.sd[pair] ** 2 + 1e-12).all()
