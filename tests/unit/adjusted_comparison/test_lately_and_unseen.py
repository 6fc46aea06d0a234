"""Suppliers that change late, and suppliers whose work differs in what nobody writes down."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from planted_cells import planted

from logbook.adjusted_comparison import adjusted_suppliers
from logbook.adjusted_comparison.unseen import Unseen
from logbook.vocabulary.defects import kind

PUCKERING, SOILING = kind("puckering"), kind("soiling")
RUNS, LATE_WEEKS = 900, 8
ALIKE = {"Alder": 0.0, "Birch": 0.0, "Cedar": 0.0}


def dated(cells: pl.DataFrame) -> pl.DataFrame:
    """The runs over a year; lots in the order of time, six a year of each supplier and backing."""
    numbers = cells["run_ref"].str.slice(1).cast(pl.Int64)
    days = [str(date(2026, 1, 1) + timedelta(days=int(365 * at / RUNS))) for at in numbers]
    return cells.with_columns(
        pl.Series("day", days),
        (pl.lit("L") + (6 * numbers // RUNS).cast(pl.String)).alias("backing_lot"),
    )


@pytest.fixture(scope="module")
def alike() -> pl.DataFrame:
    return dated(planted(runs=RUNS, supplier_effects=ALIKE))


def raised(cells: pl.DataFrame, where: pl.Expr, seed: int = 1) -> pl.DataFrame:
    """Half as many defects again as there are pieces in ten, in some of the runs."""
    more = np.random.default_rng(seed).binomial(cells["exposure"].cast(pl.Int64), 0.1)
    return cells.with_columns(
        pl.when(where)
        .then(pl.min_horizontal(pl.col("count") + more, pl.col("exposure").cast(pl.Int64)))
        .otherwise("count")
        .alias("count")
    )


def test_a_supplier_that_worsens_is_named_and_its_next_lots_are_judged_by_the_last_weeks(alike):
    since = str(date(2026, 12, 31) - timedelta(weeks=LATE_WEEKS))
    late = (pl.col("backing_supplier") == "Cedar") & (pl.col("day") > since)
    before = adjusted_suppliers(alike, kind=PUCKERING, reference="Alder")["Cedar"]
    after = adjusted_suppliers(raised(alike, late), kind=PUCKERING, reference="Alder")
    (change,) = after["Cedar"].lately
    assert (change.supplier, change.worse) == ("Cedar", True)
    assert abs((change.since - date.fromisoformat(since)).days) <= 28
    assert after["Cedar"].difference - before.difference == pytest.approx(0.1, abs=0.04)
    assert after["Cedar"].verdict == "worse"
    assert after["Birch"].lately == ()


def test_where_nothing_changes_nothing_is_said(alike):
    found = adjusted_suppliers(alike, kind=PUCKERING, reference="Alder")
    assert [each.lately for each in found.values()] == [()] * 3


def test_a_change_of_the_whole_shop_is_no_suppliers(alike):
    late = raised(alike, pl.col("day") > "2026-11-05")
    found = adjusted_suppliers(late, kind=PUCKERING, reference="Alder")
    assert [each.lately for each in found.values()] == [()] * 3


@pytest.fixture(scope="module")
def harder(alike: pl.DataFrame) -> pl.DataFrame:
    """Cedar's jobs show more of everything, also of what no backing causes."""
    work = pl.col("backing_supplier") == "Cedar"
    soiling = dated(planted(runs=RUNS, seed=9, supplier_effects=ALIKE))
    return pl.concat(
        [raised(alike, work), raised(soiling, work, 2).with_columns(kind=pl.lit("soiling"))]
    )


def test_kinds_that_no_backing_causes_hold_a_verdict_back(harder):
    found = adjusted_suppliers(harder, kind=PUCKERING, reference="Alder", controls=(SOILING,))
    cedar = found["Cedar"]
    assert (cedar.verdict, cedar.withheld) == ("not_enough_data", "worse")
    assert cedar.unseen is not None
    assert cedar.unseen.control_interval[0] > 1.5
    assert found["Birch"].withheld is None
    alone = adjusted_suppliers(harder, kind=PUCKERING, reference="Alder")["Cedar"]
    assert (alone.verdict, alone.withheld) == ("worse", None)


@pytest.mark.parametrize(
    ("work", "control", "interval", "bias"),
    [
        (1.5, 1.6, (1.2, 2.1), 1.6),
        (1.5, 1.6, (0.9, 2.8), 1.0),
        (1.0, 1.1, (1.02, 1.2), 1.0),
        (1.5, float("nan"), (float("nan"), float("nan")), 1.5),
        (1.1, float("nan"), (float("nan"), float("nan")), 1.0),
    ],
)
def test_recorded_work_counts_only_where_no_kind_can_be_tried(work, control, interval, bias):
    signs = Unseen(
        e_value=2.0,
        e_value_of_interval=1.5,
        work=work,
        control_ratio=control,
        control_interval=interval,
    )
    assert signs.bias == bias
