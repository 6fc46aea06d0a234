"""Adds up what was touched."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import polars as pl

from logbook.costing import costed
from logbook.questions.trace.result import Counts, JobTouched, TraceResult
from logbook.runs.address import Level
from logbook.shop import Shop

_PIECES = pl.coalesce("pieces_sewn", "pieces_inspected")


def analyse(
    runs: pl.DataFrame,
    *,
    of: Mapping[str, Level],
    counts: Sequence[Counts],
    cells: pl.DataFrame,
    pieces_sewn: int,
    pieces_inspected: int,
    shop: Shop,
) -> TraceResult:
    """Add up runs, jobs, customers, pieces, defects and money.

    Parameters
    ----------
    runs
        The runs touched, oldest first.
    of
        What was followed.
    counts
        What the runs showed, kind by kind, and what was to be expected.
    cells
        Their cells, one a kind.
    pieces_sewn, pieces_inspected
        Of all of them.
    shop
        Whose costs count.
    """
    found = costed(cells, kinds=shop.kinds, shop=shop)
    known = [each.cost for each in found.kinds if math.isfinite(each.cost)]
    return TraceResult(
        of=dict(of),
        runs=runs,
        jobs=_jobs(runs),
        customers=tuple(runs["customer"].drop_nulls().unique().sort()),
        pieces_sewn=pieces_sewn,
        pieces_inspected=pieces_inspected,
        counts=tuple(counts),
        money=sum(known) if known or not found.kinds else math.nan,
        unpriced=tuple(each.kind.label for each in found.kinds if math.isnan(each.cost)),
        held=tuple(runs.filter(~pl.col("needle_parts_found"))["run_ref"]),
        currency=shop.currency,
        costs_assumed=shop.costs_assumed,
    )


def _jobs(runs: pl.DataFrame) -> tuple[JobTouched, ...]:
    found = (
        runs.filter(pl.col("job").is_not_null())
        .group_by("job", maintain_order=True)
        .agg(
            pl.col("customer").drop_nulls().first(),
            pl.len().alias("runs"),
            _PIECES.sum().alias("pieces"),
            pl.col("finished_at").max().alias("last"),
        )
    )
    return tuple(JobTouched(*row) for row in found.iter_rows())
