"""Do the points of a series vary more than counting alone would make them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, gammaincc

from logbook.kernels.arguments import FloatArray, Numbers
from logbook.kernels.count_series import Measure, counted_points, pooled, unit_variance


@dataclass(frozen=True, slots=True)
class OverDispersion:
    """Do the points vary more than counting alone would make them.

    Attributes
    ----------
    statistic
        Pearson chi-square of the points about their pooled rate.
    degrees_of_freedom
        Points with exposure, less one.
    p_value
        Chance of so large a statistic if counting were the only source of variation, by the
        chi-square distribution; NaN where it cannot be judged (fewer than two points, or no
        counts, or nothing but).
    p_value_small_counts
        The same with the spread that the statistic really has when few are expected at a
        point; never below ``p_value`` where that would mislead.
    ratio
        ``statistic / degrees_of_freedom``: 1 on average if counting alone is at work.
    """

    statistic: float
    degrees_of_freedom: int
    p_value: float
    p_value_small_counts: float
    ratio: float


def overdispersion(
    *,
    count: Numbers,
    exposure: Numbers,
    measure: Measure,
    baseline: NDArray[np.bool_] | None = None,
) -> OverDispersion:
    """Test whether points vary more than counting alone would make them.

    Parameters
    ----------
    count, exposure, measure, baseline
        As in :func:`logbook.kernels.limits.chart`; points outside the baseline are left out.

    Returns
    -------
    OverDispersion
        Pearson chi-square with its upper-tail p-values.

    Raises
    ------
    KernelError
        As in :func:`logbook.kernels.limits.chart`.

    Notes
    -----
    The index of dispersion, Cochran (1954), Biometrics 10:417-451; with equal exposures the
    statistic D of Wetherill & Brown (1991), Statistical Process Control, pp 212-218.

    Where less than about five are expected at a point and runs differ in size, chi-square
    cries wolf: 3-20 % of steady series at p < 0.01 (simulated with 0.2-5 expected a point and
    log-normal sizes). ``p_value_small_counts`` matches mean and variance of the statistic to
    a scaled chi-square (1-2 % in the same series). Variance: Haldane (1937), Biometrika
    29:133-143, for counts given their total; for pieces with the excess kurtosis of the
    binomial in place of the Poisson one.
    """
    counts, exposures, pool = counted_points(count, exposure, measure, baseline)
    used = pool & (exposures > 0)
    y, n = counts[used], exposures[used]
    degrees = max(y.size - 1, 0)
    centre = pooled(y, n, np.ones(y.size, dtype=bool))
    per_unit = unit_variance(centre, measure)
    if degrees == 0 or not per_unit > 0:
        return OverDispersion(np.nan, degrees, np.nan, np.nan, np.nan)
    statistic = float(np.sum((y - centre * n) ** 2 / (per_unit * n)))
    scale = _statistic_variance(n, per_unit, measure) / (2 * degrees)
    return OverDispersion(
        statistic=statistic,
        degrees_of_freedom=degrees,
        p_value=float(chdtrc(degrees, statistic)),
        p_value_small_counts=float(gammaincc(degrees / scale / 2, statistic / scale / 2)),
        ratio=statistic / degrees,
    )


def _statistic_variance(exposures: FloatArray, per_unit: float, measure: Measure) -> float:
    """Return the variance of the dispersion statistic, at least that of chi-square."""
    m, total = exposures.size, float(exposures.sum())
    excess = 1 - 6 * per_unit if measure == "pieces" else 1.0
    unevenness = float(np.sum(1 / exposures)) - (m * m + 2 * m - 2) / total
    return 2 * (m - 1) + max(excess / per_unit * unevenness, 0.0)
