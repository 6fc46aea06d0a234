"""A level's crude rate, whatever the jobs were, and whether jobs confound it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from logbook.adjusted_comparison import AdjustedEffect
from logbook.kernels import strata
from logbook.kernels.count_series import Measure
from logbook.kernels.rate_intervals import interval

Bounds: TypeAlias = tuple[float, float]
Confounding: TypeAlias = Literal["reversed", "wiped_out"]

LARGE = 1.25
"""A crude ratio closer to 1 than this leads nobody astray."""


@dataclass(frozen=True, slots=True)
class Crude:
    """A level against the levels that the adjusted comparison has, all jobs thrown together.

    Attributes
    ----------
    rate, interval
        Of the level; the interval rests on counting alone.
    others_rate, others_exposure
        Of the others together, but for those set apart.
    ratio, ratio_interval
        Of the two rates; NaN where either counted none.
    """

    rate: float
    interval: Bounds
    others_rate: float
    others_exposure: float
    ratio: float
    ratio_interval: Bounds

    @property
    def excludes_one(self) -> bool:
        """Whether the interval of the ratio leaves 1 out."""
        lower, upper = self.ratio_interval
        return lower > 1 or upper < 1


def crude_of(
    effects: Sequence[AdjustedEffect], *, measure: Measure, level: float
) -> tuple[Crude, ...]:
    """Look at the levels of one factor crudely.

    Parameters
    ----------
    effects
        All recorded levels of one factor.
    measure
        Pieces among pieces, or events over stitches.
    level
        Two-sided confidence level.

    Notes
    -----
    The interval of the ratio of two plain rates is that on its logarithm (Katz and others 1978,
    Biometrics 34:469-474; for events, Breslow & Day 1987, section 2.3).
    """
    exposure = [each.exposure for each in effects]
    count = [each.count for each in effects]
    doubt = interval(count=count, exposure=exposure, measure=measure, level=level)
    found = []
    for place, each in enumerate(effects):
        beside = [own for own in effects if own is not each and own.level not in each.apart]
        rest = sum(own.exposure for own in beside)
        others = sum(own.count for own in beside)
        ratio, bounds = _ratio(each, others, rest, measure, level)
        found.append(
            Crude(
                rate=each.crude_rate,
                interval=(float(doubt.lower[place]), float(doubt.upper[place])),
                others_rate=others / rest if rest > 0 else math.nan,
                others_exposure=rest,
                ratio=ratio,
                ratio_interval=bounds,
            )
        )
    return tuple(found)


def _ratio(
    own: AdjustedEffect, others: int, rest: float, measure: Measure, level: float
) -> tuple[float, Bounds]:
    if own.count == 0 or others == 0 or rest <= 0:
        return math.nan, (math.nan, math.nan)
    a, b = ([own.count], [own.exposure]), ([others], [rest])
    if measure == "pieces":
        risk = strata.risk(count_a=a[0], trials_a=a[1], count_b=b[0], trials_b=b[1], level=level)
        return risk.risk_ratio, (risk.risk_ratio_lower, risk.risk_ratio_upper)
    rate = strata.rate(count_a=a[0], exposure_a=a[1], count_b=b[0], exposure_b=b[1], level=level)
    return rate.rate_ratio, (rate.rate_ratio_lower, rate.rate_ratio_upper)


def confounding_of(crude: Crude, adjusted: AdjustedEffect) -> Confounding | None:
    """Say whether the crude ratio leads astray.

    ``reversed`` where it points the other way than a finding does. ``wiped_out`` where a clear
    and large crude difference is none on like jobs, and its ratio lies outside the interval of
    the adjusted one: a wide interval alone says only that there is little to go by.
    """
    lower, upper = adjusted.ratio_interval
    if not (math.isfinite(crude.ratio) and math.isfinite(adjusted.ratio)):
        return None
    outside = not lower <= crude.ratio <= upper
    if adjusted.finding:
        opposite = (crude.ratio > 1) != (adjusted.ratio > 1)
        return "reversed" if opposite and (crude.excludes_one or outside) else None
    large = abs(math.log(crude.ratio)) >= math.log(LARGE)
    return "wiped_out" if crude.excludes_one and large and outside and lower < 1 < upper else None
