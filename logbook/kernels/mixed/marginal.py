"""The rate over a population of levels, not at the middle one."""

from __future__ import annotations

import numpy as np
from scipy.special import expit, roots_hermitenorm

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray, Numbers, as_floats, non_negative
from logbook.kernels.mixed.families import FAMILIES, FamilyName

_NODES = 60


def marginal_mean(*, family: FamilyName, linear_predictor: Numbers, sd: Numbers) -> FloatArray:
    """Say what rate to expect over new levels of the random effects.

    Parameters
    ----------
    family
        ``"binomial"`` or ``"poisson"``.
    linear_predictor
        Fixed part on the link scale, any shape.
    sd
        Standard deviation of the sum of all random effects: for crossed groupings the root of
        the sum of squares.

    Returns
    -------
    ndarray
        The mean over normal random effects of the rate at ``linear_predictor`` plus them; at
        sd 0 the rate itself. For rare defects it is the larger of the two.

    Raises
    ------
    KernelError
        If the family is unknown or ``sd`` negative.

    Notes
    -----
    Binomial: Gauss-Hermite quadrature with 60 nodes (Abramowitz & Stegun 1964, 25.4.46).
    Poisson: exp(eta + sd^2 / 2).
    """
    eta, spread = as_floats(linear_predictor, "linear_predictor"), non_negative(sd, "sd")
    return mean_and_slope(family, eta, spread)[0]


def mean_and_slope(
    family: FamilyName, eta: FloatArray, spread: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the mean rate over new levels, and its slope by ``eta``; shapes broadcast.

    Raises
    ------
    KernelError
        If the family is unknown.
    """
    if family not in FAMILIES:
        raise KernelError(f"There is no family called {family!r}.", "Use binomial or poisson.")
    if family == "poisson":
        mean = np.asarray(np.exp(eta + spread**2 / 2))
        return mean, mean
    nodes, weights = roots_hermitenorm(_NODES)
    at_nodes = expit(eta[..., np.newaxis] + spread[..., np.newaxis] * nodes)
    weights = weights / weights.sum()
    return (at_nodes * weights).sum(axis=-1), (at_nodes * (1 - at_nodes) * weights).sum(axis=-1)
