"""Fair comparisons: cells in, figures out that allow for jobs, designs, lots and luck.

It stands between the cells and the model of :mod:`logbook.kernels.setup_model`: it says which
effects there are, codes the cells, and puts what the model finds back into words.
"""

from logbook.fairness.curves import CurvePoint, FairCurve
from logbook.fairness.factors import FairEffect, FairFactors, fair_effects, fair_factors
from logbook.fairness.predictions import Fitted, Predicted, fitted_kinds, predictions
from logbook.fairness.rows import CELLS_BY
from logbook.fairness.suppliers import FairFigures, fair_estimates
from logbook.fairness.together import Together

__all__ = [
    "CELLS_BY",
    "CurvePoint",
    "FairCurve",
    "FairEffect",
    "FairFactors",
    "FairFigures",
    "Fitted",
    "Predicted",
    "Together",
    "fair_effects",
    "fair_estimates",
    "fair_factors",
    "fitted_kinds",
    "predictions",
]
