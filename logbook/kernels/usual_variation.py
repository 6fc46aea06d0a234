"""Counts as they might have come where nothing has changed: the luck of runs, lots and designs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.special import pdtr

from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model.setups import NO_LEVEL, IntArray

MOST_AT_ONCE = 6_000_000
"""Numbers drawn at once."""
CAPPED_AT = 0.999
_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(15)
_GRID = np.exp(np.linspace(np.log(1e-4), np.log(1e4), 81))


@dataclass(frozen=True, slots=True, eq=False)
class SharedLuck:
    """Luck that runs share: of their lot, of their design.

    Attributes
    ----------
    codes
        (runs,) level of each run, ``NO_LEVEL`` for none.
    variance
        (levels, kinds) of each level's log ratio.
    """

    codes: IntArray
    variance: FloatArray


def highest_count(*, expected: FloatArray, run_sd: FloatArray) -> FloatArray:
    """The count that a run exceeds by luck once in a thousand times: more of it is not counted.

    Parameters
    ----------
    expected
        (runs, kinds).
    run_sd
        (kinds,) of the log-normal luck of runs.

    Returns
    -------
    FloatArray
        (runs, kinds), at least 1: the 99.9 % point of a Poisson count whose mean has log-normal
        luck, on a grid of means, the next greater one taken.
    """
    found = np.empty_like(expected)
    weights = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()
    place = np.searchsorted(_GRID, expected).clip(max=_GRID.size - 1)
    for kind, sd in enumerate(run_sd):
        means = _GRID[:, None] * np.exp(sd * _NODES - sd**2 / 2)
        found[:, kind] = _least_count(means, weights)[place[:, kind]]
    return found


def _least_count(means: FloatArray, weights: FloatArray) -> FloatArray:
    """Least count that a mixture of Poisson counts stays within, by halving."""
    low = np.zeros(means.shape[0])
    high = np.ceil(means.max(axis=1) + 8 * np.sqrt(means.max(axis=1)) + 8)
    while (high - low > 1).any():
        middle = np.floor((low + high) / 2)
        within = pdtr(middle[:, None], means) @ weights >= CAPPED_AT
        low, high = np.where(within, low, middle), np.where(within, middle, high)
    most: FloatArray = np.fmax(high, 1.0)
    return most


def more_variance(
    *,
    cells: csr_array,
    expected: FloatArray,
    run_sd: FloatArray,
    shared: Sequence[SharedLuck],
) -> FloatArray:
    """Variance of the counts of cells beyond that of counting.

    Parameters
    ----------
    cells
        (cells, runs) which runs each holds.
    expected, run_sd, shared
        As of :func:`drawn_counts`.

    Returns
    -------
    FloatArray
        (cells, kinds): of the luck of runs, and of what they share, each level's by the square of
        what was to be expected of its runs together.
    """
    found: FloatArray = np.asarray(cells @ expected**2) * np.expm1(run_sd**2)
    places = cells.tocoo()
    cell, run = places.coords
    for each in shared:
        level = each.codes[run]
        own = level >= 0
        pairs = cell[own].astype(np.int64) * len(each.variance) + level[own]
        named, place = np.unique(pairs, return_inverse=True)
        of_cell, of_level = np.divmod(named, len(each.variance))
        for kind in range(expected.shape[1]):
            due = np.bincount(place, expected[run[own], kind], named.size)
            spread = due**2 * np.expm1(each.variance[of_level, kind])
            found[:, kind] += np.bincount(of_cell, spread, cells.shape[0])
    return found


def drawn_counts(
    *,
    expected: FloatArray,
    run_sd: FloatArray,
    shared: Sequence[SharedLuck],
    draws: int,
    seed: int,
) -> Iterator[FloatArray]:
    """Draw counts of runs where nothing has changed.

    Parameters
    ----------
    expected
        (runs, kinds).
    run_sd
        (kinds,) of the log-normal luck of runs.
    shared
        Luck that runs share, independent of one another.
    draws
        How many.
    seed
        Of the draws: the same gives the same.

    Yields
    ------
    FloatArray
        (runs, kinds, some of the draws), each run's count held to :func:`highest_count`.
    """
    rng = np.random.default_rng(seed)
    highest = highest_count(expected=expected, run_sd=run_sd)[:, :, None].astype(np.float32)
    log_mean = np.log(np.fmax(expected, 1e-12)) - run_sd**2 / 2
    at_once = max(1, min(draws, MOST_AT_ONCE // max(expected.size, 1)))
    for start in range(0, draws, at_once):
        size = min(at_once, draws - start)
        log_luck = rng.standard_normal((*expected.shape, size), dtype=np.float32)
        log_luck *= run_sd[:, None].astype(np.float32)
        log_luck += log_mean[:, :, None].astype(np.float32)
        for each in shared:
            variance = np.vstack([each.variance, np.zeros(each.variance.shape[1])])
            own = rng.standard_normal((*variance.shape, size), dtype=np.float32)
            own *= np.sqrt(variance)[:, :, None].astype(np.float32)
            own -= (variance / 2)[:, :, None].astype(np.float32)
            log_luck += own[np.where(each.codes == NO_LEVEL, len(variance) - 1, each.codes)]
        counts = rng.poisson(np.exp(log_luck, out=log_luck)).astype(np.float32)
        yield np.minimum(counts, highest)
