"""Effects added to a fitted model one at a time, judged without fitting it again.

One step of the normal equations from where the fit stands (a score test: Rao 1948, Proc Camb Phil
Soc 44:50-57), lots and the other coefficients free to give way, their standard deviations held.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model.contrasts import MOST_DEGREES, degrees_of
from logbook.kernels.setup_model.fitting import SetupFit, working_weights
from logbook.kernels.setup_model.responses import rate_at, residual_at, slope_at


@dataclass(frozen=True, slots=True)
class AddedEffect:
    """The last of the added effects, in log odds (or log rate), with its doubt."""

    estimate: float
    error: float
    degrees: float


def added_effect(*, fit: SetupFit, columns: Sequence[FloatArray]) -> AddedEffect | None:
    """Judge what one more effect would be.

    Parameters
    ----------
    fit
        The fitted model.
    columns
        (m,) each: what rows multiply the added effects by. All are added without a prior; the
        answer is of the last one.

    Returns
    -------
    AddedEffect or None
        None where the record does not tell the added effects from what is in the model.
    """
    setups = fit.setups
    eta = fit.layout.predict(fit.rows, fit.coefficients) + setups.offset
    rate = rate_at(eta, setups.measure)
    weights = working_weights(fit, rate)
    unit = setups.trials * slope_at(rate, setups.measure)
    residual = residual_at(eta, setups.count, setups.trials, setups.measure) * weights / unit
    added = np.array(columns)
    across = np.array([fit.layout.gather(fit.rows, weights * each) for each in added])
    carried = fit.covariance.times(across.T)
    own = (added * weights) @ added.T
    left = own - across @ carried
    if not np.all(np.linalg.eigvalsh(left) > 1e-6 * np.diag(own).max()):
        return None
    factor = cho_factor(left)
    last = cho_solve(factor, np.eye(len(added))[-1])
    variance = float(last[-1])
    degrees = degrees_of(fit=fit, carried=-carried @ last, variance=variance)
    return AddedEffect(
        estimate=float(last @ (added @ residual)),
        error=float(np.sqrt(variance)),
        degrees=min(degrees, MOST_DEGREES),
    )
