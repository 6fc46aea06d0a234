"""What the spreads' update needs of the covariance: sums over groups of its entries.

Where all of it is at hand they are exact. Else those of terms of few levels are, whose covariance
is the inverse of the last corner of the factor, and those of lots and designs are averages over
random signs: with ``z`` of ones with random signs on a group's coefficients, ``z'Cz`` is the trace
of its block on average (Hutchinson 1990, Communications in Statistics B 19:433-450; largest
directions first: Meyer, Musco, Musco & Woodruff 2021, Symposium on Simplicity in Algorithms), and
the squares of ``Cz`` over another group those of their block. The signs are the same every time,
so that steps settle and the same record gives the same answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.linalg import qr

from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model.blocks import Covariance
from logbook.kernels.setup_model.setups import IntArray

EXACT_WORK = 2e9
"""Multiplications up to which all of the covariance is worth its while."""
SEED = 20_251_128


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """Sums over groups of coefficients.

    Attributes
    ----------
    traces
        (J,) of variances.
    squares
        (J, J) of squared covariances.
    """

    traces: FloatArray
    squares: FloatArray


def exact(covariance: Covariance) -> bool:
    """Whether all of the covariance is made."""
    others = float(covariance.others.size)
    return others * others * covariance.size <= EXACT_WORK


def moments(covariance: Covariance, members: FloatArray, *, signs: int | None) -> Moments:
    """Sum up a covariance.

    Parameters
    ----------
    members
        (P, J) one where a coefficient belongs to a group.
    signs
        How many vectors of random signs a group of many levels is averaged over; None: all sums
        are exact, whatever it takes.
    """
    if signs is None or exact(covariance):
        return Moments(covariance.diagonal() @ members, covariance.squares(members))
    last = covariance.others[covariance.many :]
    large = np.ones(len(members), dtype=bool)
    large[last] = False
    averaged = np.flatnonzero(members[large].any(axis=0))
    corner, own = covariance.corner(), members[last]
    traces = np.diag(corner) @ own
    squares = _in_groups(corner**2, own)
    found = [_averaged(covariance, members, int(group), signs) for group in averaged]
    for group, each in zip(averaged, found, strict=True):
        traces[group] = each.traces[group]
        squares[group] = squares[:, group] = each.squares[group]
    for one, each in zip(averaged, found, strict=True):
        for other, beside in zip(averaged, found, strict=True):
            both = each.squares[one, other] + beside.squares[other, one]
            squares[one, other] = both / 2.0
    return Moments(traces, squares)


def _in_groups(matrix: FloatArray, members: FloatArray) -> FloatArray:
    return np.asarray(members.T @ matrix @ members)


def _averaged(covariance: Covariance, members: FloatArray, group: int, signs: int) -> Moments:
    """Moments of one group, with the others: only its own rows are filled in.

    The directions in which the group's doubt is largest, as that of its common level, are taken
    out and summed by themselves, so that signs tell only of what is left.
    """
    at = np.flatnonzero(members[:, group])
    rng = np.random.default_rng([SEED, group])
    drawn = np.where(rng.random((at.size, signs)) < 0.5, -1.0, 1.0)
    few = min(signs // 3, at.size)
    large = qr(_times(covariance, at, drawn[:, :few])[at], mode="economic")[0]
    left = drawn[:, few:] - large @ (large.T @ drawn[:, few:])
    units: FloatArray = np.hstack([large, left / math.sqrt(signs - few)])
    carried = _times(covariance, at, units)
    count = members.shape[1]
    traces, squares = np.zeros(count), np.zeros((count, count))
    traces[group] = float(np.sum(units * carried[at]))
    squares[group] = np.einsum("ij,ij->i", carried, carried) @ members
    return Moments(traces, squares)


def _times(covariance: Covariance, at: IntArray, units: FloatArray) -> FloatArray:
    whole = np.zeros((covariance.size, units.shape[1]))
    whole[at] = units
    return covariance.times(whole)
