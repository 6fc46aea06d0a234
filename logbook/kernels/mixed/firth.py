"""The plain fit with Jeffreys' prior: finite under separation, and less biased in small records."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.linalg import LinAlgError

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray, Numbers
from logbook.kernels.mixed.rows import Rows
from logbook.kernels.mixed.separation import Finite, independent_columns, orthonormal

_STEP_SMALL = 1e-10
_STEPS = 500
_LONGEST_STEP = 5.0
_HALVINGS = 30


def firth_part(rows: Rows, fixed_prior_sd: Numbers | None) -> Finite:
    """Return all rows with the coefficients that maximise the likelihood under Jeffreys' prior.

    Raises
    ------
    KernelError
        If there are groups, or another prior: how they would combine is not defined.

    Notes
    -----
    Firth (1993), Biometrika 80:27-38: half the log determinant of the information is added to
    the log likelihood. Heinze & Schemper (2002), Stat Med 21:2409-2419, for separation.
    """
    if rows.sizes or fixed_prior_sd is not None:
        raise KernelError(
            "jeffreys_prior is for fits without groups and without fixed_prior_sd.",
            "With groups, keep coefficients finite by fixed_prior_sd.",
        )
    size = rows.fixed.shape[1]
    columns = independent_columns(rows.fixed, np.zeros(size), np.arange(size))
    basis, triangle = orthonormal(rows.fixed[:, columns], np.zeros(columns.size))
    fixed, settled = _ascend(replace(rows, fixed=basis))
    start = np.asarray(np.linalg.solve(triangle, fixed))
    return Finite(np.ones(rows.count.size, dtype=bool), columns, columns, start, (), settled)


def _ascend(rows: Rows) -> tuple[FloatArray, bool]:
    """Return the estimates by Newton's method without the prior's curvature, and success."""
    eta = rows.family.first_guess(rows.count, rows.trials) - rows.offset
    fixed = np.asarray(np.linalg.lstsq(rows.fixed, eta)[0])
    value, step = _value_and_step(rows, fixed)
    for _ in range(_STEPS):
        change = float(np.abs(rows.fixed @ step).max(initial=0.0))
        if change < _STEP_SMALL:
            return fixed, True
        step = step * min(1.0, _LONGEST_STEP / change)
        for halving in range(_HALVINGS):
            candidate = fixed + 0.5**halving * step
            reached, following = _value_and_step(rows, candidate)
            if reached >= value - 1e-12 * (1 + abs(value)):
                break
        fixed, value, step = candidate, reached, following
    return fixed, False


def _value_and_step(rows: Rows, fixed: FloatArray) -> tuple[float, FloatArray]:
    """Return the penalised log likelihood without its constant, and the step from there."""
    if not fixed.size:
        return 0.0, fixed
    eta = rows.offset + rows.fixed @ fixed
    residual, weight, third = rows.family.moments(eta, rows.count, rows.trials)
    information = rows.fixed.T @ (rows.fixed * weight[:, np.newaxis])
    try:
        root = np.linalg.cholesky(information)
    except LinAlgError:
        return -np.inf, np.zeros_like(fixed)
    reach = np.linalg.solve(root, rows.fixed.T)
    # The slope of log |information| / 2: each row pulls by its own variance and skewness.
    score = rows.fixed.T @ (residual + 0.5 * third * (reach**2).sum(axis=0))
    value = rows.family.log_likelihood(eta, rows.count, rows.trials)
    step = np.linalg.solve(root.T, np.linalg.solve(root, score))
    return value + float(np.log(np.diag(root)).sum()), np.asarray(step)
