"""How sure is a rate: intervals for a proportion, an event rate, a difference of proportions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Generic, Literal, TypeAlias, TypeVar, overload

import numpy as np
from scipy.special import betainccinv, betaincinv, gammainccinv, gammaincinv

from logbook.errors import KernelError
from logbook.kernels.arguments import (
    FloatArray,
    Numbers,
    Scalar,
    Values,
    count_and_exposure,
    fraction,
    plain,
    same_shape,
    two_sided_quantile,
)

ProportionMethod: TypeAlias = Literal["wilson", "exact", "jeffreys"]
DifferenceMethod: TypeAlias = Literal["newcombe", "miettinen_nurminen"]
Number = TypeVar("Number", float, FloatArray)

_HALVINGS = 60  # the bracket [-1, 1] shrinks to 2e-18, below the spacing of floats near 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Interval(Generic[Number]):
    """A rate with its two-sided, central confidence interval.

    Attributes
    ----------
    estimate, lower, upper
        Plain floats if every argument was a single number, else arrays of the broadcast
        shape. NaN where nothing was inspected: then nothing can be said.
    level
        The confidence level, for instance 0.95.
    """

    estimate: Number
    lower: Number
    upper: Number
    level: float


@dataclass(frozen=True, slots=True, eq=False)
class DifferenceInterval(Generic[Number]):
    """Proportion a minus proportion b with its two-sided confidence interval.

    Attributes
    ----------
    difference, lower, upper
        Plain floats if every argument was a single number, else arrays of the broadcast
        shape. NaN where one of the groups has no trials.
    level
        The confidence level, for instance 0.95.
    """

    difference: Number
    lower: Number
    upper: Number
    level: float


@overload
def proportion(
    *, count: Scalar, trials: Scalar, level: float = ..., method: ProportionMethod = ...
) -> Interval[float]: ...


@overload
def proportion(
    *, count: Values, trials: Values, level: float = ..., method: ProportionMethod = ...
) -> Interval[FloatArray]: ...


def proportion(
    *,
    count: Numbers,
    trials: Numbers,
    level: float = 0.95,
    method: ProportionMethod = "wilson",
) -> Interval[Any]:
    """Say how sure a proportion is, for instance defective pieces among those inspected.

    Parameters
    ----------
    count, trials
        Successes and trials, 0 <= count <= trials; numbers or arrays that broadcast.
    level
        Two-sided confidence level.
    method
        ``"wilson"``: score interval without continuity correction (Wilson 1927, JASA
        22:209-212; method 3 of Newcombe 1998, Stat Med 17:857-872).
        ``"exact"``: Clopper & Pearson (1934, Biometrika 26:404-413).
        ``"jeffreys"``: equal-tailed Beta(1/2, 1/2) interval with the end points 0 and 1 at
        no and at all successes (Brown, Cai & DasGupta 2001, Stat Sci 16:101-133, sec. 3.1.1).

    Returns
    -------
    Interval
        Proportions between 0 and 1; NaN where ``trials`` is 0.

    Raises
    ------
    KernelError
        If a count is negative, not finite or above its trials, or the level or method unknown.
    """
    successes, totals = count_and_exposure(count, trials, names=("count", "trials"), bounded=True)
    n = np.where(totals > 0, totals, np.nan)
    if method == "wilson":
        lower, upper = _wilson(successes, n, two_sided_quantile(level))
    elif method == "exact":
        lower, upper = _beta_interval(successes, n, level, prior=(0.0, 1.0))
    elif method == "jeffreys":
        lower, upper = _beta_interval(successes, n, level, prior=(0.5, 0.5))
    else:
        raise KernelError(
            f"There is no interval called {method!r} for a proportion.",
            "Use wilson, exact or jeffreys.",
        )
    return Interval(plain(successes / n), plain(lower), plain(upper), level)


@overload
def rate(*, count: Scalar, exposure: Scalar, level: float = ...) -> Interval[float]: ...


@overload
def rate(*, count: Values, exposure: Values, level: float = ...) -> Interval[FloatArray]: ...


def rate(*, count: Numbers, exposure: Numbers, level: float = 0.95) -> Interval[Any]:
    """Say how sure an event rate is, for instance thread breaks per stitch.

    Parameters
    ----------
    count
        Events, at least 0.
    exposure
        What they were counted over (stitches, hours), at least 0, need not be whole.
    level
        Two-sided confidence level.

    Returns
    -------
    Interval
        Events per unit of exposure, exact for a Poisson count; NaN where ``exposure`` is 0.

    Raises
    ------
    KernelError
        If a value is negative or not finite, or events were counted over no exposure.

    Notes
    -----
    Garwood (1936, Biometrika 28:437-442): gamma quantiles, the same as chi-square/2 on
    2 count and 2 count + 2 degrees of freedom.
    """
    events, totals = count_and_exposure(count, exposure, names=("count", "exposure"), bounded=False)
    tail = (1 - fraction(level, "level")) / 2
    t = np.where(totals > 0, totals, np.nan)
    lower = np.where(events > 0, gammaincinv(np.where(events > 0, events, 1.0), tail), 0.0) / t
    upper = gammainccinv(events + 1, tail) / t
    return Interval(plain(events / t), plain(lower), plain(upper), level)


@overload
def proportion_difference(
    *,
    count_a: Scalar,
    trials_a: Scalar,
    count_b: Scalar,
    trials_b: Scalar,
    level: float = ...,
    method: DifferenceMethod = ...,
) -> DifferenceInterval[float]: ...


@overload
def proportion_difference(
    *,
    count_a: Values,
    trials_a: Values,
    count_b: Values,
    trials_b: Values,
    level: float = ...,
    method: DifferenceMethod = ...,
) -> DifferenceInterval[FloatArray]: ...


def proportion_difference(
    *,
    count_a: Numbers,
    trials_a: Numbers,
    count_b: Numbers,
    trials_b: Numbers,
    level: float = 0.95,
    method: DifferenceMethod = "newcombe",
) -> DifferenceInterval[Any]:
    """Say how far two independent proportions lie apart: a minus b.

    Parameters
    ----------
    count_a, trials_a, count_b, trials_b
        Successes and trials of the two groups; numbers or arrays that broadcast.
    level
        Two-sided confidence level.
    method
        ``"newcombe"``: square-and-add of two Wilson intervals without continuity correction
        (method 10 of Newcombe 1998, Stat Med 17:873-890).
        ``"miettinen_nurminen"``: inverted score test with the restricted maximum likelihood
        variance times N / (N - 1) (Miettinen & Nurminen 1985, Stat Med 4:213-226).

    Returns
    -------
    DifferenceInterval
        Between -1 and 1; NaN where a group has no trials.

    Raises
    ------
    KernelError
        If a count is negative, not finite or above its trials, or the level or method unknown.
    """
    x1, n1 = count_and_exposure(count_a, trials_a, names=("count_a", "trials_a"), bounded=True)
    x2, n2 = count_and_exposure(count_b, trials_b, names=("count_b", "trials_b"), bounded=True)
    x1, n1, x2, n2 = same_shape({"count_a": x1, "trials_a": n1, "count_b": x2, "trials_b": n2})
    n1, n2 = np.where(n1 > 0, n1, np.nan), np.where(n2 > 0, n2, np.nan)
    z = two_sided_quantile(level)
    if method == "newcombe":
        lower, upper = _square_and_add(x1, n1, x2, n2, z)
    elif method == "miettinen_nurminen":
        lower, upper = _inverted_score(x1, n1, x2, n2, z)
    else:
        raise KernelError(
            f"There is no interval called {method!r} for a difference of proportions.",
            "Use newcombe or miettinen_nurminen.",
        )
    return DifferenceInterval(plain(x1 / n1 - x2 / n2), plain(lower), plain(upper), level)


def _wilson(x: FloatArray, n: FloatArray, z: float) -> tuple[FloatArray, FloatArray]:
    p = x / n
    spread = z * np.sqrt(p * (1 - p) / n + (z / (2 * n)) ** 2)
    upper = (p + z**2 / (2 * n) + spread) / (1 + z**2 / n)
    # The two limits are the roots of one quadratic: taking the lower from their product
    # avoids the difference of nearly equal numbers that rare defects would make of it.
    lower = p**2 / ((1 + z**2 / n) * upper)
    return lower, np.where(x == n, 1.0, np.minimum(upper, 1.0))


def _beta_interval(
    x: FloatArray, n: FloatArray, level: float, prior: tuple[float, float]
) -> tuple[FloatArray, FloatArray]:
    """Return beta quantiles; the prior (0, 1) gives Clopper-Pearson, (1/2, 1/2) Jeffreys."""
    tail = (1 - fraction(level, "level")) / 2
    small, large = prior
    some, some_left = x > 0, x < n
    lower = betaincinv(np.where(some, x + small, 1.0), n - x + large, tail)
    upper = betainccinv(x + large, np.where(some_left, n - x + small, 1.0), tail)
    lower = np.where(some, lower, 0.0)
    upper = np.where(x == n, 1.0, upper)
    return np.where(np.isnan(n), np.nan, lower), np.where(np.isnan(n), np.nan, upper)


def _square_and_add(
    x1: FloatArray, n1: FloatArray, x2: FloatArray, n2: FloatArray, z: float
) -> tuple[FloatArray, FloatArray]:
    p1, p2 = x1 / n1, x2 / n2
    lower1, upper1 = _wilson(x1, n1, z)
    lower2, upper2 = _wilson(x2, n2, z)
    lower = p1 - p2 - np.hypot(p1 - lower1, upper2 - p2)
    upper = p1 - p2 + np.hypot(upper1 - p1, p2 - lower2)
    return np.maximum(lower, -1.0), np.minimum(upper, 1.0)


def _inverted_score(
    x1: FloatArray, n1: FloatArray, x2: FloatArray, n2: FloatArray, z: float
) -> tuple[FloatArray, FloatArray]:
    """Find by bisection the differences that the score test at ``z`` just accepts."""
    p1, p2 = x1 / n1, x2 / n2
    observed = p1 - p2
    inflated = z**2 * (n1 + n2) / (n1 + n2 - 1)

    def rejected(difference: FloatArray) -> Any:
        q1 = _restricted_proportion(p1, n1, p2, n2, difference)
        q2 = np.clip(q1 - difference, 0.0, 1.0)
        variance = q1 * (1 - q1) / n1 + q2 * (1 - q2) / n2
        return (observed - difference) ** 2 > inflated * variance

    limits = []
    for end in (-1.0, 1.0):
        outside, inside = np.full_like(observed, end), observed
        for _ in range(_HALVINGS):
            middle = (outside + inside) / 2
            out = rejected(middle)
            outside, inside = np.where(out, middle, outside), np.where(out, inside, middle)
        limits.append(np.where(np.isnan(observed), np.nan, (outside + inside) / 2))
    return limits[0], limits[1]


def _restricted_proportion(
    p1: FloatArray, n1: FloatArray, p2: FloatArray, n2: FloatArray, difference: FloatArray
) -> FloatArray:
    """Return the maximum likelihood proportion of group 1 when p1 - p2 is held fixed.

    The one root of a cubic that lies in range, in closed form: Miettinen & Nurminen (1985)
    appendix I in the notation of Farrington & Manning (1990, Stat Med 9:1447-1454).
    """
    theta = n2 / n1
    a = 1 + theta
    b = -(1 + theta + p1 + theta * p2 + difference * (theta + 2))
    c = difference**2 + difference * (2 * p1 + theta + 1) + p1 + theta * p2
    d = -p1 * difference * (1 + difference)
    v = (b / (3 * a)) ** 3 - b * c / (6 * a**2) + d / (2 * a)
    u = np.copysign(np.sqrt(np.maximum((b / (3 * a)) ** 2 - c / (3 * a), 0.0)), v)
    cosine = np.clip(v / np.where(u == 0, 1.0, u**3), -1.0, 1.0)
    root = 2 * u * np.cos((np.pi + np.arccos(cosine)) / 3) - b / (3 * a)
    return np.clip(root, np.maximum(0.0, difference), np.minimum(1.0, 1 + difference))
