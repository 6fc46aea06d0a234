"""How many more pieces, on how many more lots, it would take to say which is better.

The record of both levels on the shared jobs is imagined repeated, each time on new lots. What the
lots themselves leave open is taken out of that information first: more pieces of the same lots
narrow an interval only down to the doubt that few lots leave.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from scipy.linalg import eigh_tridiagonal
from scipy.special import ndtri, stdtr, stdtrit

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.fitting import SetupFit, working_weights
from logbook.kernels.setup_model.levels import LevelComparison
from logbook.kernels.setup_model.terms import Rows

Product: TypeAlias = Callable[[FloatArray], FloatArray]

MOST_REPEATS = 200
"""Beyond so many times the record, more of it is no plan."""
MOST_RUNS_OF_A_LOT = 50.0
"""New lots are planned with no more runs each than this, however many the record has of a lot."""
MOST_STEPS, STILL, NOTHING = 60, 1e-4, 1e-20


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
    chosen = _Chosen.of(fit, rows, share)
    on_new_lots = _repeated(fit, comparison.gradient, chosen.renewed_by(renewed))
    repeats = _smallest(on_new_lots, lambda repeats: target(1.0 + repeats))
    if repeats is None:
        return None
    on_same_lots = _smallest(
        _repeated(fit, comparison.gradient, chosen.times), lambda _: target(1.0)
    )
    return Needed(
        repeats=repeats,
        pieces=math.ceil(repeats * share * float(setups.trials[rows].sum())),
        lots=math.ceil(repeats * lots),
        same_lots_suffice=on_same_lots is not None and on_same_lots <= 1.1 * repeats,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Chosen:
    """What chosen rows say of the coefficients: products with (P,) vectors."""

    fit: SetupFit
    rows: Rows
    weights: FloatArray

    @classmethod
    def of(cls, fit: SetupFit, rows: BoolArray, share: float) -> _Chosen:
        weights = working_weights(fit, fit.fitted())[rows] * share
        return cls(fit, fit.rows.some(rows), weights)

    def times(self, vector: FloatArray) -> FloatArray:
        layout = self.fit.layout
        return layout.gather(self.rows, self.weights * layout.predict(self.rows, vector))

    def renewed_by(self, factor: str | None) -> Product:
        """The same with unknown new lots taken out of it, zero in their own places."""
        place = self.fit.layout.place(factor) if factor is not None else slice(0, 0)
        if place.start == place.stop:
            return self.times
        information = self.fit.layout.gather(self.rows, self.weights)[place]
        inner = information + 1.0 / self.fit.sd(str(factor)) ** 2

        def product(vector: FloatArray) -> FloatArray:
            rest = vector.copy()
            rest[place] = 0.0
            carried = self.times(rest)
            lots = np.zeros_like(vector)
            lots[place] = carried[place] / inner
            left = carried - self.times(lots)
            left[place] = 0.0
            return left

        return product


def _repeated(
    fit: SetupFit, gradient: FloatArray, information: Product
) -> tuple[FloatArray, FloatArray]:
    """Parts ``(c, e)`` such that ``k`` more records leave a variance of ``sum c / (1 + k e)``.

    Lanczos steps in the inner product of the covariance: the nodes and weights of Gauss's
    quadrature (Golub & Meurant 2010, Matrices, Moments and Quadrature, chapter 7), until the
    variance left by the most repeats stands still.
    """
    carried = fit.covariance.times(gradient)
    variance = float(gradient @ carried)
    directions, duals = [gradient / math.sqrt(variance)], [carried / math.sqrt(variance)]
    middle: list[float] = []
    beside: list[float] = []
    known = math.inf
    while True:
        ahead = information(duals[-1])
        middle.append(float(ahead @ duals[-1]))
        values, vectors = eigh_tridiagonal(np.array(middle), np.array(beside))
        parts = variance * vectors[0] ** 2, np.maximum(values, 0.0)
        left = float(np.sum(parts[0] / (1.0 + MOST_REPEATS * parts[1])))
        if abs(left - known) <= STILL * left or len(middle) == MOST_STEPS:
            return parts
        known = left
        for _ in range(2):
            ahead = ahead - np.array(directions).T @ (np.array(duals) @ ahead)
        carried = fit.covariance.times(ahead)
        length = float(ahead @ carried)
        if length <= NOTHING * middle[0] ** 2:
            return parts
        beside.append(math.sqrt(length))
        directions.append(ahead / beside[-1])
        duals.append(carried / beside[-1])


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
