"""One step towards the coefficients: the penalised, reweighted normal equations, solved."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, cholesky
from scipy.linalg.blas import dgemm
from scipy.linalg.lapack import dpotri

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.objective import Objective
from logbook.kernels.setup_model.responses import clustering, rate_at, residual_at, slope_at
from logbook.kernels.setup_model.setups import Setups
from logbook.kernels.setup_model.terms import Layout, Pairs, Rows
from logbook.kernels.setup_model.variances import Spreads, spreads_of

FEWEST_SET_APART = 64
"""Levels from which it pays to use that a term's own block is diagonal."""
ROUNDING = 1e-10


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """What stays the same through a fit."""

    setups: Setups
    layout: Layout
    rows: Rows
    pairs: Pairs | None
    spreads: Spreads
    objective: Objective

    @classmethod
    def of(cls, setups: Setups, layout: Layout, rows: Rows, objective: Objective) -> Problem:
        """Put a record and its layout together."""
        return cls(setups, layout, rows, layout.pairs(rows), spreads_of(layout), objective)

    @property
    def integrated(self) -> BoolArray:
        """(P,) coefficients of terms with estimated standard deviations, the random effects."""
        return np.asarray(self.spreads.estimated[self.layout.group_of])

    def eta(self, coefficients: FloatArray) -> FloatArray:
        """Sum of effects of each row, (m,)."""
        return self.layout.predict(self.rows, coefficients) + self.setups.offset


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One solution of the normal equations, at the coefficients that went into it.

    Attributes
    ----------
    move
        (P,) towards the solution.
    decrement
        Squared length of the move in standard errors.
    covariance, precision, log_determinant
        (P, P) of the coefficients together; its inverse, and log determinant of that.
    weighed, eta
        (m,) working weights and sums of effects.
    """

    move: FloatArray
    decrement: float
    covariance: FloatArray
    precision: FloatArray
    log_determinant: float
    weighed: FloatArray
    eta: FloatArray


def solve(
    problem: Problem,
    coefficients: FloatArray,
    sds: FloatArray,
    overdispersion: float,
    held: BoolArray | None = None,
) -> Step:
    """Solve the normal equations at the coefficients.

    Parameters
    ----------
    held
        (P,) coefficients that stay where they are: they have no covariance.
    """
    setups, layout, rows = problem.setups, problem.layout, problem.rows
    eta = problem.eta(coefficients)
    rate = rate_at(eta, setups.measure)
    slope = slope_at(rate, setups.measure)
    extra = clustering(setups.trials, setups.squares, setups.measure)
    dispersion = 1.0 + overdispersion * slope * extra / setups.trials
    weighed = setups.trials * slope / dispersion
    prior = 1.0 / sds[layout.group_of] ** 2
    precision = layout.gram(rows, weighed, problem.pairs)
    precision[np.diag_indices_from(precision)] += prior
    residual = residual_at(eta, setups.count, setups.trials, setups.measure)
    score = layout.gather(rows, residual / dispersion) - prior * coefficients
    if held is not None:
        precision[held] = precision[:, held] = 0.0
        precision[held, held] = 1.0
        score[held] = 0.0
    covariance, log_determinant = inverse(precision, layout.largest())
    if held is not None:
        covariance[held, held] = 0.0
    move = covariance @ score
    decrement = float(move @ score)
    return Step(move, decrement, covariance, precision, log_determinant, weighed, eta)


def inverse(precision: FloatArray, apart: slice) -> tuple[FloatArray, float]:
    """Invert a precision matrix one of whose diagonal blocks is itself diagonal.

    Parameters
    ----------
    precision
        (P, P).
    apart
        Where the diagonal block is: a row takes one level of a term only.

    Returns
    -------
    tuple
        The (P, P) inverse and the log determinant of the matrix.
    """
    try:
        return _inverse(precision, apart)
    except LinAlgError:
        # Weights so uneven, on the way, that rounding eats what tells two coefficients apart.
        lifted = precision + np.diag(ROUNDING * np.diag(precision))
        return _inverse(lifted, apart)


def _inverse(precision: FloatArray, apart: slice) -> tuple[FloatArray, float]:
    size = len(precision)
    own = np.arange(apart.start, apart.stop)
    if own.size < FEWEST_SET_APART:
        return _dense_inverse(precision)
    others = np.concatenate([np.arange(apart.start), np.arange(apart.stop, size)])
    diagonal = np.diag(precision)[apart]
    across = precision[others, apart]
    share = across / diagonal
    left = precision[np.ix_(others, others)] - dgemm(1.0, share, across, trans_b=True)
    inner, log_determinant = _dense_inverse(left)
    border = -dgemm(1.0, inner, share)
    result = np.empty_like(precision)
    result[np.ix_(others, others)] = inner
    result[others, apart] = border
    result[apart, others] = border.T
    block = -dgemm(1.0, share, border, trans_a=True)
    block[np.diag_indices_from(block)] += 1.0 / diagonal
    result[apart, apart] = block
    return result, log_determinant + float(np.log(diagonal).sum())


def _dense_inverse(precision: FloatArray) -> tuple[FloatArray, float]:
    if not len(precision):
        return precision.copy(), 0.0
    factor = cholesky(precision, lower=True)
    lower, failed = dpotri(factor, lower=1)
    if failed:
        raise LinAlgError("The normal equations could not be inverted.")
    covariance = lower + lower.T
    covariance[np.diag_indices_from(covariance)] /= 2.0
    return covariance, 2.0 * float(np.log(np.diag(factor)).sum())
