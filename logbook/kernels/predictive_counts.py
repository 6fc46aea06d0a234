"""How many pieces of a coming order will count, and how many to start with for enough to be left.

A share that is not known for sure, and that differs from order to order, makes counts spread wider
than luck alone: binomial counts over a beta-distributed share are beta-binomial (Skellam 1948, J R
Stat Soc B 10:257-261; Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., section 5.3).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import betaln, gammaln

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray

LEAST_SPREAD = 1e-6
"""Variance over ``mean * (1 - mean)`` below which a share counts as known for sure."""
MOST_SPREAD = 0.9
"""Above it the share would be all or nothing."""


@dataclass(frozen=True, slots=True)
class Share:
    """A share of pieces, beta-distributed.

    Attributes
    ----------
    a, b
        Parameters of the beta distribution; ``a / (a + b)`` is its mean.
    """

    a: float
    b: float

    @property
    def mean(self) -> float:
        """The share to be expected."""
        return self.a / (self.a + self.b)


@dataclass(frozen=True, slots=True)
class PredictedCount:
    """Pieces that will count, of an order to come."""

    expected: float
    lower: int
    upper: int


def share_of(*, mean: float, variance: float) -> Share:
    """Return the beta distribution of that mean and variance, by the method of moments.

    Parameters
    ----------
    mean
        Between 0 and 1, both left out.
    variance
        At least 0; above what a share can have it is taken as nearly that.

    Raises
    ------
    KernelError
        The mean is no share, or the variance is below 0.
    """
    if not 0 < mean < 1:
        raise KernelError(f"a share lies between 0 and 1, not at {mean}")
    if not variance >= 0:
        raise KernelError(f"a variance is 0 or more, not {variance}")
    most = mean * (1 - mean)
    spread = min(max(variance / most, LEAST_SPREAD), MOST_SPREAD)
    size = 1 / spread - 1
    return Share(mean * size, (1 - mean) * size)


def count_probabilities(*, pieces: int, share: Share, up_to: int | None = None) -> FloatArray:
    """Chance of each count from 0, (k + 1,); ``up_to`` is k, all pieces unless told."""
    counts = np.arange((pieces if up_to is None else min(up_to, pieces)) + 1, dtype=np.float64)
    ways = gammaln(pieces + 1.0) - gammaln(counts + 1) - gammaln(pieces - counts + 1)
    drawn = betaln(counts + share.a, pieces - counts + share.b) - betaln(share.a, share.b)
    return np.asarray(np.exp(ways + drawn), dtype=np.float64)


def predicted_count(*, pieces: int, share: Share, level: float = 0.9) -> PredictedCount:
    """Count to be expected of an order, and its central predictive interval.

    Parameters
    ----------
    pieces
        Of the order; at least 1.
    share
        Of one piece.
    level
        Chance that the count lies within the interval, at least.

    Raises
    ------
    KernelError
        There is no piece, or the level is no chance.
    """
    if pieces < 1:
        raise KernelError(f"an order has at least one piece, not {pieces}")
    if not 0 < level < 1:
        raise KernelError(f"a level lies between 0 and 1, not at {level}")
    summed = np.cumsum(count_probabilities(pieces=pieces, share=share))
    tail = (1 - level) / 2
    lower, upper = np.searchsorted(summed, [tail, 1 - tail])
    return PredictedCount(pieces * share.mean, int(lower), min(int(upper), pieces))


def chance_of_enough(*, wanted: int, begun: int, share: Share) -> float:
    """Chance that at least ``wanted`` of ``begun`` pieces are left when others are lost."""
    if begun < wanted:
        return 0.0
    lost = count_probabilities(pieces=begun, share=share, up_to=begun - wanted)
    return float(min(1.0, lost.sum()))


def pieces_to_begin(*, wanted: int, share: Share, chance: float = 0.9) -> int | None:
    """Fewest pieces to begin with for ``wanted`` to be left with a chance.

    Returns
    -------
    int or None
        None where no number up to a hundred times the wanted one will do.

    Raises
    ------
    KernelError
        Nothing is wanted, or the chance is none.
    """
    if wanted < 1:
        raise KernelError(f"an order has at least one piece, not {wanted}")
    if not 0 < chance < 1:
        raise KernelError(f"a chance lies between 0 and 1, not at {chance}")

    def enough(begun: int) -> bool:
        return chance_of_enough(wanted=wanted, begun=begun, share=share) >= chance

    # One piece more never makes it less likely, so halving finds the fewest.
    low, step = wanted - 1, max(1, int(wanted * share.mean))
    high = wanted
    while not enough(high):
        low, high, step = high, high + step, 2 * step
        if high > 100 * wanted:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
