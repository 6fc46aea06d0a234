"""How far ratios of observed to expected counts stray where nothing but luck is at work."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import nbinom, poisson

from logbook.kernels.arguments import FloatArray, Numbers, fraction, non_negative, same_shape

__all__ = ["Dispersion", "FunnelLimits", "between_variance", "dispersion", "funnel_limits"]

WINSORISED = 0.1
"""Share of the levels at either end that are moved in before the spread is measured."""


@dataclass(frozen=True, slots=True, eq=False)
class Dispersion:
    """How much more than counting alone lets them, levels differ.

    Attributes
    ----------
    z
        (m,) naive scores: (observed - expected) / sqrt(expected).
    phi
        Mean square of the winsorised scores, 1 on average if counting alone is at work.
    tau_squared
        Variance of the true ratios between levels.
    """

    z: FloatArray
    phi: float
    tau_squared: float


@dataclass(frozen=True, slots=True, eq=False)
class FunnelLimits:
    """(m,) ratios between which a level of that expectation lies."""

    lower: FloatArray
    upper: FloatArray


def dispersion(
    *, observed: Numbers, expected: Numbers, winsorised: float = WINSORISED
) -> Dispersion:
    """Measure how much levels differ beyond counting.

    Parameters
    ----------
    observed, expected
        (m,) counts and what they were to be; levels where nothing was expected are left out.
    winsorised
        Share at either end whose scores are moved in to the score there, so that the few that
        really stand out do not excuse themselves.

    Notes
    -----
    Spiegelhalter (2005), Statistics in Medicine 24:1185-1202, appendix A.3 (phi) and A.4: the
    moment estimate of DerSimonian & Laird (1986), Controlled Clinical Trials 7:177-188, with
    weights ``expected``; 0 where phi is below 1.
    """
    counts, expect = same_shape(
        {
            "observed": np.atleast_1d(non_negative(observed, "observed")),
            "expected": np.atleast_1d(non_negative(expected, "expected")),
        }
    )
    there = expect > 0
    z = np.full(counts.shape, np.nan)
    z[there] = (counts[there] - expect[there]) / np.sqrt(expect[there])
    scores, weights = z[there], expect[there]
    if scores.size < 2:
        return Dispersion(z, np.nan, 0.0)
    moved = int(np.floor(winsorised * scores.size))
    ordered = np.sort(scores)
    held = np.clip(scores, ordered[moved], ordered[scores.size - 1 - moved])
    phi = float(np.mean(held**2))
    return Dispersion(z, phi, between_variance(scores=held, weights=weights))


def between_variance(*, scores: FloatArray, weights: FloatArray) -> float:
    """Variance between levels whose scores are wider than one; 0 where they are not.

    Parameters
    ----------
    scores, weights
        (m,) scores against the common mean, and the precision of each level by itself.
    """
    free = float(weights.sum() - (weights**2).sum() / weights.sum())
    surplus = float((scores**2).sum()) - (scores.size - 1)
    return max(surplus / free, 0.0) if free > 0 else 0.0


def funnel_limits(
    *, expected: Numbers, level: float, tau_squared: float = 0.0, widened: float = 1.0
) -> FunnelLimits:
    """Say between which ratios a level lies by luck.

    Parameters
    ----------
    expected
        (m,) counts to be expected, above 0.
    level
        Chance of lying between: 0.95, 0.998.
    tau_squared
        Variance of true ratios that is nobody's fault.
    widened
        Factor on the variance of counting, of runs that differ among themselves.

    Notes
    -----
    Spiegelhalter (2005), appendix A.1.2: the count at which the distribution passes the chance,
    brought between whole counts by the share of the last one that is needed. The distribution is
    Poisson, or with ``tau_squared`` the negative binomial of the variance of his additive model
    (A.4), which unlike the normal keeps small levels from shouting. ``widened`` divides counts and
    expectations alike.
    """
    expect = np.atleast_1d(non_negative(expected, "expected")) / widened
    tail = (1.0 - fraction(level, "level")) / 2.0
    return FunnelLimits(
        _between(expect, tail, tau_squared), _between(expect, 1.0 - tail, tau_squared)
    )


def _between(expect: FloatArray, chance: float, tau_squared: float) -> FloatArray:
    if tau_squared > 0:
        size = 1.0 / tau_squared
        law = nbinom(size, size / (size + expect))
    else:
        law = poisson(expect)
    count = law.ppf(chance)
    share = (law.cdf(count) - chance) / law.pmf(count)
    return np.asarray(np.maximum(count - share, 0.0) / expect)
