"""What suppliers are compared by: the fit, what has changed lately, and two side by side."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from logbook.adjusted_comparison.affordable import fit_affordable
from logbook.adjusted_comparison.lately import (
    LATELY,
    LATELY_TERM,
    LateChange,
    late_changes,
    with_late_changes,
)
from logbook.adjusted_comparison.rows import CodedRows
from logbook.adjusted_comparison.terms import LOT, SUPPLIER, terms_for
from logbook.kernels.arguments import BoolArray
from logbook.kernels.setup_model import (
    NO_LEVEL,
    LevelComparison,
    SetupFit,
    compare,
    shared_rows,
)
from logbook.kernels.setup_model.setups import IntArray

WRONG_STILL = 0.35
"""Share of the lots put right that are taken to be wrong still: what widens intervals, in invented
shops, at least to what they would be with every lot written down well."""


@dataclass(frozen=True, slots=True, eq=False)
class Comparing:
    """What every supplier is compared by."""

    rows: CodedRows
    fitted: SetupFit
    reference: str
    margin: float | None
    level: float
    lot_sd: float
    lately: tuple[LateChange, ...]

    @property
    def widened(self) -> float:
        """What lots that were put right widen intervals by: some of them are wrong still.

        Runs under a wrong lot make lots look more alike than they are, by as much.
        """
        rows = self.rows
        bought = rows.setups.factors[LOT] != NO_LEVEL
        if not bought.any():
            return 1.0
        put_right = rows.lot_unsure & np.append(rows.lot_recorded, False)[rows.setups.factors[LOT]]
        unsure = np.average(put_right[bought], weights=rows.setups.runs[bought])
        return 1.0 / (1.0 - WRONG_STILL * float(unsure))

    def late_code(self, name: str) -> dict[str, int]:
        """What goes with a supplier where some have changed lately: that it has, or has not."""
        if not self.lately:
            return {}
        return {LATELY: self.rows.code(LATELY, name)}


def fitted_comparison(
    rows: CodedRows,
    present: Iterable[str],
    against: str,
    margin: float | None,
    level: float,
) -> Comparing:
    """Fit; and where a supplier has changed lately once more, with that allowed for."""
    terms = terms_for("within_designs", rows.varying)
    fitted = fit_affordable(setups=rows.setups, terms=terms)
    changes = late_changes(rows, fitted, sorted(present))
    if changes:
        rows = with_late_changes(rows, changes)
        fitted = fit_affordable(setups=rows.setups, terms=(*terms, LATELY_TERM))
    allowed = None if rows.setups.measure == "events" else margin
    return Comparing(rows, fitted, against, allowed, level, _lot_sd(rows, fitted), changes)


def shared_jobs(rows: CodedRows, name: str, against: str, population: BoolArray) -> BoolArray:
    """Rows on a fabric and backing that both were used on."""
    factors = rows.setups.factors
    strata: IntArray = factors["fabric"] * len(rows.levels["backing"]) + factors["backing"]
    return shared_rows(
        strata=np.where(population, strata, NO_LEVEL),
        codes=factors[SUPPLIER],
        runs=rows.setups.runs,
        level=rows.code(SUPPLIER, name),
        reference=rows.code(SUPPLIER, against),
    )


def compared(
    comparing: Comparing, name: str, shared: BoolArray, comparisons: int = 1
) -> LevelComparison:
    """Set a supplier against the reference on the next lots, over the ``shared`` rows."""
    return compare(
        fit=comparing.fitted,
        factor=SUPPLIER,
        level=comparing.rows.code(SUPPLIER, name),
        reference=comparing.rows.code(SUPPLIER, comparing.reference),
        shared=shared,
        renewed=LOT,
        comparisons=comparisons,
        confidence=comparing.level,
        besides=(comparing.late_code(name), comparing.late_code(comparing.reference)),
        widened=comparing.widened,
    )


def exposure_of(rows: CodedRows, shared: BoolArray) -> float:
    """Pieces, or stitches, of some rows."""
    return float(rows.setups.trials[shared].sum()) * rows.unit


def _lot_sd(rows: CodedRows, fitted: SetupFit) -> float:
    """Spread of lots, where some supplier and backing has two recorded ones."""
    recorded = [
        word for word, there in zip(rows.levels[LOT], rows.lot_recorded, strict=True) if there
    ]
    families = [str(word).rsplit("\u0001", 1)[0] for word in recorded]
    return fitted.sd(LOT) if len(set(families)) < len(families) else math.nan
