"""Whether as many more pieces, on new lots, as a comparison asks for would settle it.

The record of both suppliers is repeated in truth: the same shop sews on, each time on new lots. How
far the doubt then left lies from the one that was planned for says how far the plan was out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import polars as pl
from invented_runs import cells_of, draw_runs
from invented_shops import SUPPLIERS, Shop, make_shop
from scipy.special import ndtri
from supplier_measures import kind_named

from logbook.adjusted_comparison.rows import CodedRows, coded_rows
from logbook.adjusted_comparison.supplier_comparison import (
    Comparing,
    compared,
    fitted_comparison,
    shared_jobs,
)
from logbook.adjusted_comparison.terms import LOT, SUPPLIER
from logbook.kernels.setup_model import LevelComparison, more_needed
from logbook.kernels.setup_model.levels import rows_of_both
from logbook.kernels.setup_model.setups import NO_LEVEL

REPEATS = 3
"""More records of both that a plan is made for."""
POWER = 0.8
RIGHT_WITHIN = 1.5


def needed_in_worlds(scenario: str, *, worlds: range, runs: int, kind: str) -> list[float]:
    """How many times the planned pieces it would truly take, a comparison of each shop."""
    return [
        times for world in worlds for times in _times(make_shop(world, scenario), runs, world, kind)
    ]


def _times(shop: Shop, runs: int, world: int, kind: str) -> Iterator[float]:
    cells = cells_of(draw_runs(shop, runs, world), (kind,))
    rows = coded_rows(cells, kind=kind_named(kind))
    against = str(cells["backing_supplier"].value_counts(sort=True)["backing_supplier"][0])
    name = next(each for each in SUPPLIERS if each != against)
    before = _comparison(rows, name, against)
    if before is None:
        return
    gap = _planned_gap(*before)
    if gap is None:
        return
    jobs = cells.filter(pl.Series(before[1].shared)).select("fabric", "backing").unique()
    more = [cells]
    for repeat in range(1, REPEATS + 1):
        again = _on_new_lots(shop, runs, world, repeat, kind)
        more.append(
            again.filter(pl.col("backing_supplier").is_in([name, against])).join(
                jobs, on=["fabric", "backing"], how="semi"
            )
        )
    after = _comparison(coded_rows(pl.concat(more), kind=kind_named(kind)), name, against)
    if after is not None:
        doubt = (after[1].quantile + float(ndtri(POWER))) * math.sqrt(after[1].variance)
        yield (doubt / gap) ** 2


def _comparison(
    rows: CodedRows, name: str, against: str
) -> tuple[Comparing, LevelComparison, str] | None:
    comparing = fitted_comparison(rows, (name, against), against, None, 0.95)
    population = rows.setups.factors[SUPPLIER] != NO_LEVEL
    shared = shared_jobs(rows, name, against, population)
    return (comparing, compared(comparing, name, shared), name) if shared.any() else None


def _planned_gap(comparing: Comparing, found: LevelComparison, name: str) -> float | None:
    """The difference that ``REPEATS`` more records are planned to show."""
    rows = comparing.rows
    codes = rows.code(SUPPLIER, name), rows.code(SUPPLIER, comparing.reference)
    both = rows_of_both(rows.setups, factor=SUPPLIER, levels=codes, shared=found.shared)
    low, high = 0.0, 1.0
    for _ in range(40):
        gap = (low + high) / 2
        asked = replace(found, difference=replace(found.difference, estimate=-gap))
        plan = more_needed(
            fit=comparing.fitted, comparison=asked, rows=both, renewed=LOT, margin=None
        )
        low, high = (gap, high) if plan is None or plan.repeats > REPEATS else (low, gap)
    return high if high < 1.0 else None


def _on_new_lots(shop: Shop, runs: int, world: int, repeat: int, kind: str) -> pl.DataFrame:
    """The same shop once more, with lots as far apart as its first ones and none of them."""
    rng = np.random.default_rng([world, repeat, 909])
    order = rng.permutation(shop.lot.shape[1])
    fresh = replace(shop, lot=shop.lot[:, order] * rng.choice([-1.0, 1.0], order.size))
    cells = cells_of(draw_runs(fresh, runs, 1_000 * repeat + world), (kind,))
    return cells.with_columns(
        pl.concat_str(pl.lit(f"{repeat}-"), "backing_lot").alias("backing_lot"),
        pl.concat_str(pl.lit(f"{repeat}-"), "run_ref").alias("run_ref"),
    )


@dataclass(frozen=True, slots=True)
class NeededSummary:
    """Of the pieces it truly takes over those planned: quartiles, and percent within 1.5 times."""

    comparisons: int
    lower_quartile: float
    median: float
    upper_quartile: float
    right_within_half_again: float


def needed_summary(found: list[float]) -> NeededSummary:
    """Sum up."""
    quartiles = np.quantile(found, [0.25, 0.5, 0.75])
    right = [1 / RIGHT_WITHIN <= each <= RIGHT_WITHIN for each in found]
    return NeededSummary(len(found), *map(float, quartiles), 100 * float(np.mean(right)))
