"""Matrices over the coefficients, with the term of most levels set apart.

A row takes one level of a term at most, so that a term's own block of the precision is diagonal.
That of the largest term is eliminated first; what is left for all others, its Schur complement, is
the only matrix that is factored (Bates, Maechler, Bolker & Walker 2015, J Stat Software 67(1),
section 3; Davis 2006, Direct Methods for Sparse Linear Systems). The border of the largest
term with the others is sparse where it is large: a lot is of one supplier and meets few designs.
Nothing is inverted unless it is asked for: products with the covariance take two solutions by the
factor.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeAlias

import numpy as np
from scipy.linalg import LinAlgError
from scipy.linalg.blas import dgemm
from scipy.linalg.lapack import dpotrf, dpotri, dpotrs
from scipy.sparse import csr_array

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.setups import IntArray

Matrix: TypeAlias = "FloatArray | csr_array"

ROUNDING = 1e-10
LEVELS_AT_ONCE = 1024


@dataclass(frozen=True, eq=False)
class Covariance:
    """The inverse of a :class:`Precision`.

    Attributes
    ----------
    apart
        (q,) positions of the term set apart; ``others`` (r,) those of the rest.
    own
        (q,) inverse of the precision's diagonal.
    across
        (q, r) the precision's border.
    factor
        (r, r) lower Cholesky factor of the precision of the others with the term apart eliminated;
        what is above its diagonal means nothing.
    many
        How many of the others, the first, are of terms of many levels.
    kept
        (P,) one, or zero where a coefficient was held and has no covariance; None for all ones.
    """

    apart: slice
    others: IntArray
    own: FloatArray
    across: Matrix
    factor: FloatArray
    many: int
    kept: FloatArray | None = None

    @property
    def size(self) -> int:
        """P."""
        return self.own.size + self.others.size

    def times(self, vector: FloatArray) -> FloatArray:
        """Product with a (P,) vector, or with the columns of (P, k)."""
        if self.kept is not None:
            vector = (vector.T * self.kept).T
        result = np.empty_like(vector, dtype=float)
        own = (vector[self.apart].T * self.own).T
        rest = vector[self.others] - self.across.T @ own
        rest = _solved(self.factor, rest)
        result[self.others] = rest
        result[self.apart] = own - ((self.across @ rest).T * self.own).T
        return result if self.kept is None else (result.T * self.kept).T

    @cached_property
    def inner(self) -> FloatArray:
        """(r, r) covariance of the others."""
        inner = _inverse(self.factor)
        if self.kept is not None:
            kept = self.kept[self.others]
            inner *= np.outer(kept, kept)
        return inner

    @cached_property
    def border(self) -> FloatArray:
        """(r, q) covariance of the others with the term set apart."""
        share = scaled(self.across, self.own)
        border = -(share @ self.inner).T
        return np.asarray(border if self.kept is None else border * self.kept[self.apart])

    def corner(self) -> FloatArray:
        """(s, s) covariance of the others of few levels, the last of them."""
        return _inverse(self.factor[self.many :, self.many :])

    def diagonal(self) -> FloatArray:
        """(P,) variances."""
        result = np.empty(self.size)
        result[self.others] = np.diag(self.inner)
        result[self.apart] = self.own + self._echo()
        return result if self.kept is None else result * self.kept

    def _echo(self) -> FloatArray:
        """(q,) what the others' doubt adds to the variances of the term set apart."""
        if isinstance(self.across, np.ndarray):
            echo = np.einsum("rq,qr->q", self.border, self.across)
        else:
            echo = np.asarray(self.across.multiply(self.border.T).sum(axis=1))
        return np.asarray(-echo * self.own)

    def among(self, some: IntArray) -> FloatArray:
        """(k, k) covariance of some of the coefficients."""
        units = np.zeros((self.size, some.size))
        units[some, np.arange(some.size)] = 1.0
        return self.times(units)[some]

    def squares(self, members: FloatArray) -> FloatArray:
        """Sums of the squared entries over pairs of groups, (J, J); ``members`` (P, J) ones."""
        rest, group = members[self.others], int(np.argmax(members[self.apart.start]))
        sums = rest.T @ self.inner**2 @ rest
        across = np.einsum("rq,rq->r", self.border, self.border) @ rest
        sums[group] += across
        sums[:, group] += across
        kept = 1.0 if self.kept is None else self.kept[self.apart]
        own = self.own * kept
        share = (scaled(self.across, own)).T
        share = share if isinstance(share, np.ndarray) else share.toarray()
        # Whichever of the two products is the smaller; both have the same trace of their square.
        few = share.shape[1] < share.shape[0]
        tied = dgemm(1.0, share, self.border, trans_a=few, trans_b=not few)
        sums[group, group] += np.sum(own**2 + 2.0 * own * self._echo() * kept)
        sums[group, group] += np.einsum("ij,ji->", tied, tied)
        return np.asarray(sums)

    def dense(self) -> FloatArray:
        """(P, P)."""
        return self.times(np.eye(self.size))


