"""Observed beside expected, run by run, for one kind of defect."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from logbook.cells import with_kind
from logbook.expectation.coding import LOT, SETUP_COLUMNS, CodedRuns
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.expected_counts import ExpectedCounts, fit

USUAL_SD = {LOT: 0.3, "design": 0.3}
"""Of what is renewed and made anew, before the record says how widely it varies."""


@dataclass(frozen=True, slots=True, eq=False)
class Expectation:
    """One kind of defect, a row a run in the order of the coded runs.

    Attributes
    ----------
    observed, exposure
        (m,) pieces that show it and pieces inspected, or events and stitches; both 0 where the
        run did not record the kind.
    expected
        (m,) what the run was to be expected to show.
    run_sd
        Standard deviation of the log-normal luck of runs of one setup: how widely runs vary.
    lot_sd, design_sd
        How widely lots and designs vary, in log rates; 0 where the record has no several.
    fitted
        The fit behind it: effect and doubt of each level of each term.
    """

    observed: FloatArray
    exposure: FloatArray
    expected: FloatArray
    run_sd: float
    lot_sd: float
    design_sd: float
    fitted: ExpectedCounts


def counted(coded: CodedRuns, cells: pl.DataFrame, kind: str) -> tuple[FloatArray, FloatArray]:
    """Count and exposure of each run; 0 and 0 where it did not record the kind.

    Parameters
    ----------
    coded
        The runs.
    cells
        Cells grouped by ``run_ref``, with a ``kind`` column.
    kind
        The name of the kind.
    """
    own = with_kind(cells, kind).select("run_ref", "count", "exposure")
    beside = coded.runs.select("run_ref").join(own, on="run_ref", how="left", maintain_order="left")
    count, exposure = (
        beside[name].cast(pl.Float64).fill_null(0.0).to_numpy() for name in ("count", "exposure")
    )
    return count, exposure


def expected(
    coded: CodedRuns,
    observed: FloatArray,
    exposure: FloatArray,
    *,
    learn: BoolArray | None = None,
    not_excused: Sequence[str] = (),
    setup_excused: bool = True,
) -> Expectation:
    """Say what each run was to be expected to show.

    Parameters
    ----------
    coded
        The runs.
    observed, exposure
        (m,) of one kind (:func:`counted`).
    learn
        (m,) the runs that may be learnt from; all if not given.
    not_excused
        Columns whose own effect is left out of what is expected: asked about suppliers, a
        supplier's past is not its excuse. Combinations with the column and what lies within it (a
        supplier's lots) are left out too.
    setup_excused
        Whether backing, topping, needle and all else that is chosen for a job is allowed for;
        without it, expected is what such a job showed with the setups that it was given then.

    Raises
    ------
    KernelError
        No run is left to learn from.
    """
    terms = coded.terms
    if not setup_excused:
        chosen = set(coded.made_of([*SETUP_COLUMNS, "backing_lot"]))
        terms = {name: codes for name, codes in terms.items() if name not in chosen}
    found = fit(
        count=observed,
        exposure=exposure,
        terms=terms,
        learn=learn,
        not_excused=[name for name in coded.made_of(not_excused) if name in terms],
        usual_sd=USUAL_SD,
    )
    return Expectation(
        observed=observed,
        exposure=exposure,
        expected=found.expected,
        run_sd=found.run_sd,
        lot_sd=found.sd.get(LOT, 0.0),
        design_sd=found.sd.get("design", 0.0),
        fitted=found,
    )
