"""Control charts for counts: limits, over-dispersion, and which spread to draw."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from logbook.errors import KernelError
from logbook.kernels.arguments import BoolArray, FloatArray, Numbers
from logbook.kernels.chart_constants import chart_constant
from logbook.kernels.count_series import Measure, counted_points, pooled, unit_variance
from logbook.kernels.dispersion import OverDispersion, overdispersion
from logbook.kernels.run_rules import WESTERN_ELECTRIC, RunSignals, run_signals

__all__ = [
    "WESTERN_ELECTRIC",
    "ControlChart",
    "OverDispersion",
    "RunSignals",
    "SpreadChoice",
    "chart",
    "choose_spread",
    "overdispersion",
    "run_signals",
]

Spread: TypeAlias = Literal["plain", "laney"]

_MEAN_RANGE_OF_TWO = 1.128  # d2 for two points, to the three decimals that Laney (2002) uses
_ROUNDING = 1e-9
_DISPERSION_P = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class ControlChart:
    """Three-sigma limits around a common rate, point by point.

    Attributes
    ----------
    rate
        (m,) count / exposure; NaN where there is no exposure.
    centre
        (m,) the pooled rate of the baseline, the same at every point; NaN where the baseline
        has no exposure.
    lower, upper
        (m,) limits in the unit of ``rate``, floored at 0 (pieces also capped at 1).
    sigma_z
        (m,) how many times wider than sampling alone the limits are, the same at every point:
        1 on a plain chart.
    z
        (m,) (rate - centre) / (sigma_z sigma_i), the input of :func:`run_signals`; infinite
        where the limits have no width and the rate is off the centre.
    beyond
        (m,) True where the rate lies strictly beyond its limits, that is where abs(z) > 3.
        Flooring never hides such a point, since no rate lies below 0.
    """

    rate: FloatArray
    centre: FloatArray
    lower: FloatArray
    upper: FloatArray
    sigma_z: FloatArray
    z: FloatArray
    beyond: BoolArray


@dataclass(frozen=True, slots=True)
class SpreadChoice:
    """Which limits to draw, and why.

    Attributes
    ----------
    spread
        ``"plain"`` or ``"laney"``.
    reason
        One plain sentence.
    sigma_z
        Laney's sigma_z, drawn or not; NaN with fewer than two points.
    overdispersion
        The test that the choice rests on.
    """

    spread: Spread
    reason: str
    sigma_z: float
    overdispersion: OverDispersion


def chart(
    *,
    count: Numbers,
    exposure: Numbers,
    measure: Measure,
    spread: Spread = "plain",
    baseline: NDArray[np.bool_] | None = None,
    centre: float | None = None,
) -> ControlChart:
    """Draw three-sigma control limits for defective pieces (p chart) or events (u chart).

    Parameters
    ----------
    count, exposure
        One value a point, in time order: defective pieces and pieces inspected, or events and
        what they were counted over. Exposure need not be whole; a point with none gets NaN
        limits and is never beyond them.
    measure
        ``"pieces"`` (binomial sigma) or ``"events"`` (Poisson sigma).
    spread
        ``"plain"``, or ``"laney"`` for the primed charts, whose limits also hold the variation
        between points. A sigma_z below 1 narrows them: asked for is asked for.
    baseline
        Boolean mask of the points that set centre and sigma_z; None for all of them.
    centre
        A given standard to use instead of the pooled rate.

    Returns
    -------
    ControlChart
        Rates and limits per unit of exposure.

    Raises
    ------
    KernelError
        If a count cannot be true, the baseline marks no point or is not a mask of them, the
        standard is out of range, or the measure or spread is unknown.

    Notes
    -----
    Centre sum(count) / sum(exposure), never the mean of the rates; sigma_i is
    sqrt(c (1 - c) / n_i) or sqrt(c / n_i): Montgomery, Introduction to Statistical Quality
    Control, sec. 7.2-7.3; NIST/SEMATECH e-Handbook 6.3.3. Primed charts: Laney (2002), Quality
    Engineering 14:531-537, sigma_z = mean moving range of z / 1.128, no range left out; over
    baseline points that follow each other once points without exposure are dropped.

    Comparisons are strict: a point on its limit is not beyond it. A z within 1e-9 of a whole
    number is taken as that number, so that rounding in the last digit decides nothing.
    """
    counts, exposures, pool = counted_points(count, exposure, measure, baseline)
    middle = pooled(counts, exposures, pool) if centre is None else _standard(centre, measure)
    sampled = np.where(exposures > 0, exposures, np.nan)
    rate = counts / sampled
    sigma = np.sqrt(unit_variance(middle, measure) / sampled)
    raw = _standardised(rate - middle, sigma)
    if spread == "plain":
        sigma_z = 1.0
    elif spread == "laney":
        sigma_z = _between_points(raw[pool])
    else:
        raise KernelError(f"There is no spread called {spread!r}.", "Use plain or laney.")
    z = _standardised(raw, np.full_like(raw, sigma_z))
    half_width = 3 * sigma * sigma_z
    upper = middle + half_width
    return ControlChart(
        rate=rate,
        centre=chart_constant(middle, rate.size),
        lower=np.maximum(middle - half_width, 0.0),
        upper=np.minimum(upper, 1.0) if measure == "pieces" else upper,
        sigma_z=chart_constant(sigma_z, rate.size),
        z=z,
        beyond=np.abs(z) > 3,
    )


def choose_spread(
    *,
    count: Numbers,
    exposure: Numbers,
    measure: Measure,
    baseline: NDArray[np.bool_] | None = None,
) -> SpreadChoice:
    """Choose between plain and primed limits: primed only where over-dispersion is real.

    Parameters
    ----------
    count, exposure, measure, baseline
        As in :func:`chart`.

    Returns
    -------
    SpreadChoice
        ``"laney"`` where the dispersion test gives p < 0.01 (the p-value that holds for small
        counts) and sigma_z exceeds 1, else ``"plain"``. The second condition keeps a lasting
        change of level, which makes the points disperse but not differ from their neighbours,
        from widening the limits that should show it.

    Raises
    ------
    KernelError
        As in :func:`chart`.
    """
    test = overdispersion(count=count, exposure=exposure, measure=measure, baseline=baseline)
    primed = chart(
        count=count, exposure=exposure, measure=measure, baseline=baseline, spread="laney"
    )
    sigma_z = float(primed.sigma_z)
    spread, reason = _judge(test, sigma_z)
    return SpreadChoice(spread, reason, sigma_z, test)


def _judge(test: OverDispersion, sigma_z: float) -> tuple[Spread, str]:
    points = f"{test.degrees_of_freedom + 1} points"
    if np.isnan(test.statistic):
        return "plain", (
            "Plain limits: too little was counted to judge whether points vary more than "
            "counting alone would make them."
        )
    spread = f"{test.ratio:.2g} times the variance that counting alone would give"
    if test.p_value_small_counts >= _DISPERSION_P:
        chance = f"chance alone does as much {test.p_value_small_counts:.0%} of the time"
        return "plain", f"Plain limits: the {points} show {spread}, and {chance}."
    if sigma_z <= 1:
        return "plain", (
            f"Plain limits: the {points} show {spread}, but no more than counting alone from "
            f"one point to the next (sigma_z {sigma_z:.2f}): a change of level rather than "
            "wider variation."
        )
    return "laney", (
        f"Primed limits: the {points} show {spread}, more than chance explains, so the limits "
        f"are {sigma_z:.2f} times as wide as sampling alone would make them."
    )


def _standard(centre: float, measure: Measure) -> float:
    if not 0 < centre < (1 if measure == "pieces" else np.inf):
        raise KernelError(
            f"The given centre {centre!r} is no rate that limits can be drawn around.",
            "Give a rate above 0, and below 1 for pieces.",
        )
    return float(centre)


def _standardised(off: FloatArray, sigma: FloatArray) -> FloatArray:
    """Return ``off / sigma``, rounding errors settled; a point on the centre is 0 whatever."""
    some_width = sigma > 0
    z = off / np.where(some_width, sigma, 1.0)
    whole = np.rint(z)
    z = np.where(np.isclose(z, whole, rtol=0, atol=_ROUNDING), whole, z)
    without_width = np.where(off == 0, 0.0, np.copysign(np.inf, off))
    return np.where(some_width | np.isnan(sigma + off), z + 0 * sigma, without_width)


def _between_points(z: FloatArray) -> float:
    """Return Laney's sigma_z: the mean moving range over that of unit normal points."""
    seen = z[~np.isnan(z)]
    if seen.size < 2:
        return np.nan
    return float(np.mean(np.abs(np.diff(seen)))) / _MEAN_RANGE_OF_TWO
