"""Observed beside expected, run by run, on the sample year whose truth is known."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from logbook.errors import AnalysisError
from logbook.expectation import RUNS_BY, coded_runs, counted, expected


@pytest.fixture(scope="module")
def coded(year):
    return coded_runs(year.totals(by=("week", *RUNS_BY)))


@pytest.fixture(scope="module")
def gaps(year, coded):
    return counted(coded, year.cells(["gaps"], by=("run_ref",)), "gaps")


def test_counts_are_those_of_the_book(year, gaps):
    cells = year.cells(["gaps"])
    assert gaps[0].sum() == cells["count"].item()
    assert gaps[1].sum() == cells["exposure"].item()


def test_the_bad_lot_stands_out_where_it_is_not_learnt_from(coded, gaps):
    """Lot A2431 was planted with six times the odds, 2026-W09 to W12."""
    weeks = coded.runs["week"].to_numpy()
    found = expected(coded, *gaps, learn=weeks < "2026-W09")
    lot = (coded.runs["backing_lot"] == "A2431").fill_null(False).to_numpy()
    own = lot & (weeks >= "2026-W09") & (weeks <= "2026-W12")
    assert found.observed[own].sum() > 3 * found.expected[own].sum()
    others = (weeks >= "2026-W09") & (weeks <= "2026-W12") & ~lot
    assert 0.7 < found.observed[others].sum() / found.expected[others].sum() < 1.4


def test_how_widely_runs_and_lots_vary_is_about_what_was_planted(coded, gaps):
    found = expected(coded, *gaps)
    assert found.run_sd == pytest.approx(0.5, abs=0.2)  # planted 0.5
    assert found.lot_sd == pytest.approx(0.3, abs=0.2)  # planted 0.3, and two bad lots


def test_setups_can_be_left_unexcused(coded, year):
    """Film cut sinking on towels and fleece from 2026-W30 on."""
    sinking = counted(coded, year.cells(["sinking"], by=("run_ref",)), "sinking")
    weeks = coded.runs["week"].to_numpy()
    towels = (coded.runs["fabric"] == "terry towel").to_numpy()
    since = towels & (weeks >= "2026-W30")
    learn = weeks < "2026-W30"
    by_job = expected(coded, *sinking, learn=learn, setup_excused=False)
    by_setup = expected(coded, *sinking, learn=learn)
    assert by_job.observed[since].sum() < 0.4 * by_job.expected[since].sum()
    assert by_setup.expected[since].sum() < by_job.expected[since].sum()


def test_a_column_asked_about_takes_what_lies_within_it_along(coded):
    assert set(coded.made_of(["backing_supplier"])) == {
        *("backing_supplier", "backing_supplier x backing", "lot"),
    }


def test_a_run_that_did_not_record_the_kind_expects_nothing(coded, gaps):
    found = expected(coded, *gaps)
    assert (found.expected[found.exposure == 0] == 0).all()
    assert np.isfinite(found.expected).all()


def test_a_missing_column_is_named():
    with pytest.raises(AnalysisError, match="run_ref"):
        coded_runs(pl.DataFrame({"fabric": ["pique"]}))
