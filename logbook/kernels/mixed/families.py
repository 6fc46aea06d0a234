"""Binomial counts with logit link and Poisson counts with log link, in one form.

Both have log likelihood y eta - n b(eta) + constant for a linear predictor eta, with n trials
(Poisson: 1, and the log of its exposure within eta). Since the links are canonical, the
derivatives of n b are the mean, the variance and the skewness of y.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from scipy.special import expit, gammaln, logit

from logbook.kernels.arguments import FloatArray

FamilyName: TypeAlias = Literal["binomial", "poisson"]
Moments: TypeAlias = tuple[FloatArray, FloatArray, FloatArray]
"""Residual, variance and third central moment of each count."""

_LARGEST_LOG_RATE = 300.0  # beyond any count; keeps a step gone astray from overflowing


@dataclass(frozen=True, slots=True)
class Family:
    """What the fit needs to know of a distribution.

    Attributes
    ----------
    cumulant
        (eta, n) -> n b(eta), (m,).
    moments
        (eta, y, n) -> y less its mean, variance, third central moment, each (m,).
    constant
        (y, n) -> the part of the log likelihood without eta, summed.
    first_guess
        (y, n) -> a linear predictor near the data, (m,).
    """

    name: FamilyName
    cumulant: Callable[[FloatArray, FloatArray], FloatArray]
    moments: Callable[[FloatArray, FloatArray, FloatArray], Moments]
    constant: Callable[[FloatArray, FloatArray], float]
    first_guess: Callable[[FloatArray, FloatArray], FloatArray]

    def log_likelihood(self, eta: FloatArray, y: FloatArray, n: FloatArray) -> float:
        """Return the log likelihood without its constant."""
        return float((y * eta - self.cumulant(eta, n)).sum())


def _binomial_cumulant(eta: FloatArray, n: FloatArray) -> FloatArray:
    # log(1 + exp(eta)) without overflow, several times quicker than logaddexp.
    return np.asarray(n * (np.maximum(eta, 0.0) + np.log1p(np.exp(-np.abs(eta)))))


def _binomial_moments(eta: FloatArray, y: FloatArray, n: FloatArray) -> Moments:
    p, q = expit(eta), expit(-eta)
    variance = n * p * q
    # y - n p, but right to the last digit also where p is nearly 1.
    return y * q - (n - y) * p, variance, variance * (q - p)


def _binomial_constant(y: FloatArray, n: FloatArray) -> float:
    return float(np.sum(gammaln(n + 1) - gammaln(y + 1) - gammaln(n - y + 1)))


def _poisson_cumulant(eta: FloatArray, n: FloatArray) -> FloatArray:
    return np.asarray(n * np.exp(np.minimum(eta, _LARGEST_LOG_RATE)))


def _poisson_moments(eta: FloatArray, y: FloatArray, n: FloatArray) -> Moments:
    mean = _poisson_cumulant(eta, n)
    return y - mean, mean, mean


def _poisson_constant(y: FloatArray, n: FloatArray) -> float:
    return -float(np.sum(n * gammaln(y + 1)))


FAMILIES: dict[str, Family] = {
    "binomial": Family(
        "binomial",
        _binomial_cumulant,
        _binomial_moments,
        _binomial_constant,
        lambda y, n: np.asarray(logit((y + 0.5) / (n + 1))),
    ),
    "poisson": Family(
        "poisson",
        _poisson_cumulant,
        _poisson_moments,
        _poisson_constant,
        lambda y, n: np.log((y + 0.1) / n),
    ),
}
