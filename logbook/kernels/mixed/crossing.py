"""The algebra of crossed groupings: sums over levels, and the matrix that ties the levels.

With Z the rows' membership in levels, S = diag(theta) the standard deviation of each level and
W a diagonal of weights, everything rests on H = I + S Z'W Z S. Its block for the largest
grouping is diagonal, since a row lies in one level only; eliminating that block leaves a small
dense matrix for the other levels. So a grouping of one level a row costs no more than a column.

All dense products go through scipy's BLAS, as the factorisations do: numpy and scipy bring one
thread pool each, and two pools taking turns on the same cores are some fifty times slower.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from scipy.linalg import LinAlgError, cho_factor, cho_solve
from scipy.linalg.blas import dgemm, dgemv, dsyrk
from scipy.sparse import csr_array, diags_array

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray
from logbook.kernels.mixed.rows import Codes

Block: TypeAlias = FloatArray | csr_array

_LARGEST_DENSE_BLOCK = 4_000_000
_DENSE_ENOUGH = 8
_MOST_OTHER_LEVELS = 10_000
_ROUNDING = 1e-12


class Crossing:
    """Which rows lie in which levels; made once a fit.

    Vectors over levels run through the groupings, the largest first. Rows must be sorted by
    their code in the largest grouping.
    """

    def __init__(self, codes: tuple[Codes, ...], sizes: tuple[int, ...]) -> None:
        self.codes, self.sizes = codes, sizes
        self.rows = codes[0].size
        self.level_count = sum(sizes)
        self.starts = np.concatenate([[0], np.cumsum(sizes)]).astype(np.intp)
        self.others = self.level_count - sizes[0]
        if self.others > _MOST_OTHER_LEVELS:
            raise KernelError(
                f"The groups besides the largest have {self.others} levels in all; "
                f"{_MOST_OTHER_LEVELS} is the most that can be fitted.",
                "Fit fewer groups, or a shorter window.",
            )
        self.within = [c + start - sizes[0] for c, start in zip(codes, self.starts, strict=False)]
        self.row_starts = np.searchsorted(codes[0], np.arange(sizes[0] + 1))
        self._pairs = {
            (j, other): codes[j] * sizes[other] + codes[other]
            for j in range(1, len(codes))
            for other in range(j + 1, len(codes))
        }
        entries = min(_LARGEST_DENSE_BLOCK, _DENSE_ENOUGH * self.rows * (len(sizes) - 1))
        self._dense = sizes[0] * self.others <= entries
        if self._dense:
            self._border_pairs = [codes[0] + sizes[0] * code for code in codes[1:]]
        else:
            keys = [codes[0] * self.others + within for within in self.within[1:]]
            pattern, self._cell = np.unique(np.concatenate(keys), return_inverse=True)
            self._columns = pattern % self.others
            bounds = np.arange(sizes[0] + 1) * self.others
            self._row_bounds = np.searchsorted(pattern, bounds)

    def split(self, levels: FloatArray) -> list[FloatArray]:
        """Return a vector over levels as one vector a grouping."""
        return np.split(levels, self.starts[1:-1])

    def per_level(self, theta: FloatArray) -> FloatArray:
        """Return one number a grouping as one number a level."""
        return np.repeat(theta, self.sizes)

    def sums(self, values: FloatArray) -> FloatArray:
        """Return Z'values: the sum over the rows of each level."""
        return np.concatenate(
            [
                np.bincount(code, values, minlength=size)
                for code, size in zip(self.codes, self.sizes, strict=True)
            ]
        )

    def spread(self, levels: FloatArray) -> FloatArray:
        """Return Z levels: for each row the sum over the levels that it lies in."""
        parts = self.split(levels)
        total = parts[0][self.codes[0]]
        for part, code in zip(parts[1:], self.codes[1:], strict=True):
            total += part[code]
        return total

    def factor(self, theta: FloatArray, weight: FloatArray) -> Factor:
        """Return the factorised H for these standard deviations and weights."""
        diagonal = 1 + self.per_level(theta) ** 2 * self.sums(weight)
        first, rest = diagonal[: self.sizes[0]], np.diag(diagonal[self.sizes[0] :])
        if not self.others:
            return Factor(self, theta, first, None, None)
        for (j, other), pair in self._pairs.items():
            block = np.bincount(pair, weight, minlength=self.sizes[j] * self.sizes[other])
            rows = slice(self.starts[j] - self.sizes[0], self.starts[j + 1] - self.sizes[0])
            columns = slice(
                self.starts[other] - self.sizes[0], self.starts[other + 1] - self.sizes[0]
            )
            rest[rows, columns] = theta[j] * theta[other] * block.reshape(self.sizes[j], -1)
        border = self._border(theta, weight)
        if isinstance(border, csr_array):
            scaled = diags_array(first**-0.5) @ border
            rest -= (scaled.T @ scaled).toarray()
            border = csr_array(diags_array(1 / first) @ border)
        else:
            scaled = border / np.sqrt(first)[:, np.newaxis]
            # Upper triangle only, which is all that the root reads.
            rest -= dsyrk(1.0, scaled, trans=True)
            border = border / first[:, np.newaxis]
        return Factor(self, theta, first, border, _root(rest, diagonal[self.sizes[0] :]))

    def _border(self, theta: FloatArray, weight: FloatArray) -> Block:
        first = self.sizes[0]
        if self._dense:
            border = np.empty((first, self.others), order="F")
            for j, pair in enumerate(self._border_pairs, start=1):
                columns = slice(self.starts[j] - first, self.starts[j + 1] - first)
                block = np.bincount(pair, weight, minlength=first * self.sizes[j])
                border[:, columns] = theta[0] * theta[j] * block.reshape(-1, first).T
            return border
        entries = np.concatenate([theta[0] * theta_j * weight for theta_j in theta[1:]])
        data = np.bincount(self._cell, entries, minlength=self._columns.size)
        return csr_array((data, self._columns, self._row_bounds), shape=(first, self.others))


