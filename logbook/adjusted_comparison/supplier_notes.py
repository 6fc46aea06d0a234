"""What to keep in mind of a comparison of suppliers: lots above all."""

from __future__ import annotations

import math

import numpy as np

from logbook.adjusted_comparison.supplier_comparison import Comparing
from logbook.adjusted_comparison.terms import LOT, SUPPLIER
from logbook.kernels.arguments import BoolArray


def few_lots(comparing: Comparing, name: str, shared: BoolArray) -> tuple[str, ...]:
    """Say where a supplier's pieces are of too few lots to tell by."""
    rows = comparing.rows
    own = shared & (rows.setups.factors[SUPPLIER] == rows.code(SUPPLIER, name))
    lots = np.unique(rows.setups.factors[LOT][own])
    recorded = sum(rows.lot_recorded[lot] for lot in lots)
    if recorded > 1:
        return ()
    what = "one lot" if recorded == 1 else "no recorded lot"
    known = (
        "how its lots differ is taken from other suppliers' lots"
        if math.isfinite(comparing.lot_sd)
        else "how lots differ is not on record at all, and a usual spread is taken"
    )
    return (f"{name}'s pieces on the jobs compared are from {what}: {known}.",)


def common_notes(comparing: Comparing, population: BoolArray, comparisons: int) -> tuple[str, ...]:
    """Say what all the figures carry."""
    rows = comparing.rows
    notes = list(comparing.fitted.warnings)
    if comparisons > 1:
        notes.append(
            f"The intervals of the differences are widened so that all {comparisons} hold together."
        )
    unknown = population & ~np.append(rows.lot_recorded, True)[rows.setups.factors[LOT]]
    if unknown.any():
        runs = int(rows.setups.runs[unknown].sum())
        notes.append(
            f"{runs:,} runs name no lot of backing. They count as one lot for each supplier and "
            "backing; writing lots down would narrow the intervals."
        )
    unsure = population & rows.lot_unsure & ~unknown
    if unsure.any():
        runs = int(rows.setups.runs[unsure].sum())
        notes.append(
            f"{runs:,} runs name no lot of backing, or one that does not fit. They count to the "
            "lot in use at the time; as some of these are wrong still, all intervals are "
            f"{100 * (comparing.widened - 1):.0f} % wider."
        )
    return tuple(notes)
