"""Where, and since when, do counts depart from what was to be expected: a prospective scan.

Every level of every column, over every window that ends now, for every kind, upwards and
downwards. How rare the greatest departure is where nothing has changed comes from counts made up
with the shop's own luck (:mod:`logbook.kernels.usual_variation`), the greatest of each taken over
all that is looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model.setups import IntArray

FEWEST_ABOVE = 3
"""So few are no finding, however rare they are."""
_TAIL = 0.2
"""Share of the made-up maxima beyond which their tail is taken as exponential."""
LONGEST_RECURRENCE = 1000.0
"""Weeks; rarer is not to be told from so many made-up weeks."""


@dataclass(frozen=True, slots=True, eq=False)
class Search:
    """What is looked at.

    Attributes
    ----------
    sums
        (levels * steps, runs) which runs a level holds, step by step back from now.
    steps
        Steps of time (weeks) that the longest window holds.
    windows
        Lengths of the windows, in steps, shortest first.
    log_weight
        (levels,) log share of the search that each level has.
    """

    sums: csr_array
    steps: int
    windows: tuple[int, ...]
    log_weight: FloatArray

    def runs_of(self, level: int, window: int) -> IntArray:
        """Places of a level's runs within the newest ``window`` steps."""
        rows = level * self.steps
        places: IntArray = self.sums[rows : rows + window].indices.astype(np.intp)
        return places

    @property
    def cells(self) -> csr_array:
        """(levels * windows, runs) which runs each level holds within each window."""
        whole = self.sums.tocoo()
        row, run = whole.coords
        level, step = np.divmod(row, self.steps)
        of_window = []
        for place, window in enumerate(self.windows):
            within = step < window
            of_window.append((level[within] * len(self.windows) + place, run[within]))
        rows, runs = (np.concatenate(each) for each in zip(*of_window, strict=True))
        size = self.log_weight.size * len(self.windows)
        shape = (size, self.sums.shape[1])
        return csr_array((np.ones(rows.size), (rows, runs)), shape=shape)

    def counted(self, of_runs: FloatArray) -> FloatArray:
        """Sum (runs, …) to (levels, windows, …)."""
        flat = np.asarray(self.sums @ of_runs.reshape(of_runs.shape[0], -1))
        by_step = flat.reshape(-1, self.steps, flat.shape[1])
        np.cumsum(by_step, axis=1, out=by_step)
        found = by_step[:, [window - 1 for window in self.windows]]
        return found.reshape(found.shape[:2] + of_runs.shape[1:])


def search(
    *,
    levels: Sequence[IntArray],
    steps_ago: IntArray,
    windows: Sequence[int],
    weight: FloatArray,
    share: float = 1.0,
) -> Search:
    """Set out a search.

    Parameters
    ----------
    levels
        For each level the places of its runs.
    steps_ago
        (runs,) whole steps of time before now, 0 for the newest.
    windows
        Lengths in steps.
    weight
        (levels,) how likely a cause each is; brought to a sum of ``share``, so that all that is
        added makes the rest less likely (Genovese, Roeder & Wasserman 2006, Biometrika
        93:509-524).
    share
        Of a search that is made of several; the shares of all add up to one.

    Raises
    ------
    KernelError
        There are no levels or windows, or a weight is not positive.
    """
    steps = max(windows, default=0)
    if not levels or steps < 1 or len(weight) != len(levels) or not (weight > 0).all():
        raise KernelError(
            f"Nothing can be looked at: {len(levels)} levels, {len(weight)} weights, windows "
            f"{tuple(windows)}.",
            "Pass a positive weight for each level and at least one window.",
        )
    own = np.concatenate([np.asarray(each, dtype=np.intp) for each in levels])
    level = np.repeat(np.arange(len(levels)), [len(each) for each in levels])
    within = steps_ago[own] < steps
    own, level = own[within], level[within]
    rows = level * steps + steps_ago[own]
    shape = (len(levels) * steps, steps_ago.size)
    sums = csr_array((np.ones(own.size, dtype=np.float32), (rows, own)), shape=shape)
    return Search(sums, steps, tuple(sorted(windows)), np.log(share * weight / weight.sum()))


def likelihood_ratio(
    *, observed: FloatArray, expected: FloatArray, variance: FloatArray
) -> FloatArray:
    """Log likelihood ratio of the ratio that fits best against the ratio 1, with over-dispersion.

    Parameters
    ----------
    observed, expected, variance
        Broadcast together; variance is that of the count where nothing has changed.

    Returns
    -------
    FloatArray
        Signed: negative where fewer than expected were counted.

    Notes
    -----
    Negative binomial with size ``expected**2 / (variance - expected)``; Kulldorff's (2001, J R
    Stat Soc A 164:61-72, eq. 1) Poisson ratio with known expectation where there is none to spare.
    """
    more = np.fmax(variance - expected, 1e-6 * expected + 1e-12)
    size = expected**2 / more
    with np.errstate(divide="ignore", invalid="ignore"):
        own = np.where(observed > 0, observed * np.log(observed / expected), 0.0)
        found = own - (observed + size) * np.log((observed + size) / (expected + size))
    return np.where(expected > 0, np.copysign(np.fmax(found, 0.0), observed - expected), 0.0)


def scores(
    looked_at: Search,
    *,
    observed: FloatArray,
    expected: FloatArray,
    variance: FloatArray,
    kind_weight: FloatArray | None = None,
    above: float = 0.55,
) -> FloatArray:
    """Weighted scores, signed by direction where they may count as a finding, else ``-inf``.

    Parameters
    ----------
    looked_at
        The search.
    observed, expected, variance
        (levels, windows, kinds, …).
    kind_weight
        (kinds,) how much each kind matters; alike if not given. Brought to a mean of one.
    above
        Share of the search that looks for more than expected.

    Returns
    -------
    FloatArray
        Log likelihood ratio and log weight together; the greatest is the first finding. Levels
        with too few above are left out.
    """
    ratio = likelihood_ratio(observed=observed, expected=expected, variance=variance)
    weight = looked_at.log_weight.reshape((-1,) + (1,) * (ratio.ndim - 1))
    if kind_weight is not None:
        kinds = np.log(kind_weight / kind_weight.mean())
        weight = weight + kinds.reshape((1, 1, -1) + (1,) * (ratio.ndim - 3))
    found = np.abs(ratio) + weight + np.where(ratio > 0, np.log(above), np.log1p(-above))
    return np.where((ratio < 0) | (observed >= FEWEST_ABOVE), found, -np.inf)


def recurrence(score: float, maxima: FloatArray) -> float:
    """How many steps of time pass, where nothing changes, between scores as great by luck alone.

    Parameters
    ----------
    score
        Of a finding.
    maxima
        (draws,) the greatest score of each made-up present.

    Returns
    -------
    float
        At least 1. Within the maxima their own share; beyond the upper fifth the exponential tail
        that the excesses of a maximum have in the limit (Pickands 1975, Ann Stat 3:119-131, with
        shape 0).
    """
    ordered = np.sort(maxima[np.isfinite(maxima)])
    if ordered.size == 0:
        return LONGEST_RECURRENCE
    beyond = max(int(_TAIL * ordered.size), 1)
    start = float(ordered[-beyond])
    if score <= start:
        share = float((ordered >= score).sum() + 1) / (ordered.size + 1)
    else:
        scale = max(float((ordered[-beyond:] - start).mean()), 1e-3)
        share = beyond / ordered.size * float(np.exp(-(score - start) / scale))
    return float(min(1 / max(share, 1e-12), LONGEST_RECURRENCE))
