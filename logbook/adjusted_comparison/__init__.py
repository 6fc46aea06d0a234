"""Fair comparisons: cells in, figures out that allow for jobs, designs, lots and luck.

It stands between the cells and the model of :mod:`logbook.kernels.setup_model`: it says which
effects there are, codes the cells, and puts what the model finds back into words.
"""

from logbook.adjusted_comparison.curves import CurvePoint, FairCurve
from logbook.adjusted_comparison.factors import FairEffect, FairFactors, fair_effects, fair_factors
from logbook.adjusted_comparison.pooled import OTHERS, PooledKinds, pooled_kinds
from logbook.adjusted_comparison.predictions import (
    Fitted,
    Predicted,
    Saved,
    Worth,
    fitted_kinds,
    predictions,
)
from logbook.adjusted_comparison.rows import CELLS_BY
from logbook.adjusted_comparison.suppliers import FairFigures, fair_estimates
from logbook.adjusted_comparison.together import Together

__all__ = [
    "CELLS_BY",
    "OTHERS",
    "CurvePoint",
    "FairCurve",
    "FairEffect",
    "FairFactors",
    "FairFigures",
    "Fitted",
    "PooledKinds",
    "Predicted",
    "Saved",
    "Together",
    "Worth",
    "fair_effects",
    "fair_estimates",
    "fair_factors",
    "fitted_kinds",
    "pooled_kinds",
    "predictions",
]
