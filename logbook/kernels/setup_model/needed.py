"""How many more pieces, on how many more lots, it would take to say which is better.

The record of both levels on the shared jobs is imagined repeated, each time on new lots. What the
lots themselves leave open is taken out of that information first: more pieces of the same lots
narrow an interval only down to the doubt that few lots leave.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve, cholesky, eigh, solve_triangular
from scipy.special import ndtri, stdtr, stdtrit

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.fitting import SetupFit, working_weights
from logbook.kernels.setup_model.levels import LevelComparison

MOST_REPEATS = 200
"""Beyond so many times the record, more of it is no plan."""
MOST_RUNS_OF_A_LOT = 50.0
"""New lots are planned with no more runs each than this, however many the record has of a lot."""


@dataclass(frozen=True, slots=True)
class Needed:
    """More record that would settle a comparison.

    Attributes
    ----------
    repeats
        Times the lots of the present record of both, each with as many runs as they had, but
        no more than ``MOST_RUNS_OF_A_LOT``.
    pieces, lots
        What that comes to, of both together, in trials of the fit.
    same_lots_suffice
        Whether more pieces of the lots at hand would do as well.
    """

    repeats: float
    pieces: int
    lots: int
    same_lots_suffice: bool


def more_needed(
    *,
    fit: SetupFit,
    comparison: LevelComparison,
    rows: BoolArray,
    renewed: str | None,
    margin: float | None,
    power: float = 0.8,
) -> Needed | None:
    """Plan for a verdict, were the true difference the estimated one.

    Parameters
    ----------
    fit, comparison
        The fit, and the comparison not settled by it.
    rows
        (m,) rows of the two levels on the shared jobs: what is repeated.
    renewed
        The factor of lots.
    margin
        Difference that does not matter, or None.
    power
        Chance of a verdict wanted.

    Returns
    -------
    Needed or None
        None where even ``MOST_REPEATS`` times the record would not settle it.

    Notes
    -----
    New lots tell how lots differ too: the degrees of freedom grow with the record.
    """
    gap = abs(comparison.difference.estimate)
    if margin is not None:
        gap = max(gap, margin - comparison.difference.estimate)
    tail = float(stdtr(comparison.degrees, -comparison.quantile))

    def target(times: float) -> float:
        width = float(-stdtrit(comparison.degrees * times, tail))
        return (gap / (width + float(ndtri(power)))) ** 2

    setups = fit.setups
    lots = 0
    if renewed is not None and renewed in setups.factors:
        codes = setups.factors[renewed][rows]
        lots = int(np.unique(codes[codes >= 0]).size)
    share = min(1.0, MOST_RUNS_OF_A_LOT * max(lots, 1) / float(setups.runs[rows].sum()))
    own = share * _information(fit, rows)
    on_new_lots = _repeated(fit, comparison.gradient, _without(fit, own, renewed))
    repeats = _smallest(on_new_lots, lambda repeats: target(1.0 + repeats))
    if repeats is None:
        return None
    on_same_lots = _smallest(_repeated(fit, comparison.gradient, own), lambda _: target(1.0))
    return Needed(
        repeats=repeats,
        pieces=math.ceil(repeats * share * float(setups.trials[rows].sum())),
        lots=math.ceil(repeats * lots),
        same_lots_suffice=on_same_lots is not None and on_same_lots <= 1.1 * repeats,
    )


def _information(fit: SetupFit, rows: BoolArray) -> FloatArray:
    """What the chosen rows say of the coefficients, (P, P)."""
    return fit.layout.gram(fit.rows.some(rows), working_weights(fit, fit.fitted())[rows]).dense()


def _without(fit: SetupFit, information: FloatArray, renewed: str | None) -> FloatArray:
    """The same with unknown new lots taken out of it, zero in their own places."""
    place = fit.layout.place(renewed) if renewed is not None else slice(0, 0)
    lots = np.arange(place.start, place.stop)
    if lots.size == 0:
        return information
    others = np.setdiff1d(np.arange(fit.layout.size), lots)
    inner = information[np.ix_(lots, lots)] + np.eye(lots.size) / fit.sd(str(renewed)) ** 2
    across = information[np.ix_(others, lots)]
    left = np.zeros_like(information)
    left[np.ix_(others, others)] = information[np.ix_(others, others)] - across @ cho_solve(
        cho_factor(inner), across.T
    )
    return left


def _repeated(
    fit: SetupFit, gradient: FloatArray, information: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Parts ``(c, e)`` such that ``k`` more records leave a variance of ``sum c / (1 + k e)``."""
    factor = cholesky(fit.precision.dense(), lower=True)
    half = solve_triangular(factor, information, lower=True)
    whitened = solve_triangular(factor, half.T, lower=True)
    values, vectors = eigh((whitened + whitened.T) / 2.0)
    along = vectors.T @ solve_triangular(factor, gradient, lower=True)
    return along**2, np.maximum(values, 0.0)


def _smallest(
    parts: tuple[FloatArray, FloatArray], target: Callable[[float], float]
) -> float | None:
    """Fewest repeats that bring the variance down to their ``target``."""
    along, values = parts

    def left(repeats: float) -> float:
        return float(np.sum(along / (1.0 + repeats * values)))

    if left(MOST_REPEATS) > target(MOST_REPEATS):
        return None
    low, high = 0.0, float(MOST_REPEATS)
    while high - low > 0.005 * max(high, 0.1):
        middle = (low + high) / 2.0
        low, high = (middle, high) if left(middle) > target(middle) else (low, middle)
    return high
