"""Separation and aliasing: which fixed effects the data can pin down.

Rows are separated when some combination of columns predicts their outcome without error and no
other row contradicts it (Albert & Anderson 1984, Biometrika 71:1-10). The likelihood then rises
for ever along that combination; its supremum is the fit without those rows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import qr
from scipy.optimize import linprog

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.mixed.plain import plain_fit
from logbook.kernels.mixed.rows import Codes, Rows

_ALIASED = 1e-7
_SEPARATED = 1e-6
_FAR = 20.0  # a predicted rate of 2e-9 or its complement


@dataclass(frozen=True, slots=True, eq=False)
class Finite:
    """The part of the data whose estimates are finite.

    Attributes
    ----------
    kept
        (m,) rows that are not separated.
    identified
        Indices of the columns that all rows can tell apart.
    columns
        Indices of the columns that the kept rows can tell apart.
    start
        Their estimates without random effects, in the order of ``columns``.
    directions
        (p,) combinations of columns along which the likelihood rises for ever, in the order
        found; empty without separation.
    settled
        Whether the plain fit settled.
    """

    kept: BoolArray
    identified: Codes
    columns: Codes
    start: FloatArray
    directions: tuple[FloatArray, ...]
    settled: bool

    def separated(self) -> Codes:
        """Return the columns that take part in a direction."""
        parts = [np.flatnonzero(direction) for direction in self.directions]
        return np.unique(np.concatenate(parts)) if parts else np.zeros(0, dtype=np.intp)


def independent_columns(fixed: FloatArray, precision: FloatArray, order: Codes) -> Codes:
    """Return the columns that are no combination of earlier ones, in ascending order.

    Parameters
    ----------
    fixed
        (m, p) design matrix.
    precision
        (p,) prior precision; a column with a prior is never aliased.
    order
        The order in which columns are taken; later ones yield.
    """
    if not fixed.size:
        return np.flatnonzero(precision > 0)
    triangle = qr(np.vstack([fixed, np.diag(np.sqrt(precision))]), mode="r", check_finite=False)[0]
    basis = np.empty((len(triangle), 0))
    taken = []
    for column in order:
        vector = triangle[:, column]
        left = vector - basis @ (basis.T @ vector)
        left -= basis @ (basis.T @ left)
        length = float(np.linalg.norm(left))
        if length > _ALIASED * float(np.linalg.norm(vector)):
            basis = np.column_stack([basis, left / length])
            taken.append(int(column))
    return np.sort(np.array(taken, dtype=np.intp))


def finite_part(rows: Rows, precision: FloatArray) -> Finite:
    """Set separated rows apart until what is left has finite estimates.

    Parameters
    ----------
    rows
        All rows.
    precision
        (p,) prior precision of the columns; columns with a prior take part in no separation.
    """
    size = rows.fixed.shape[1]
    kept = np.ones(rows.count.size, dtype=bool)
    identified = independent_columns(rows.fixed, precision, np.arange(size))
    order = identified
    directions: list[FloatArray] = []
    while True:
        part = rows.take(kept)
        columns = independent_columns(part.fixed, precision, order)
        basis, triangle = orthonormal(part.fixed[:, columns], precision[columns])
        fit = plain_fit(replace(part, fixed=basis), prior_in(triangle, precision[columns]))
        start = np.asarray(np.linalg.solve(triangle, fit.fixed))
        direction = None if fit.settled else _direction(part, precision, identified)
        if direction is None:
            return Finite(kept, identified, columns, start, tuple(directions), fit.settled)
        directions.append(direction)
        kept[kept] = np.abs(part.fixed @ direction) <= _SEPARATED * _reach(part.fixed, direction)
        # Columns that separate yield first, so that the others keep their estimates.
        involved = np.any([d[order] != 0 for d in directions], axis=0)
        order = np.concatenate([order[~involved], order[involved]])


def orthonormal(fixed: FloatArray, precision: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return Q (m, p) and upper triangular R (p, p) with Q R = fixed, well conditioned.

    With a prior, rows for it are stacked below; they make R invertible and are cut off Q.
    """
    if not fixed.shape[1]:
        return fixed, np.zeros((0, 0))
    stacked = np.vstack([fixed, np.diag(np.sqrt(precision))[precision > 0]])
    basis, triangle = qr(stacked, mode="economic", check_finite=False)
    scale = np.sqrt(max(1, len(fixed)))
    return basis[: len(fixed)] * scale, triangle / scale


