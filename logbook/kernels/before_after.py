"""How far a rate lies from what it was before a change, as restless as its points are."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, stdtrit

from logbook.kernels.arguments import FloatArray, Numbers, fraction
from logbook.kernels.count_series import Measure, counted_points
from logbook.kernels.dispersion import overdispersion
from logbook.kernels.rate_intervals import interval


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """The rate after less the rate before.

    Attributes
    ----------
    rate_before, rate_after
        Pooled over the points of each side; NaN where there is no exposure.
    difference, lower, upper
        After less before, per unit of exposure, with its two-sided interval; NaN where a side has
        no exposure.
    dispersion
        How many times the variance of counting alone the points of both sides show about their
        own rates; at least 1.
    degrees_of_freedom
        What the dispersion rests on.
    level
        Confidence level.
    """

    rate_before: float
    rate_after: float
    difference: float
    lower: float
    upper: float
    dispersion: float
    degrees_of_freedom: int
    level: float


def before_after(
    *,
    count_before: Numbers,
    exposure_before: Numbers,
    count_after: Numbers,
    exposure_after: Numbers,
    measure: Measure,
    level: float = 0.95,
) -> BeforeAfter:
    """Compare points after a change with points before it, such as weeks.

    Parameters
    ----------
    count_before, exposure_before, count_after, exposure_after
        (m,) and (k,) counts and what they were counted in, one value a point; any number of
        points, none among them.
    measure
        ``"pieces"`` or ``"events"``.
    level
        Two-sided confidence level.

    Returns
    -------
    BeforeAfter

    Raises
    ------
    KernelError
        If a count cannot be true, or the measure or level is unknown.

    Notes
    -----
    The interval joins those of the two rates (Wilson or Garwood) by squares of their distances:
    for pieces method 10 of Newcombe (1998), Stat Med 17:873-890; for events the same step, Zou &
    Donner (2008), Stat Med 27:1693-1702. Where points differ by more than counting makes them,
    counts and exposures are divided by the dispersion first, and the normal quantile is replaced
    by Student's t with the degrees of freedom of the dispersion (quasi-likelihood: McCullagh &
    Nelder 1989, Generalized Linear Models, 2nd ed., sec. 4.5.2 and 9.2).
    """
    fraction(level, "level")
    before = counted_points(count_before, exposure_before, measure, None)[:2]
    after = counted_points(count_after, exposure_after, measure, None)[:2]
    ratio, degrees = _dispersion(before, after, measure)
    width = level
    if ratio > 1:
        width = float(2 * ndtr(stdtrit(degrees, (1 + level) / 2)) - 1)
    own, changed = (
        interval(
            count=float(count.sum()) / ratio,
            exposure=float(exposure.sum()) / ratio,
            measure=measure,
            level=width,
        )
        for count, exposure in (before, after)
    )
    old, new = float(own.estimate), float(changed.estimate)
    down = math.hypot(new - float(changed.lower), float(own.upper) - old)
    up = math.hypot(float(changed.upper) - new, old - float(own.lower))
    return BeforeAfter(
        rate_before=old,
        rate_after=new,
        difference=new - old,
        lower=new - old - down,
        upper=new - old + up,
        dispersion=ratio,
        degrees_of_freedom=degrees,
        level=level,
    )


def _dispersion(
    before: tuple[FloatArray, FloatArray], after: tuple[FloatArray, FloatArray], measure: Measure
) -> tuple[float, int]:
    """Pool what the points of each side show about their own rate."""
    statistic, degrees = 0.0, 0
    for count, exposure in (before, after):
        if not np.any(exposure > 0):
            continue
        found = overdispersion(count=count, exposure=exposure, measure=measure)
        if math.isfinite(found.statistic):
            statistic += found.statistic
            degrees += found.degrees_of_freedom
    return (max(statistic / degrees, 1.0), degrees) if degrees else (1.0, 0)
