"""Rates as they would be if every row were sewn alike: marginal standardisation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray, Numbers, as_floats, non_negative
from logbook.kernels.mixed.families import FamilyName
from logbook.kernels.mixed.marginal import mean_and_slope


@dataclass(frozen=True, slots=True, eq=False)
class StandardisedRates:
    """Mean rates over one and the same population of rows.

    Attributes
    ----------
    rate, se
        (g,) mean rate under each design, and its standard error.
    covariance
        (g, g) behind ``se``, for differences and ratios.
    """

    rate: FloatArray
    se: FloatArray
    covariance: FloatArray


def standardised_rates(
    *,
    family: FamilyName,
    fixed: Numbers,
    fixed_covariance: Any,
    designs: Any,
    weight: Numbers = 1.0,
    offset: Numbers = 0.0,
    sd: Numbers = 0.0,
) -> StandardisedRates:
    """Say what the rate of a population would be with all rows of each kind in turn.

    Parameters
    ----------
    family
        ``"binomial"`` or ``"poisson"``.
    fixed, fixed_covariance
        (p,) coefficients and their (p, p) covariance, as fitted.
    designs
        (g, m, p) the population's design matrix, once for each of g kinds that all its rows are
        set to.
    weight
        A number or (m,): how much each row counts, for instance its pieces.
    offset
        A number or (m,): known part of the linear predictor.
    sd
        Standard deviation of the sum of all random effects: rates are means over new levels.

    Returns
    -------
    StandardisedRates
        NaN where a coefficient without an estimate takes part.

    Raises
    ------
    KernelError
        If the family is unknown, the shapes do not fit, or weights or ``sd`` are negative or
        all weights 0.

    Notes
    -----
    Standard errors by the delta method, with weights and ``sd`` taken as known (Lane & Nelder
    1982, Biometrics 38:613-621). With one column a stratum and kind it is the classical direct
    standardisation (Rothman, Greenland & Lash 2008, Modern Epidemiology 3rd ed., ch. 15).
    """
    coefficients, covariance = as_floats(fixed, "fixed"), as_floats(fixed_covariance, "covariance")
    design, weights = as_floats(designs, "designs"), non_negative(weight, "weight")
    p = coefficients.size
    if design.ndim != 3 or design.shape[2] != p or covariance.shape != (p, p):
        raise KernelError(
            f"designs has shape {design.shape} and the covariance {covariance.shape}, "
            f"but there are {p} coefficients.",
            "Pass one design matrix for each kind, with the columns of the fit.",
        )
    rows = design.shape[1]
    if weights.shape not in ((), (rows,)) or not weights.any():
        raise KernelError(
            f"weight must be one number above 0, or one for each of {rows} rows.",
            "Weigh the rows by their pieces.",
        )
    share = np.broadcast_to(weights, (rows,)) / np.broadcast_to(weights, (rows,)).sum()
    eta = design @ coefficients + as_floats(offset, "offset")
    mean, slope = mean_and_slope(family, eta, non_negative(sd, "sd"))
    gradient = np.einsum("gm,gmp->gp", slope * share, design)
    spread = gradient @ covariance @ gradient.T
    return StandardisedRates(mean @ share, np.sqrt(np.diag(spread)), spread)
