"""Is a period's count more, or less, than what came before makes usual, or may it be luck."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import betainc, stdtr

from logbook.kernels.arguments import FloatArray, Numbers, as_floats, count_and_exposure, same_shape
from logbook.kernels.count_series import Measure


@dataclass(frozen=True, slots=True, eq=False)
class Surprise:
    """How far counts are from usual.

    Attributes
    ----------
    expected
        (m,) what the rate before would make of this exposure; NaN without exposure before.
    p_value
        (m,) two-sided chance of a count at least so far from usual if nothing has changed;
        NaN where either exposure is 0.
    excess
        (m,) count - expected.
    """

    expected: FloatArray
    p_value: FloatArray
    excess: FloatArray


def surprise(
    *,
    count: Numbers,
    exposure: Numbers,
    count_before: Numbers,
    exposure_before: Numbers,
    measure: Measure,
    dispersion: Numbers = 1.0,
    degrees_of_freedom: Numbers = np.inf,
) -> Surprise:
    """Judge counts against those of the time before.

    Parameters
    ----------
    count, exposure
        (m,) this period's counts, one a defect kind, say.
    count_before, exposure_before
        (m,) sums over the periods before.
    measure
        ``"pieces"`` or ``"events"``.
    dispersion, degrees_of_freedom
        (m,) how many times the variance of counting alone the periods before showed
        (:attr:`logbook.kernels.dispersion.OverDispersion.ratio`), and on how many degrees of
        freedom; a ratio below 1 or NaN is taken as 1.

    Returns
    -------
    Surprise

    Raises
    ------
    KernelError
        If a count cannot be true.

    Notes
    -----
    The first test is exact for counts: given both counts' sum, this period's is binomial with
    its share of the exposure (Przyborowski & Wilenski 1940, Biometrika 31:313-323), tail
    doubled; for pieces that is cautious, the more so the commoner the defect.

    Where the periods before differed by more than counting makes them (dispersion above 1), two
    more are made and the least surprised of the three believed. One is the difference of the rates
    over its standard error under one pooled rate, the variance multiplied by the dispersion,
    against Student's t with the degrees of freedom that the dispersion was estimated on
    (quasi-likelihood: McCullagh & Nelder 1989, Generalized Linear Models, 2nd ed., sec. 4.5.2
    and 9.2). In the other the ratio of the rates is first raised to the power that takes the
    skewness out of it, as the cube root does for a gamma variable (Wilson & Hilferty 1931, Proc
    Natl Acad Sci 17:684-688): sums of runs whose own luck has a long tail are often far above
    usual and never far below. A power ``h`` takes a skewness of ``3 (1 - h)`` times the
    coefficient of variation away; counts whose rate varies log-normally, counting being the
    share ``s = 1 / dispersion`` of their variance, have ``3 - 3 s + s**2`` times it, so that
    ``h = s - s**2 / 3``.
    """
    bounded = measure == "pieces"
    now, at_risk = count_and_exposure(count, exposure, names=("count", "exposure"), bounded=bounded)
    before, at_risk_before = count_and_exposure(
        count_before,
        exposure_before,
        names=("count_before", "exposure_before"),
        bounded=bounded,
    )
    y, n, y0, n0, ratio, degrees = (
        np.atleast_1d(array)
        for array in same_shape(
            {
                "count": now,
                "exposure": at_risk,
                "count_before": before,
                "exposure_before": at_risk_before,
                "dispersion": as_floats(dispersion, "dispersion"),
                "degrees_of_freedom": as_floats(degrees_of_freedom, "degrees_of_freedom"),
            }
        )
    )
    n, n0 = np.where(n > 0, n, np.nan), np.where(n0 > 0, n0, np.nan)
    p_value = _exact(y, y0, n / (n + n0))
    wider, skewed = _widened(y, n, y0, n0, measure, ratio, degrees)
    p_value = np.where(ratio > 1, np.maximum(p_value, np.maximum(wider, skewed)), p_value)
    expected = n * y0 / n0
    return Surprise(expected=expected, p_value=p_value, excess=y - expected)


def _exact(y: FloatArray, y0: FloatArray, share: FloatArray) -> FloatArray:
    total = y + y0
    # A binomial tail is an incomplete beta function, which wants a positive first argument.
    at_least = np.where(y > 0, betainc(np.fmax(y, 1), total - np.fmax(y, 1) + 1, share), 1.0)
    at_most = np.where(y0 > 0, betainc(np.fmax(y0, 1), total - np.fmax(y0, 1) + 1, 1 - share), 1.0)
    return np.where(np.isnan(share), np.nan, np.minimum(2 * np.minimum(at_least, at_most), 1.0))


def _widened(
    y: FloatArray,
    n: FloatArray,
    y0: FloatArray,
    n0: FloatArray,
    measure: Measure,
    ratio: FloatArray,
    degrees: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Two-sided p-values of the rates' difference, and of their ratio without its skewness."""
    rate = (y + y0) / (n + n0)
    per_unit = rate * (1 - rate) if measure == "pieces" else rate
    error = np.sqrt(np.fmax(ratio, 1) * per_unit * (1 / n + 1 / n0))
    away = np.abs(y / n - y0 / n0)
    counting = 1.0 / np.fmax(ratio, 1)
    power = counting - counting**2 / 3
    known = error > 0
    bent = np.divide(y * n0, n * y0, out=np.ones_like(error), where=known & (y0 > 0)) ** power - 1
    # Without one before there is no ratio: the difference alone decides.
    bent = np.where(y0 > 0, np.abs(bent) / power * rate, away)
    still = np.where(np.isnan(error), np.nan, 0.0)
    plain, skewed = (
        2 * stdtr(np.fmax(degrees, 1), -np.divide(each, error, out=still.copy(), where=known))
        for each in (away, bent)
    )
    return plain, skewed