@dataclass(frozen=True, slots=True, eq=False)
class Factor:
    """H in factors.

    Attributes
    ----------
    first
        (q1,) the diagonal block D of the largest grouping.
    border
        (q1, q2) T = D^-1 H12 towards the other levels.
    root
        (q2, q2) upper Cholesky root of H22 - H21 D^-1 H12.
    """

    crossing: Crossing
    theta: FloatArray
    first: FloatArray
    border: Block | None
    root: FloatArray | None

    def log_determinant(self) -> float:
        """Return log |H|."""
        rest = 0.0 if self.root is None else 2 * np.log(np.diag(self.root)).sum()
        return float(np.log(self.first).sum() + rest)

    def solve(self, right: FloatArray) -> FloatArray:
        """Return H^-1 right for right of shape (q,) or (q, c)."""
        q1 = self.first.size
        first = self.first if right.ndim == 1 else self.first[:, np.newaxis]
        head = right[:q1] / first
        if self.border is None or self.root is None:
            return head
        tail = cho_solve(
            (self.root, False),
            right[q1:] - _times(self.border, right[:q1], transposed=True),
            check_finite=False,
        )
        return np.concatenate([head - _times(self.border, tail), tail])

    def leverage(self) -> tuple[FloatArray, FloatArray]:
        """Return how much each row's own levels move with it.

        Returns
        -------
        tuple
            (k, m) for grouping j and row i the entry of H^-1 S z_i at the level of i in j, and
            (q,) the diagonal of H^-1.
        """
        crossing, theta = self.crossing, self.theta
        moved = np.empty((len(theta), crossing.rows))
        if self.border is None or self.root is None:
            moved[0] = (theta[0] / self.first)[crossing.codes[0]]
            return moved, 1 / self.first
        inverse = cho_solve((self.root, False), np.eye(crossing.others), check_finite=False)
        variance = np.concatenate([1 / self.first, np.diag(inverse)])
        step = max(1, _LARGEST_DENSE_BLOCK // crossing.others)
        for start in range(0, self.first.size, step):
            levels = slice(start, min(start + step, self.first.size))
            self._leverage_of(levels, self.border, inverse, moved, variance)
        return moved, variance

    def _leverage_of(
        self,
        levels: slice,
        border: Block,
        inverse: FloatArray,
        moved: FloatArray,
        variance: FloatArray,
    ) -> None:
        """Fill in the rows that lie in some levels of the largest grouping."""
        crossing, theta = self.crossing, self.theta
        rows = slice(crossing.row_starts[levels.start], crossing.row_starts[levels.stop])
        reach = border[levels]
        product = _times(reach, inverse)
        echo = np.asarray((reach * product).sum(axis=1))
        variance[levels] += echo
        own = crossing.codes[0][rows] - levels.start
        others = [within[rows] for within in crossing.within[1:]]
        along = [product[own, other] for other in others]
        moved[0, rows] = theta[0] * variance[levels][own]
        for j, other in enumerate(others, start=1):
            moved[0, rows] -= theta[j] * along[j - 1]
            moved[j, rows] = -theta[0] * along[j - 1]
            for another, within in enumerate(others, start=1):
                moved[j, rows] += theta[another] * inverse[within, other]


def _root(matrix: FloatArray, before: FloatArray) -> FloatArray:
    """Return the upper Cholesky root of what is left of a matrix with diagonal ``before``."""
    try:
        return np.asarray(cho_factor(matrix, lower=False, check_finite=False)[0])
    except LinAlgError:
        # A search step gone astray: weights so large that rounding eats the unit matrix in H.
        lifted = matrix + np.diag(_ROUNDING * before)
        return np.asarray(cho_factor(lifted, lower=False, check_finite=False)[0])


def _times(block: Block, right: FloatArray, *, transposed: bool = False) -> FloatArray:
    if isinstance(block, csr_array):
        return np.asarray((block.T if transposed else block) @ right)
    if right.ndim == 1:
        return np.asarray(dgemv(1.0, block, right, trans=transposed))
    return np.asarray(dgemm(1.0, block, right, trans_a=transposed))
