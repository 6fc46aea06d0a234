"""Rates with fixed effects and random intercepts, as published mixed models are fitted.

The front of the engine in :mod:`logbook.kernels.setup_model` with its priors opened: flat on the
fixed effects, none on standard deviations, no variance beyond counting, and the marginal
likelihood by Laplace's approximation as the objective.

``record``  what is accepted, in the form that the engine takes
``result``  what comes back, and the sentences that go with it
``front``   the fit, if in doubt from several starts
"""

from logbook.kernels.mixed.front import fit
from logbook.kernels.mixed.result import MixedFit

__all__ = ["MixedFit", "fit"]
