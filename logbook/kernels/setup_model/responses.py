"""How a rate follows from the sum of effects: log odds for pieces, log rate for events.

A run's own luck, beyond counting, multiplies its odds (or rate). With ``v`` the unit variance, a
group of runs of sizes ``m`` has variance ``n v + k v**2 T``, where ``k`` is the overdispersion and
``n`` the sum of ``m``.
For pieces ``T`` is the sum of ``m (m - 1)``: one piece alone shows no clustering. For events it is
the sum of ``m**2``.
"""

from __future__ import annotations

import numpy as np
from scipy.special import expit

from logbook.kernels.arguments import FloatArray
from logbook.kernels.count_series import Measure

HIGHEST_LOG_RATE = 100.0
"""Keeps an exponential finite while a fit is still on its way."""


def rate_at(eta: FloatArray, measure: Measure) -> FloatArray:
    """Rates of sums of effects ``eta``."""
    if measure == "pieces":
        return np.asarray(expit(eta))
    return np.asarray(np.exp(np.minimum(eta, HIGHEST_LOG_RATE)))


def slope_at(rate: FloatArray, measure: Measure) -> FloatArray:
    """Derivative of a rate by its sum of effects, which is also the unit variance."""
    return rate * (1.0 - rate) if measure == "pieces" else rate


def skewness_at(rate: FloatArray, measure: Measure) -> FloatArray:
    """Derivative of :func:`slope_at` by the sum of effects: the unit third central moment."""
    return rate * (1.0 - rate) * (1.0 - 2.0 * rate) if measure == "pieces" else rate


def residual_at(
    eta: FloatArray, count: FloatArray, trials: FloatArray, measure: Measure
) -> FloatArray:
    """Counts less what is expected, right to the last digit also where nearly all show it."""
    if measure == "pieces":
        return np.asarray(count * expit(-eta) - (trials - count) * expit(eta))
    return count - trials * rate_at(eta, measure)


def log_likelihood(
    eta: FloatArray, count: FloatArray, trials: FloatArray, measure: Measure
) -> float:
    """Log likelihood of counts without the part that does not depend on ``eta``."""
    if measure == "pieces":
        odds = np.maximum(eta, 0.0) + np.log1p(np.exp(-np.abs(eta)))
        return float(np.sum(count * eta - trials * odds))
    return float(np.sum(count * eta - trials * rate_at(eta, measure)))


def effect_of(rate: float, measure: Measure) -> float:
    """Sum of effects that gives a rate."""
    return float(np.log(rate / (1.0 - rate)) if measure == "pieces" else np.log(rate))


def clustering(trials: FloatArray, squares: FloatArray, measure: Measure) -> FloatArray:
    """``T`` of the module's text: what a run's own luck is multiplied by."""
    return np.maximum(squares - trials, 0.0) if measure == "pieces" else squares
