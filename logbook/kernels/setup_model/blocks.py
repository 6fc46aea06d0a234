"""Precision and covariance of all coefficients, with the term of most levels set apart.

A row takes one level of a term at most, so that a term's own block of the precision is diagonal.
Eliminating that of the largest term leaves a small matrix for all others: a term with a level for
every run costs no more than a column.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import LinAlgError, cholesky
from scipy.linalg.blas import dgemm
from scipy.linalg.lapack import dpotri

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.setups import IntArray

ROUNDING = 1e-10


@dataclass(frozen=True, slots=True, eq=False)
class Covariance:
    """The inverse of a :class:`Precision`.

    Attributes
    ----------
    apart
        (q,) positions of the term set apart; ``others`` (r,) those of the rest.
    own
        (q,) inverse of the precision's diagonal.
    share
        (r, q) the precision's border times ``own``.
    inner, border
        (r, r) covariance of the others, and (r, q) that with the term set apart.
    """

    apart: slice
    others: IntArray
    own: FloatArray
    share: FloatArray
    inner: FloatArray
    border: FloatArray

    def times(self, vector: FloatArray) -> FloatArray:
        """Product with a (P,) vector, or with the columns of (P, k)."""
        result = np.empty_like(vector)
        rest = self.inner @ (vector[self.others] - self.share @ vector[self.apart])
        result[self.others] = rest
        own = (vector[self.apart].T * self.own).T
        result[self.apart] = own - self.share.T @ rest
        return result

    def diagonal(self) -> FloatArray:
        """(P,) variances."""
        result = np.empty(self.own.size + len(self.inner))
        result[self.others] = np.diag(self.inner)
        result[self.apart] = self.own - np.einsum("rq,rq->q", self.border, self.share)
        return result

    def among(self, some: IntArray) -> FloatArray:
        """(k, k) covariance of some of the coefficients."""
        units = np.zeros((self.own.size + len(self.inner), some.size))
        units[some, np.arange(some.size)] = 1.0
        return self.times(units)[some]

    def squares(self, members: FloatArray) -> FloatArray:
        """Sums of the squared entries over pairs of groups, (J, J); ``members`` (P, J) ones."""
        rest, group = members[self.others], int(np.argmax(members[self.apart.start]))
        sums = rest.T @ self.inner**2 @ rest
        across = np.einsum("rq,rq->r", self.border, self.border) @ rest
        sums[group] += across
        sums[:, group] += across
        echo = -np.einsum("rq,rq->q", self.border, self.share)
        # Whichever of the two products is the smaller; both have the same trace of their square.
        few = self.share.shape[1] < self.share.shape[0]
        tied = dgemm(1.0, self.share, self.border, trans_a=few, trans_b=not few)
        sums[group, group] += np.sum(self.own**2 + 2.0 * self.own * echo)
        sums[group, group] += np.einsum("ij,ji->", tied, tied)
        return np.asarray(sums)

    def dense(self) -> FloatArray:
        """(P, P)."""
        block = -dgemm(1.0, self.share, self.border, trans_a=True)
        block[np.diag_indices_from(block)] += self.own
        return _assembled(self.apart, self.others, block, self.border, self.inner)


@dataclass(frozen=True, slots=True, eq=False)
class Precision:
    """Information on all coefficients together.

    Attributes
    ----------
    apart
        (q,) positions of the term set apart; ``others`` (r,) those of the rest.
    diagonal
        (q,) its own block.
    border
        (r, q) of the others with it.
    rest
        (r, r) of the others.
    """

    apart: slice
    others: IntArray
    diagonal: FloatArray
    border: FloatArray
    rest: FloatArray

    def plus(self, diagonal: FloatArray) -> Precision:
        """With a (P,) diagonal added."""
        rest = self.rest + np.diag(diagonal[self.others])
        return replace(self, diagonal=self.diagonal + diagonal[self.apart], rest=rest)

    def holding(self, held: BoolArray) -> Precision:
        """That of the other coefficients where (P,) some are held: those stand apart with one."""
        own, rest = held[self.apart], self.rest.copy()
        others = held[self.others]
        rest[others] = rest[:, others] = 0.0
        rest[others, others] = 1.0
        border = self.border * np.outer(~others, ~own)
        return replace(self, diagonal=np.where(own, 1.0, self.diagonal), border=border, rest=rest)

    def inverse(self) -> tuple[Covariance, float]:
        """The inverse, and the log determinant of the precision."""
        try:
            return self._inverse()
        except LinAlgError:
            # Weights so uneven, on the way, that rounding eats what tells coefficients apart.
            own = np.diag(self.rest)
            lifted = self.rest + np.diag(ROUNDING * np.maximum(own, own.max()))
            return replace(self, rest=lifted)._inverse()

    def _inverse(self) -> tuple[Covariance, float]:
        share = self.border / self.diagonal
        left = self.rest - dgemm(1.0, share, self.border, trans_b=True)
        log_determinant = float(np.log(self.diagonal).sum())
        inner = left
        if len(left):
            factor = cholesky(left, lower=True)
            lower, failed = dpotri(factor, lower=1)
            if failed:
                raise LinAlgError("The normal equations could not be inverted.")
            inner = lower + lower.T
            inner[np.diag_indices_from(inner)] /= 2.0
            log_determinant += 2.0 * float(np.log(np.diag(factor)).sum())
        border = -dgemm(1.0, inner, share)
        own = 1.0 / self.diagonal
        return Covariance(self.apart, self.others, own, share, inner, border), log_determinant

    def dense(self) -> FloatArray:
        """(P, P)."""
        block = np.diag(self.diagonal)
        return _assembled(self.apart, self.others, block, self.border, self.rest)


def without(covariance: Covariance, held: BoolArray) -> Covariance:
    """The covariance where (P,) held coefficients have none."""
    others = ~held[covariance.others]
    return replace(
        covariance,
        own=np.where(held[covariance.apart], 0.0, covariance.own),
        inner=covariance.inner * np.outer(others, others),
        border=covariance.border * others[:, np.newaxis],
    )


def _assembled(
    apart: slice, others: IntArray, block: FloatArray, border: FloatArray, rest: FloatArray
) -> FloatArray:
    size = len(block) + len(rest)
    whole = np.empty((size, size))
    whole[apart, apart] = block
    whole[others, apart] = border
    whole[apart, others] = border.T
    whole[np.ix_(others, others)] = rest
    return whole
