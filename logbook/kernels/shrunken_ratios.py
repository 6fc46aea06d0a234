"""Observed over expected counts of many levels, drawn towards 1 as far as luck may explain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from scipy.optimize import minimize
from scipy.special import gammainc, gammaincc, gammaincinv, gammaln, logsumexp

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray, Numbers, fraction, non_negative, same_shape

__all__ = ["GammaPrior", "ShrunkenRatios", "gamma_prior", "shrunken_ratios"]

APART = 0.05
"""Chance, before anything is counted, that a level is none of the usual ones: a bad lot."""
APART_SHAPE, APART_RATE = 1.0, 0.5
"""What such a level's ratio may be: gamma with mean 2 and as large a standard deviation."""
SPREADS = np.geomspace(0.02, 1.6, 16)
"""Standard deviations that the usual levels' ratios may have."""
USUAL_SPREAD = 0.4
"""Scale of the half-normal that says how likely each of them is before anything is counted."""
THOUGHT_WITHIN = 0.35
"""Standard deviation of the logarithm of a spread that is thought to be known."""
_STEPS = 34
"""Halvings that find a bound to nine digits."""
_AT_ONCE = 4096
_NO_WEIGHT = 1e-6

Components: TypeAlias = tuple[FloatArray, FloatArray, FloatArray]
"""Weights, shapes and rates, (m, J) each, of mixtures of gammas."""


@dataclass(frozen=True, slots=True)
class GammaPrior:
    """How the ratios of levels are distributed: gamma of ``shape`` and ``rate``.

    ``log_likelihood`` is that of the counts which it was estimated from.
    """

    shape: float
    rate: float
    log_likelihood: float

    @property
    def mean(self) -> float:
        """Mean ratio."""
        return self.shape / self.rate


@dataclass(frozen=True, slots=True, eq=False)
class ShrunkenRatios:
    """Ratios of levels, as counted and as they probably are.

    Attributes
    ----------
    ratio
        (m,) observed over expected; NaN where nothing was expected.
    shrunken
        (m,) mean of what the ratio may truly be.
    lower, upper
        (m,) equal-tailed interval of it.
    chance_above
        (m,) chance that it is truly above 1.
    """

    ratio: FloatArray
    shrunken: FloatArray
    lower: FloatArray
    upper: FloatArray
    chance_above: FloatArray


def gamma_prior(*, observed: Numbers, expected: Numbers, mean: float | None = None) -> GammaPrior:
    """Estimate how ratios of levels are distributed, by maximum likelihood.

    Parameters
    ----------
    observed, expected
        (m,) counts, and what they were to be (or their exposure: then ratios are rates).
    mean
        Mean ratio, where it is known; None: it is estimated.

    Raises
    ------
    KernelError
        A value is negative, or nothing is expected anywhere.

    Notes
    -----
    Counts given a gamma ratio are negative binomial: Clayton & Kaldor (1987), Biometrics
    43:671-681, sec. 3.1. Where levels do not differ more than counting makes them, the shape
    grows without bound.
    """
    counts, expect = _counted(observed, expected)
    start = float(counts.sum() / expect.sum()) or 1.0 / float(expect.sum())
    middle = start if mean is None else mean

    def minus_log_likelihood(at: FloatArray) -> float:
        shape = np.exp(at[0])
        rate = shape / (np.exp(at[1]) if mean is None else middle)
        return -float(_log_marginal(counts, expect, shape, rate).sum())

    starts = [[log_shape, np.log(middle)][: 1 + (mean is None)] for log_shape in (0.0, 3.0)]
    tight = {"xatol": 1e-9, "fatol": 1e-11, "maxiter": 4000}
    found = min(
        (minimize(minus_log_likelihood, at, method="Nelder-Mead", options=tight) for at in starts),
        key=lambda each: float(each.fun),
    )
    shape = float(np.exp(np.clip(found.x[0], -30.0, 30.0)))
    rate = shape / (float(np.exp(found.x[1])) if mean is None else middle)
    return GammaPrior(shape, rate, -float(found.fun))


def shrunken_ratios(
    *,
    observed: Numbers,
    expected: Numbers,
    luck: Numbers = 0.0,
    level: float = 0.95,
    prior: GammaPrior | None = None,
    spread: float | None = None,
) -> ShrunkenRatios:
    """Draw ratios of observed to expected towards 1, as far as luck may explain them.

    Parameters
    ----------
    observed, expected
        (m,) counts, and what they were to be.
    luck
        (m,) variance, relative to the square of what is expected, that comes on top of counting:
        runs of one setup differ, and what is expected is itself uncertain.
    level
        Of the intervals.
    prior
        How ratios are distributed. None: around 1, as far as these levels show, a few of them
        apart from the rest.
    spread
        Standard deviation that the usual levels' ratios are thought to have, within a factor of
        two or so; None where nothing is known of it.

    Returns
    -------
    ShrunkenRatios

    Raises
    ------
    KernelError
        A value is negative, or nothing is expected anywhere.

    Notes
    -----
    With a ``prior`` and no ``luck`` the posterior is gamma (Clayton & Kaldor 1987). Without, it is
    averaged over what the spread of the usual levels may be (a half-normal prior on their standard
    deviation), so that few levels do not pretend to know it; and each level may be one apart,
    whose ratio comes from a wide gamma: the mixture of DuMouchel (1999), The American
    Statistician 53:177-190, which lets a real outlier stand. Luck divides counts and expectations
    by the factor that it multiplies the variance by (quasi-likelihood: McCullagh & Nelder 1989,
    sec. 9.2).
    """
    counts, expect, more = same_shape(
        {
            "observed": non_negative(observed, "observed"),
            "expected": non_negative(expected, "expected"),
            "luck": non_negative(luck, "luck"),
        }
    )
    _counted(counts, expect)
    tail = (1.0 - fraction(level, "level")) / 2.0
    before = _spreads_before(spread)
    # How much luck adds to the variance depends on the ratio itself: first as if it were usual.
    widened = 1.0 + more * expect
    first = _posterior(counts / widened, expect / widened, prior, before)
    widened = 1.0 + more * expect * _mean(first)
    parts = _posterior(counts / widened, expect / widened, prior, before)
    weights, shapes, rates = parts = _that_weigh(parts)
    ratio = np.divide(counts, expect, out=np.full(counts.shape, np.nan), where=expect > 0)
    return ShrunkenRatios(
        ratio=ratio,
        shrunken=_mean(parts),
        lower=_quantile(parts, tail),
        upper=_quantile(parts, 1.0 - tail),
        chance_above=np.sum(weights * gammaincc(shapes, rates), axis=1),
    )


