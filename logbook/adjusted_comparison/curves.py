"""A rate along the levels of an ordered factor, every point over the same pieces."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

from logbook.adjusted_comparison.rows import (
    UNKNOWN,
    Bounds,
    CodedRows,
    renewed_with,
    slope_with,
    strata_for,
)
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model import SetupFit, standardised, variance_and_degrees
from logbook.kernels.setup_model.contrasts import Standardised, quantile, thinned
from logbook.kernels.setup_model.levels import FEWEST_RUNS, estimated_rate
from logbook.kernels.setup_model.setups import IntArray
from logbook.runs.factors import level_order

ORDERED: tuple[str, ...] = ("density_band", "speed_band", "needle_nm", "weight_band")
"""Factors whose levels have an order, so that their rates are a curve."""
ENOUGH_SHARED = 0.5
"""Levels are left off a curve until its pieces are at least this part of all that name a level."""


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One level: all that was sewn with it, and the rate that the curve's pieces have with it."""

    level: str
    runs: int
    exposure: float
    count: int
    rate: float
    interval: Bounds


@dataclass(frozen=True, slots=True)
class AdjustedCurve:
    """A rate along an ordered factor.

    Attributes
    ----------
    factor
        The column.
    points
        Levels in rising order; rates per piece, or per stitch for events.
    exposure
        Of the pieces averaged over: those of jobs on which every level of the curve was used.
    per_step, per_step_interval, p_value
        How many times the rate goes up from a level to the next, as an even trend through the
        points weighed by what was sewn with each; and that there is none.
    left_out
        Levels that share too few jobs with the others.
    """

    factor: str
    points: tuple[CurvePoint, ...]
    exposure: float
    per_step: float = math.nan
    per_step_interval: Bounds = UNKNOWN
    p_value: float = math.nan
    left_out: tuple[str, ...] = ()


def curve_along(rows: CodedRows, fitted: SetupFit, factor: str, *, level: float) -> AdjustedCurve:
    """Put all pieces to each level of a factor in turn.

    Parameters
    ----------
    rows, fitted
        The rows and the model fitted to them.
    factor
        One of ``ORDERED``.
    level
        Two-sided confidence level.

    Returns
    -------
    AdjustedCurve
        Without points where no two levels share a job with three runs of each.
    """
    words = rows.levels[factor]
    codes = [code for code, word in enumerate(words) if word is not None]
    codes.sort(key=lambda code: level_order(factor, str(words[code])))
    kept, population = _shared(rows, factor, codes)
    left_out = tuple(str(words[code]) for code in codes if code not in kept)
    if not kept:
        return AdjustedCurve(factor, (), 0.0, left_out=left_out)
    sides = _sides(rows, fitted, factor, kept, population)
    trend = _trend(rows, fitted, factor, kept, sides, level)
    return AdjustedCurve(
        factor=factor,
        points=tuple(
            _point(rows, fitted, factor, code, side, level)
            for code, side in zip(kept, sides, strict=True)
        ),
        exposure=float(rows.setups.trials[population].sum()) * rows.unit,
        per_step=trend[0],
        per_step_interval=trend[1],
        p_value=trend[2],
        left_out=left_out,
    )


def _shared(rows: CodedRows, factor: str, codes: list[int]) -> tuple[list[int], BoolArray]:
    """The levels of the curve, and the rows on jobs where each of them has a few runs.

    The level without which the jobs shared grow most goes first, as long as they are few.
    """
    own, strata = rows.setups.factors[factor], strata_for(rows, factor)
    has = {code: _strata_with(strata, own == code, rows.setups.runs) for code in codes}
    trials = np.where(strata >= 0, rows.setups.trials, 0.0)
    sewn = np.bincount(np.maximum(strata, 0), weights=trials, minlength=strata.max(initial=0) + 1)

    def shared_by(levels: list[int]) -> float:
        return float(sewn[np.logical_and.reduce([has[code] for code in levels])].sum())

    kept = list(codes)
    while len(kept) > 1 and shared_by(kept) < ENOUGH_SHARED * trials.sum():
        without = [[code for code in kept if code != dropped] for dropped in kept]
        best = max(without, key=shared_by)
        if len(best) < 2:
            break
        kept = best
    on_every_level = np.logical_and.reduce([has[code] for code in kept])
    population = (strata >= 0) & on_every_level[np.maximum(strata, 0)]
    if len(kept) < 2 or not population.any():
        return [], np.zeros_like(population)
    return kept, np.asarray(population)


def _strata_with(strata: IntArray, own: BoolArray, runs: FloatArray) -> BoolArray:
    """Strata with at least ``FEWEST_RUNS`` runs of the level."""
    there = own & (strata >= 0)
    count = int(strata.max(initial=0)) + 1
    return np.bincount(strata[there], weights=runs[there], minlength=count) >= FEWEST_RUNS


def _sides(
    rows: CodedRows, fitted: SetupFit, factor: str, kept: list[int], population: BoolArray
) -> list[Standardised]:
    few = thinned(population)
    size = int(few.sum())
    slope, slope_of_level = slope_with(rows, factor)
    sides = []
    for code in kept:
        moved = (
            {slope: np.full(size, slope_of_level[code])}
            if slope is not None and slope_of_level is not None
            else {}
        )
        sides.append(
            standardised(
                fit=fitted,
                population=few,
                to={factor: code},
                slopes=moved,
                renewed=renewed_with(factor),
            )
        )
    return sides


def _point(
    rows: CodedRows, fitted: SetupFit, factor: str, code: int, side: Standardised, level: float
) -> CurvePoint:
    runs, exposure, count = rows.counted(factor, code)
    found = estimated_rate(fitted, side.rate, side.gradient, level)
    return CurvePoint(
        level=str(rows.levels[factor][code]),
        runs=runs,
        exposure=exposure,
        count=count,
        rate=found.estimate / rows.unit,
        interval=rows.interval(found),
    )


def _trend(
    rows: CodedRows,
    fitted: SetupFit,
    factor: str,
    kept: list[int],
    sides: list[Standardised],
    level: float,
) -> tuple[float, Bounds, float]:
    """Times the rate per step: the weighted least-squares slope of the log rates, delta method."""
    own = rows.setups.factors[factor]
    weights = np.array([rows.setups.trials[own == code].sum() for code in kept])
    steps = np.arange(len(kept), dtype=float)
    off = steps - np.average(steps, weights=weights)
    share = weights * off / (weights @ off**2)
    slope = float(share @ np.log([side.rate for side in sides]))
    gradient = sum(
        (part * side.gradient / side.rate for part, side in zip(share, sides, strict=True)),
        np.zeros_like(sides[0].gradient),
    )
    variance, degrees = variance_and_degrees(fit=fitted, gradient=gradient)
    error = math.sqrt(variance)
    reach = quantile(level=level, degrees=degrees) * error
    return (
        math.exp(slope),
        (math.exp(slope - reach), math.exp(slope + reach)),
        float(2.0 * stdtr(degrees, -abs(slope) / error)),
    )
