"""The Mantel-Haenszel formulas, on strata in which both groups were seen.

Symbols as in the sources: x events and n trials (or t exposure), 1 for group a and 0 for b,
each an array of one value a stratum. Sources: see :mod:`logbook.kernels.strata`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from logbook.kernels.arguments import FloatArray


class Bounded(NamedTuple):
    """An estimate with its bounds and standard error (of the logarithm, for a ratio)."""

    estimate: float
    lower: float
    upper: float
    standard_error: float


class Heterogeneity(NamedTuple):
    """A homogeneity statistic and its degrees of freedom."""

    chi2: float
    degrees: int


def odds_ratio(
    x1: FloatArray, n1: FloatArray, x0: FloatArray, n0: FloatArray, *, z: float
) -> Bounded:
    """Return the odds ratio, Robins-Breslow-Greenland bounds at normal quantile ``z``."""
    n = n1 + n0
    p, q = (x1 + n0 - x0) / n, (x0 + n1 - x1) / n
    r, s = x1 * (n0 - x0) / n, x0 * (n1 - x1) / n
    above, below = r.sum(), s.sum()
    log_se = np.nan
    if above > 0 and below > 0:
        first, middle, last = (p * r).sum(), (p * s + q * r).sum(), (q * s).sum()
        log_se = np.sqrt(
            first / (2 * above**2) + middle / (2 * above * below) + last / (2 * below**2)
        )
    return _bounded_ratio(above, below, log_se, z)


def risk_ratio(
    x1: FloatArray, n1: FloatArray, x0: FloatArray, n0: FloatArray, *, z: float
) -> Bounded:
    """Return the risk ratio, Greenland-Robins bounds at normal quantile ``z``."""
    n = n1 + n0
    variance = (n1 * n0 * (x1 + x0) / n**2 - x1 * x0 / n).sum()
    above, below = (x1 * n0 / n).sum(), (x0 * n1 / n).sum()
    return _bounded_ratio(above, below, _log_se(variance, above * below), z)


def risk_difference(
    x1: FloatArray, n1: FloatArray, x0: FloatArray, n0: FloatArray, *, z: float
) -> Bounded:
    """Return the risk difference, Greenland-Robins bounds at normal quantile ``z``."""
    weight = n1 * n0 / (n1 + n0)
    p1, p0 = x1 / n1, x0 / n0
    spread = weight**2 * (p1 * (1 - p1) / n1 + p0 * (1 - p0) / n0)
    return _bounded_mean(weight, p1 - p0, spread, z)


def rate_ratio(
    x1: FloatArray, t1: FloatArray, x0: FloatArray, t0: FloatArray, *, z: float
) -> Bounded:
    """Return the rate ratio, Greenland-Robins bounds at normal quantile ``z``."""
    share = t1 / (t1 + t0)
    variance = ((x1 + x0) * share * (1 - share)).sum()
    above, below = (x1 * (1 - share)).sum(), (x0 * share).sum()
    return _bounded_ratio(above, below, _log_se(variance, above * below), z)


def rate_difference(
    x1: FloatArray, t1: FloatArray, x0: FloatArray, t0: FloatArray, *, z: float
) -> Bounded:
    """Return the rate difference, Greenland-Robins bounds at normal quantile ``z``."""
    weight = t1 * t0 / (t1 + t0)
    spread = (weight / t1) ** 2 * x1 + (weight / t0) ** 2 * x0
    return _bounded_mean(weight, x1 / t1 - x0 / t0, spread, z)


def cochran(x1: FloatArray, n1: FloatArray, x0: FloatArray, n0: FloatArray) -> float:
    """Return the Cochran-Mantel-Haenszel chi-square, without continuity correction."""
    n, m = n1 + n0, x1 + x0
    expected = m * n1 / n
    variance = m * (n - m) * n1 * n0 / (n**2 * (n - 1))
    return _quotient(float((x1 - expected).sum()) ** 2, variance.sum())


def mantel_haenszel_rates(x1: FloatArray, t1: FloatArray, x0: FloatArray, t0: FloatArray) -> float:
    """Return the Mantel-Haenszel chi-square for rates, without continuity correction."""
    share, m = t1 / (t1 + t0), x1 + x0
    variance = m * share * (1 - share)
    return _quotient(float((x1 - m * share).sum()) ** 2, variance.sum())


def tarone(
    x1: FloatArray, n1: FloatArray, x0: FloatArray, n0: FloatArray, *, ratio: float
) -> Heterogeneity:
    """Return the Breslow-Day statistic about the odds ratio ``ratio``, corrected by Tarone.

    Every stratum must have seen both outcomes.
    """
    degrees = max(x1.size - 1, 0)
    if not 0 < ratio < np.inf:
        return Heterogeneity(np.nan, degrees)
    m = x1 + x0
    expected = _expected_events(n1, n0, m, ratio)
    cells = np.array([expected, m - expected, n1 - expected, n0 - m + expected])
    return _heterogeneity(x1 - expected, cells)


def rate_homogeneity(
    x1: FloatArray, t1: FloatArray, x0: FloatArray, t0: FloatArray, *, ratio: float
) -> Heterogeneity:
    """Return the statistic for the rate ratio ``ratio`` in every stratum that had events."""
    some = x1 + x0 > 0
    if not 0 < ratio < np.inf:
        return Heterogeneity(np.nan, max(int(some.sum()) - 1, 0))
    share = ratio * t1[some] / (ratio * t1[some] + t0[some])
    m = (x1 + x0)[some]
    return _heterogeneity(x1[some] - m * share, np.array([m * share, m * (1 - share)]))


def _heterogeneity(off: FloatArray, cells: FloatArray) -> Heterogeneity:
    """Return sum(off^2 / V) - sum(off)^2 / sum(V), where 1 / V is the sum of 1 / cell."""
    degrees = max(off.size - 1, 0)
    if degrees == 0 or not (cells > 0).all():
        return Heterogeneity(np.nan, degrees)
    variance = 1 / (1 / cells).sum(axis=0)
    chi2 = float((off**2 / variance).sum() - off.sum() ** 2 / variance.sum())
    return Heterogeneity(max(chi2, 0.0), degrees)


def _expected_events(n1: FloatArray, n0: FloatArray, m: FloatArray, ratio: float) -> FloatArray:
    """Return the events of group a that fit the odds ratio exactly, the margins held fixed.

    The root of (1 - r) A^2 + b A - r m n1 = 0 that leaves no cell negative, written both ways
    so that neither form subtracts nearly equal numbers.
    """
    b = n0 - m + ratio * (m + n1)
    product = ratio * m * n1
    root = np.sqrt(np.maximum(b**2 + 4 * (1 - ratio) * product, 0.0))
    forward = b >= 0
    divisor = np.where(forward, b + root, 2 * (1 - ratio))
    return np.where(forward, 2 * product, root - b) / divisor


def _bounded_ratio(above: float, below: float, log_se: float, z: float) -> Bounded:
    """Return ``above / below`` with bounds symmetric on the log scale."""
    ratio = _quotient(above, below)
    if not np.isfinite(log_se):
        return Bounded(ratio, np.nan, np.nan, np.nan)
    factor = float(np.exp(z * log_se))
    return Bounded(ratio, ratio / factor, ratio * factor, float(log_se))


def _bounded_mean(weight: FloatArray, values: FloatArray, spread: FloatArray, z: float) -> Bounded:
    """Return the weighted mean; no bounds where its variance vanishes."""
    total, variance = float(weight.sum()), float(spread.sum())
    if not total > 0:
        return Bounded(np.nan, np.nan, np.nan, np.nan)
    mean = float((weight * values).sum()) / total
    standard_error = float(np.sqrt(variance)) / total if variance > 0 else np.nan
    return Bounded(mean, mean - z * standard_error, mean + z * standard_error, standard_error)


def _quotient(above: float, below: float) -> float:
    if below > 0:
        return float(above / below)
    return np.inf if above > 0 else np.nan


def _log_se(variance: float, product: float) -> float:
    return float(np.sqrt(variance / product)) if variance > 0 and product > 0 else np.nan
