"""Rates with lots, designs and machines as random effects.

``fit`` is the generalized linear mixed model by maximum likelihood with the Laplace
approximation; ``marginal_mean`` turns its linear predictors into rates over new levels.

``rows``        what is accepted
``families``    binomial and Poisson in one form
``separation``  columns and rows without finite estimates, set apart
``plain``       the fit without random effects, where the search starts
``crossing``    sums over levels, and the matrix that ties crossed levels
``laplace``     the likelihood at given standard deviations and coefficients, with its gradient
``search``      the best standard deviations and coefficients
``fitting``     all of it in order
"""

from logbook.kernels.mixed.fitting import fit
from logbook.kernels.mixed.marginal import marginal_mean
from logbook.kernels.mixed.result import MixedFit

__all__ = ["MixedFit", "fit", "marginal_mean"]