def _counted(observed: Numbers, expected: Numbers) -> tuple[FloatArray, FloatArray]:
    counts, expect = same_shape(
        {
            "observed": np.atleast_1d(non_negative(observed, "observed")),
            "expected": np.atleast_1d(non_negative(expected, "expected")),
        }
    )
    if not expect.sum() > 0:
        raise KernelError("Nothing was expected at any level.", "Widen what is looked at.")
    return counts, expect


def _spreads_before(spread: float | None) -> FloatArray:
    """Log weight of each spread before anything is counted.

    Steps of the grid are even in the logarithm, so that each stands for a width like its own.
    """
    if spread is None:
        return np.asarray(np.log(SPREADS) - 0.5 * (SPREADS / USUAL_SPREAD) ** 2)
    middle = np.clip(spread, SPREADS[0], SPREADS[-1])
    return np.asarray(-0.5 * (np.log(SPREADS / middle) / THOUGHT_WITHIN) ** 2)


def _posterior(
    counts: FloatArray, expect: FloatArray, prior: GammaPrior | None, before: FloatArray
) -> Components:
    """What each level's ratio may be, as a mixture of gammas."""
    y, e = counts[:, None], expect[:, None]
    if prior is not None:
        return np.ones_like(y), y + prior.shape, e + prior.rate
    shapes = SPREADS[None, :] ** -2.0
    usual = np.log1p(-APART) + _log_marginal(y, e, shapes, shapes)
    apart = np.log(APART) + _log_marginal(y, e, APART_SHAPE, APART_RATE)
    either = np.logaddexp(usual, apart)
    spread = before + either.sum(axis=0)
    spread -= logsumexp(spread)
    weights = np.exp(spread + usual - either)
    alone = np.sum(np.exp(spread + apart - either), axis=1, keepdims=True)
    return (
        np.hstack([weights, alone]),
        np.hstack([y + shapes, y + APART_SHAPE]),
        np.hstack([e + shapes, e + APART_RATE]),
    )


def _log_marginal(
    counts: FloatArray, expect: FloatArray, shape: Numbers, rate: Numbers
) -> FloatArray:
    """Log probability of counts whose ratio is gamma: negative binomial."""
    at, per = np.asarray(shape, dtype=np.float64), np.asarray(rate, dtype=np.float64)
    chance = gammaln(at + counts) - gammaln(at) - gammaln(counts + 1.0)
    some = np.where(expect > 0, expect, 1.0)
    happened = np.where(expect > 0, counts * np.log(some / (per + some)), 0.0)
    return np.asarray(chance - at * np.log1p(expect / per) + happened)


def _that_weigh(parts: Components) -> Components:
    """Leave out what weighs nothing at any level: with many levels few spreads are left."""
    kept = parts[0].max(axis=0) > _NO_WEIGHT
    weights, shapes, rates = (each[:, kept] for each in parts)
    return weights / weights.sum(axis=1, keepdims=True), shapes, rates


def _mean(parts: Components) -> FloatArray:
    weights, shapes, rates = parts
    return np.asarray(np.sum(weights * shapes / rates, axis=1))


def _quantile(parts: Components, chance: float) -> FloatArray:
    """Where the mixtures have ``chance`` below: between their parts' own, by halving."""
    weights, shapes, rates = parts
    pieces = [
        _quantile_of((weights[at:to], shapes[at:to], rates[at:to]), chance)
        for at in range(0, len(weights), _AT_ONCE)
        for to in (at + _AT_ONCE,)
    ]
    return np.concatenate(pieces)


def _quantile_of(parts: Components, chance: float) -> FloatArray:
    weights, shapes, rates = parts
    own = gammaincinv(shapes, chance) / rates
    # A part that hardly weighs may lie far out; it still bounds where the whole can be.
    low, high = own.min(axis=1), own.max(axis=1)
    for _ in range(_STEPS if weights.shape[1] > 1 else 0):
        middle = (low + high) / 2.0
        below = np.sum(weights * gammainc(shapes, rates * middle[:, None]), axis=1) < chance
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray((low + high) / 2.0)
