"""What must be alike for the levels of a factor to be compared, and what changes along with it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from logbook.adjusted_comparison.rows import CodedRows
from logbook.adjusted_comparison.terms import DENSITY, LOT, SUPPLIER
from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model import NO_LEVEL
from logbook.kernels.setup_model.setups import IntArray

_ALIKE: Mapping[str, tuple[str, ...]] = {
    "fabric": ("backing", "weight_band"),
    "backing": ("fabric", "weight_band"),
    "weight_band": ("fabric", "backing"),
    "backing_layers": ("fabric", "backing"),
    "backing_shade": ("fabric", "backing"),
    SUPPLIER: ("fabric", "backing"),
}
_BOUGHT = {SUPPLIER, "backing", "weight_band"}


def strata_for(rows: CodedRows, factor: str) -> IntArray:
    """What must be alike for levels of a factor to be compared, as one code a row.

    Rows that do not say their level are in no stratum: they may have had any, so that they are
    neither the level nor the others.
    """
    strata: IntArray = np.zeros(rows.setups.trials.size, dtype=np.intp)
    for name in _ALIKE.get(factor, ("fabric",)):
        strata = strata * len(rows.levels[name]) + rows.setups.factors[name]
    unsaid = rows.code(factor, None)
    if unsaid == NO_LEVEL:
        return strata
    return np.where(rows.setups.factors[factor] == unsaid, NO_LEVEL, strata)


def renewed_with(factor: str) -> str | None:
    """The factor whose levels do not last where this one changes: another backing, another lot."""
    return LOT if factor in _BOUGHT else None


def slope_with(rows: CodedRows, factor: str) -> tuple[str | None, FloatArray | None]:
    """The measured quantity that goes with a factor, and its value at each of the levels."""
    if factor != "density_band":
        return None, None
    codes = rows.setups.factors[factor]
    values = np.zeros(len(rows.levels[factor]))
    values[codes] = rows.setups.slopes[DENSITY]
    return DENSITY, values
