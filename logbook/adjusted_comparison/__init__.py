"""Adjusted comparisons: cells in, figures out that allow for jobs, designs, lots and luck.

It stands between the cells and the model of :mod:`logbook.kernels.setup_model`: it says which
effects there are, codes the cells, and puts what the model finds back into words.
"""

from logbook.adjusted_comparison.aliasing import Aliased
from logbook.adjusted_comparison.curves import AdjustedCurve, CurvePoint
from logbook.adjusted_comparison.evidence import ExpectedSaving
from logbook.adjusted_comparison.factors import AdjustedEffect, AdjustedFactors, adjusted_factors
from logbook.adjusted_comparison.outlooks import Outlook, outlook
from logbook.adjusted_comparison.pooled import OTHERS, PooledKinds, pooled_kinds
from logbook.adjusted_comparison.predictions import (
    FittedKind,
    Prediction,
    UnitCosts,
    fit_kinds,
    predict_setups,
)
from logbook.adjusted_comparison.rows import CELLS_BY
from logbook.adjusted_comparison.supplier_figures import AdjustedSupplier
from logbook.adjusted_comparison.suppliers import adjusted_suppliers

__all__ = [
    "CELLS_BY",
    "OTHERS",
    "AdjustedCurve",
    "AdjustedEffect",
    "AdjustedFactors",
    "AdjustedSupplier",
    "Aliased",
    "CurvePoint",
    "ExpectedSaving",
    "FittedKind",
    "Outlook",
    "PooledKinds",
    "Prediction",
    "UnitCosts",
    "adjusted_factors",
    "adjusted_suppliers",
    "fit_kinds",
    "outlook",
    "pooled_kinds",
    "predict_setups",
]
