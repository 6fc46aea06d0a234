"""The sign-flip test: whether chance alone settled which arm of each pair did better.

If the change does nothing, each pair's difference might as well have had the other sign. That
holds by the toss of the coin alone, whatever the spread of runs looks like.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray

MOST_PAIRS_EXACT = 16
"""With more pairs than this, signs are drawn instead of listed."""
DRAWS = 20_000
_BLOCK = 2_000
_SAME = 1e-9
"""Sums that differ by less, relative to the largest there can be, are the same."""


@dataclass(frozen=True, slots=True)
class SignFlip:
    """p-value of the sign-flip test.

    Attributes
    ----------
    p_value
        Two-sided.
    draws
        Random draws of all signs; 0 where every choice of signs was listed.
    """

    p_value: float
    draws: int


def sign_flip(*, differences: FloatArray, draws: int = DRAWS, seed: int = 1) -> SignFlip:
    """Test whether the sum of differences is larger than chance signs would make it.

    Parameters
    ----------
    differences
        (R,) differences of pairs, times their weights.
    draws, seed
        How many draws beyond ``MOST_PAIRS_EXACT`` pairs, and where they start from.

    Notes
    -----
    Fisher (1935), The Design of Experiments, sec. 21. Drawn signs count the observed ones as one
    more draw, so that the test keeps its level (Phipson & Smyth 2010, Stat Appl Genet Mol Biol
    9:39).
    """
    if draws < 1:
        raise KernelError(f"At least one draw is needed; got {draws!r}.", "Leave it at the usual.")
    reach = abs(float(differences.sum())) - _SAME * float(np.abs(differences).sum())
    if differences.size <= MOST_PAIRS_EXACT:
        return SignFlip(float(np.mean(np.abs(_all_sums(differences)) >= reach)), 0)
    random = np.random.default_rng(seed)
    beyond = 0
    for start in range(0, draws, _BLOCK):
        rows = min(_BLOCK, draws - start)
        signs = random.integers(0, 2, size=(rows, differences.size), dtype=np.int8)
        sums = differences.sum() - 2.0 * (signs @ differences)
        beyond += int(np.count_nonzero(np.abs(sums) >= reach))
    return SignFlip((beyond + 1) / (draws + 1), draws)


def _all_sums(differences: FloatArray) -> FloatArray:
    """Sums over every choice of signs but the first, whose mirror images add nothing."""
    sums = differences[:1]
    for each in differences[1:]:
        sums = np.concatenate((sums + each, sums - each))
    return sums