def prior_in(triangle: FloatArray, precision: FloatArray) -> FloatArray:
    """Return the prior's (p, p) precision of the coefficients on the orthonormal columns."""
    if not precision.any():
        return np.zeros(triangle.shape)
    half = np.linalg.solve(triangle.T, np.diag(np.sqrt(precision)))
    return np.asarray(half @ half.T)


def stopped(rows: Rows, finite: Finite, fixed: FloatArray) -> FloatArray:
    """Return (p,) coefficients moved along the directions until separated rows are far out.

    Parameters
    ----------
    fixed
        (p,) the finite part's coefficients, 0 for other columns.
    """
    left = np.ones(rows.count.size, dtype=bool)
    layers = []
    for direction in finite.directions:
        predicted = rows.fixed @ direction
        gone = left & (np.abs(predicted) > _SEPARATED * _reach(rows.fixed[left], direction))
        layers.append((direction, gone))
        left &= ~gone
    # The last direction found is the slowest to infinity: the earlier ones must outrun it.
    for direction, gone in reversed(layers):
        predicted, eta = rows.fixed[gone] @ direction, rows.fixed[gone] @ fixed + rows.offset[gone]
        needed = (_FAR - np.sign(predicted) * eta) / np.abs(predicted)
        fixed = fixed + max(0.0, float(needed.max())) * direction
    return fixed


def covariance_along(rows: Rows, finite: Finite, fixed: FloatArray) -> FloatArray:
    """Return the (p, p) covariance of the combinations that only separated rows inform.

    Parameters
    ----------
    fixed
        (p,) the stopped coefficients; the covariance, as they, grows without bound along the
        directions and says no more than that.
    """
    size = rows.fixed.shape[1]
    lost = np.setdiff1d(finite.identified, finite.columns)
    combinations = np.zeros((size, lost.size))
    combinations[lost, np.arange(lost.size)] = 1.0
    if finite.columns.size:
        part = rows.fixed[finite.kept]
        combinations[finite.columns] = -np.linalg.lstsq(part[:, finite.columns], part[:, lost])[0]
    gone = ~finite.kept
    eta = np.clip(rows.offset[gone] + rows.fixed[gone] @ fixed, -_FAR - 5, _FAR + 5)
    _, weight, _ = rows.family.moments(eta, rows.count[gone], rows.trials[gone])
    reach = rows.fixed[gone] @ combinations
    information = reach.T @ (reach * weight[:, np.newaxis])
    return np.asarray(combinations @ np.linalg.pinv(information) @ combinations.T)


def _direction(rows: Rows, precision: FloatArray, identified: Codes) -> FloatArray | None:
    """Return (p,) a combination of columns that separates rows, or None."""
    may = identified[precision[identified] == 0]
    largest = np.abs(rows.fixed[:, may]).max(axis=0, initial=0.0)
    may, largest = may[largest > 0], largest[largest > 0]
    if not may.size:
        return None
    scaled = rows.fixed[:, may] / largest
    none = rows.count == 0
    full = (rows.count == rows.trials) & (rows.family.name == "binomial")
    signed = np.unique(np.concatenate([-scaled[none & ~full], scaled[full & ~none]]), axis=0)
    mixed = scaled[~none & ~full]
    if not len(signed):
        return None
    found = linprog(
        -signed.sum(axis=0),
        A_ub=-signed,
        b_ub=np.zeros(len(signed)),
        A_eq=qr(mixed, mode="r")[0][: may.size] if len(mixed) else None,
        b_eq=np.zeros(min(len(mixed), may.size)) if len(mixed) else None,
        bounds=(-1, 1),
        method="highs",
    )
    if not found.success or -found.fun < _SEPARATED:
        return None
    direction = np.zeros(rows.fixed.shape[1])
    direction[may] = np.where(np.abs(found.x) > _SEPARATED, found.x, 0.0) / largest
    return direction


def _reach(fixed: FloatArray, direction: FloatArray) -> float:
    return float((np.abs(fixed) @ np.abs(direction)).max(initial=0.0))
