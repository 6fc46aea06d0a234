"""Everything a run was sewn with, in one model: the engine behind fair comparisons.

``setups``      the rows
``terms``       which effects there are
``fitting``     the fit
``variances``   how far lots, designs and combinations differ; how restless runs are
``contrasts``   rates over a population of pieces, and their doubt
``levels``      one level against another (suppliers)
``needed``      how much more record would settle it
``effects``     one level against the others (factors)
``prediction``  the rate to expect of a setup, kinds of defect together
``support``     whether the record holds enough like runs
"""

from logbook.kernels.setup_model.contrasts import standardised, variance_and_degrees
from logbook.kernels.setup_model.fitting import SetupFit, fit
from logbook.kernels.setup_model.levels import LevelComparison, compare, shared_rows, verdict
from logbook.kernels.setup_model.needed import Needed, more_needed
from logbook.kernels.setup_model.setups import NO_LEVEL, Setups
from logbook.kernels.setup_model.terms import Term

__all__ = [
    "NO_LEVEL",
    "LevelComparison",
    "Needed",
    "SetupFit",
    "Setups",
    "Term",
    "compare",
    "fit",
    "more_needed",
    "shared_rows",
    "standardised",
    "variance_and_degrees",
    "verdict",
]
