"""Rates with lots, designs and machines as random effects.

``fit`` is the generalized linear mixed model by maximum likelihood with the Laplace
approximation; ``marginal_mean`` turns its linear predictors into rates over new levels, and
``standardised_rates`` into rates of one population with all rows set alike.

``rows``        what is accepted
``families``    binomial and Poisson in one form
``separation``  columns and rows without finite estimates, set apart
``plain``       the fit without random effects, where the search starts
``crossing``    sums over levels, and the matrix that ties crossed levels
``laplace``     the likelihood at given standard deviations and coefficients, with its gradient
``search``      the best standard deviations and coefficients, from one start
``starts``      the search from more starts, where one is not enough
``firth``       the plain fit with Jeffreys' prior
``fitting``     all of it in order
"""

from logbook.kernels.mixed.fitting import fit
from logbook.kernels.mixed.marginal import marginal_mean
from logbook.kernels.mixed.result import MixedFit
from logbook.kernels.mixed.standardised import StandardisedRates, standardised_rates

__all__ = ["MixedFit", "StandardisedRates", "fit", "marginal_mean", "standardised_rates"]
