"""The plain generalized linear model: all rows independent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.linalg import LinAlgError

from logbook.kernels.arguments import FloatArray
from logbook.kernels.mixed.rows import Rows

_STEP_SMALL = 1e-9
_STEPS = 40
_HALVINGS = 30


@dataclass(frozen=True, slots=True, eq=False)
class PlainFit:
    """Estimates (p,) and whether they settled, which they never do under separation."""

    fixed: FloatArray
    settled: bool


def plain_fit(rows: Rows, precision: FloatArray) -> PlainFit:
    """Maximise the likelihood, less half the squared estimates weighed by a (p, p) precision.

    Newton's method, which for canonical links is iteratively reweighted least squares
    (McCullagh & Nelder 1989, sec. 2.5), with steps halved until the likelihood does not fall.
    """
    fixed = _first(rows, precision)
    value = _value(rows, precision, fixed)
    for _ in range(_STEPS):
        step = _newton_step(rows, precision, fixed)
        if step is None:
            return PlainFit(fixed, settled=False)
        change = float(np.abs(rows.fixed @ step).max(initial=0.0))
        fixed, value = _no_worse(rows, precision, fixed, value, step)
        if change < _STEP_SMALL:
            return PlainFit(fixed, settled=True)
    return PlainFit(fixed, settled=False)


def _first(rows: Rows, precision: FloatArray) -> FloatArray:
    eta = rows.family.first_guess(rows.count, rows.trials)
    _, weight, _ = rows.family.moments(eta, rows.count, rows.trials)
    weighted = rows.fixed * weight[:, np.newaxis]
    target = weighted.T @ (eta - rows.offset)
    return np.asarray(np.linalg.lstsq(weighted.T @ rows.fixed + precision, target)[0])


def _value(rows: Rows, precision: FloatArray, fixed: FloatArray) -> float:
    eta = rows.offset + rows.fixed @ fixed
    fit = rows.family.log_likelihood(eta, rows.count, rows.trials)
    return fit - 0.5 * float(fixed @ precision @ fixed)


def _newton_step(rows: Rows, precision: FloatArray, fixed: FloatArray) -> FloatArray | None:
    eta = rows.offset + rows.fixed @ fixed
    residual, weight, _ = rows.family.moments(eta, rows.count, rows.trials)
    score = rows.fixed.T @ residual - precision @ fixed
    information = rows.fixed.T @ (rows.fixed * weight[:, np.newaxis]) + precision
    if not fixed.size:
        return score
    try:
        root = np.linalg.cholesky(information)
        return np.asarray(np.linalg.solve(root.T, np.linalg.solve(root, score)))
    except LinAlgError:
        return None


def _no_worse(
    rows: Rows, precision: FloatArray, fixed: FloatArray, value: float, step: FloatArray
) -> tuple[FloatArray, float]:
    slack = 1e-12 * (1 + abs(value))
    for halving in range(_HALVINGS):
        candidate = fixed + 0.5**halving * step
        reached = _value(rows, precision, candidate)
        if reached >= value - slack:
            return candidate, reached
    return fixed, value