@dataclass(frozen=True, slots=True, eq=False)
class Precision:
    """Information on all coefficients together.

    Attributes
    ----------
    apart
        (q,) positions of the term set apart; ``others`` (r,) those of the rest.
    diagonal
        (q,) its own block.
    across
        (q, r) of it with the others.
    rest
        (r, r) of the others.
    many
        How many of the others, the first, are of terms of many levels.
    """

    apart: slice
    others: IntArray
    diagonal: FloatArray
    across: Matrix
    rest: FloatArray
    many: int = 0

    def holding(self, held: BoolArray) -> Precision:
        """That of the other coefficients where (P,) some are held: those stand apart with one."""
        own, rest = held[self.apart], self.rest.copy()
        others = held[self.others]
        rest[others] = rest[:, others] = 0.0
        rest[others, others] = 1.0
        across = _transposed(scaled(self.across, np.where(own, 0.0, 1.0)))
        across = _transposed(scaled(across, np.where(others, 0.0, 1.0)))
        return replace(self, diagonal=np.where(own, 1.0, self.diagonal), across=across, rest=rest)

    def inverse(self, *, spent: bool = False) -> tuple[Covariance, float]:
        """The inverse, and the log determinant of the precision.

        ``spent``: the precision is not needed any more, and its place may be written over.
        """
        left = self.rest if spent else self.rest.copy()
        own = 1.0 / self.diagonal
        lift = ROUNDING * np.diag(left).max(initial=0.0)
        eliminate(left, self.across, own, self.many)
        factor = _factor(left, lift)
        log_determinant = float(np.log(self.diagonal).sum() + 2.0 * np.log(np.diag(factor)).sum())
        found = Covariance(self.apart, self.others, own, self.across, factor, self.many)
        return found, log_determinant

    def dense(self) -> FloatArray:
        """(P, P)."""
        size = self.diagonal.size + self.others.size
        across = self.across if isinstance(self.across, np.ndarray) else self.across.toarray()
        apart = np.arange(self.apart.start, self.apart.stop)
        whole = np.zeros((size, size))
        whole[apart, apart] = self.diagonal
        whole[np.ix_(apart, self.others)] = across
        whole[np.ix_(self.others, apart)] = across.T
        whole[np.ix_(self.others, self.others)] = self.rest
        return whole


def without(covariance: Covariance, held: BoolArray) -> Covariance:
    """The covariance where (P,) held coefficients have none."""
    return replace(covariance, kept=np.where(held, 0.0, 1.0))


def scaled(matrix: Matrix, rows: FloatArray) -> Matrix:
    """Each row times a number of its own, (q,)."""
    if isinstance(matrix, np.ndarray):
        return np.asarray((matrix.T * rows).T)
    return matrix.multiply(rows[:, np.newaxis]).tocsr()


def _transposed(matrix: Matrix) -> Matrix:
    return matrix.T if isinstance(matrix, np.ndarray) else matrix.T.tocsr()


def eliminate(rest: FloatArray, across: Matrix, own: FloatArray, many: int) -> None:
    """Take ``across' diag(own) across`` from ``rest``, in its place."""
    half = scaled(across, np.sqrt(own))
    if isinstance(half, np.ndarray):
        rest -= half.T @ half
    else:
        _eliminate_sparse(rest, half, many)


def _eliminate_sparse(rest: FloatArray, half: csr_array, many: int) -> None:
    """Take ``half' half`` from ``rest``: columns of few levels as whole blocks of some rows."""
    if many:
        large = half[:, :many]
        rest[:many, :many] -= (large.T @ large).toarray()
    for start in range(0, half.shape[0], LEVELS_AT_ONCE):
        some = half[start : start + LEVELS_AT_ONCE]
        small = some[:, many:].toarray()
        rest[many:, many:] -= small.T @ small
        if many:
            across = some[:, :many].T.tocsr() @ small
            rest[:many, many:] -= across
            rest[many:, :many] -= across.T


def _solved(factor: FloatArray, right: FloatArray) -> FloatArray:
    if not right.size:
        return right
    solution, failed = dpotrs(factor, right, lower=1)
    if failed:
        raise LinAlgError("The normal equations could not be solved.")
    return np.asarray(solution)


def _inverse(factor: FloatArray) -> FloatArray:
    """The inverse behind a lower factor, both triangles."""
    if not factor.size:
        return np.zeros_like(factor)
    lower, failed = dpotri(factor, lower=1)
    if failed:
        raise LinAlgError("The normal equations could not be inverted.")
    lower = np.tril(lower)
    inverse = lower + lower.T
    inverse[np.diag_indices_from(inverse)] /= 2.0
    return np.asarray(inverse)


def _factor(matrix: FloatArray, lift: float) -> FloatArray:
    """Lower Cholesky factor, written over the matrix; of the lifted one if there is none."""
    if not matrix.size:
        return matrix
    diagonal = np.diag(matrix).copy()
    # LAPACK counts the other way: its lower triangle is our upper one, and our lower one stays.
    factor, failed = dpotrf(matrix.T, lower=1, clean=0, overwrite_a=1)
    if failed:
        # Weights so uneven, on the way, that rounding eats what tells coefficients apart.
        again = np.tril(matrix, -1)
        again[np.diag_indices_from(again)] = diagonal + lift
        factor, failed = dpotrf(again, lower=1, clean=0)
    if failed:
        raise LinAlgError("The normal equations could not be factored.")
    return np.asarray(factor)
