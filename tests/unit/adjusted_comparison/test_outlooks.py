"""Looking ahead to one order: what is not told widens what is told of it."""

from dataclasses import replace

import numpy as np
import polars as pl
import pytest
from planted_cells import planted

from logbook.adjusted_comparison import fit_kinds, outlook
from logbook.adjusted_comparison.predictions import FittedKind
from logbook.vocabulary.defects import kind

JOB = {"fabric": "twill", "weight_band": "light", "backing_layers": "1", "topping": "none"}


@pytest.fixture(scope="module")
def fitted() -> FittedKind:
    """A third and more of the runs without backing, and so without supplier and lot."""
    cells = planted(runs=600)
    bare = pl.col("backing") == "sheer_mesh"
    cells = cells.with_columns(
        pl.when(~bare).then("backing_supplier").alias("backing_supplier"),
        pl.when(~bare).then("backing_lot").alias("backing_lot"),
        pl.when(bare).then(pl.lit("none")).otherwise("backing").alias("backing"),
    )
    [found] = fit_kinds(cells, kinds=[kind("puckering")])
    return found


def spread(fitted: FittedKind, term: str, times: float) -> FittedKind:
    """The same record, had what ``term`` stands for lain further apart."""
    sds = np.array(fitted.fit.sds)
    sds[fitted.fit.layout.groups.index(term)] *= times
    return replace(fitted, fit=replace(fitted.fit, sds=sds))


@pytest.mark.parametrize("term", ["lot", "backing_supplier"])
def test_without_backing_neither_its_lots_nor_its_suppliers_are_in_doubt(
    fitted: FittedKind, term: str
) -> None:
    wider = spread(fitted, term, 3.0)
    bare, backed = (JOB | {"backing": each} for each in ("none", "cut_away"))
    known, doubted = (outlook(each, job=bare, runs=2) for each in (fitted, wider))
    assert doubted.rate == pytest.approx(known.rate, rel=1e-9)
    assert doubted.variance == pytest.approx(known.variance, rel=1e-3)
    known, doubted = (outlook(each, job=backed, runs=2) for each in (fitted, wider))
    assert doubted.variance > 1.1 * known.variance


def test_a_design_that_is_not_told_is_in_doubt_with_backing_or_without(
    fitted: FittedKind,
) -> None:
    for backing in ("none", "cut_away"):
        job = JOB | {"backing": backing}
        wider = outlook(spread(fitted, "design", 3.0), job=job, runs=2)
        assert wider.variance > outlook(fitted, job=job, runs=2).variance
