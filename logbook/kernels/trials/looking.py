"""When a running trial is looked at, and what the looks cost: a few pairs more, no honesty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray, fraction
from logbook.kernels.trials.bounds import chance_of_crossing, spending_bounds
from logbook.kernels.trials.judge import FEWEST_PAIRS

MOST_LOOKS = 40
"""Longer trials are looked at every second pair, every third, and so on."""
_FARTHEST_DRIFT = 40.0


@dataclass(frozen=True, slots=True)
class CostOfLooks:
    """What looking costs and saves.

    Attributes
    ----------
    inflation
        Times as many pairs as a trial that is judged once takes for the same power.
    share_if_there, share_if_not
        Average share of the planned pairs that is sewn before the trial may end, where the
        difference planned for is there, and where there is none.
    """

    inflation: float
    share_if_there: float
    share_if_not: float


def planned_looks(pairs: int) -> tuple[int, ...]:
    """After which pairs a trial is looked at: each from the sixth on, the last always.

    Raises
    ------
    KernelError
        There are too few pairs for a verdict.
    """
    if pairs < FEWEST_PAIRS:
        raise KernelError(
            f"A trial has at least {FEWEST_PAIRS} pairs; {pairs} were planned.", "Plan more pairs."
        )
    step = max(1, math.ceil((pairs - FEWEST_PAIRS + 1) / MOST_LOOKS))
    return tuple(range(pairs, FEWEST_PAIRS - 1, -step))[::-1]


def pairs_with_looks(
    pairs: int, *, alpha: float = 0.05, power: float = 0.8
) -> tuple[int, tuple[int, ...]]:
    """Pairs that a trial takes which is looked at as it goes, and the pairs at its looks.

    Parameters
    ----------
    pairs
        Those of a trial that is judged once.
    alpha, power
        As in :func:`logbook.kernels.trials.plan`.
    """
    cost = cost_of_looks(looks=planned_looks(pairs), alpha=alpha, power=power)
    more = math.ceil(pairs * cost.inflation - 1e-9)
    return more, planned_looks(more)


def cost_of_looks(*, looks: Sequence[int], alpha: float = 0.05, power: float = 0.8) -> CostOfLooks:
    """Say what the looks of a trial cost.

    Parameters
    ----------
    looks
        Pairs at each look, rising, the planned end last.
    alpha, power
        As in :func:`logbook.kernels.trials.plan`.

    Notes
    -----
    The inflation factor of Jennison & Turnbull (2000), Group Sequential Methods, sec. 2.3: the
    square of the drift that reaches the power within the bounds, over that of a single look.
    """
    done = np.asarray(looks, dtype=np.float64) / looks[-1]
    bounds = spending_bounds(fraction_done=done, alpha=alpha).z
    once = float(-ndtri(fraction(alpha, "alpha") / 2) + ndtri(fraction(power, "power")))
    drift = _drift_for(done, bounds, power, once)
    return CostOfLooks(
        inflation=max(1.0, (drift / once) ** 2),
        share_if_there=_share(done, bounds, drift),
        share_if_not=_share(done, bounds, 0.0),
    )


def _drift_for(done: FloatArray, bounds: FloatArray, power: float, once: float) -> float:
    from scipy.optimize import brentq  # late: heavy, and only plans need it

    def short(drift: float) -> float:
        return float(chance_of_crossing(fraction_done=done, z=bounds, drift=drift).sum()) - power

    return float(brentq(short, 0.5 * once, max(_FARTHEST_DRIFT, 2 * once), xtol=1e-3))


def _share(done: FloatArray, bounds: FloatArray, drift: float) -> float:
    crossed = chance_of_crossing(fraction_done=done, z=bounds, drift=drift)
    return float(crossed @ done + (1 - crossed.sum()) * done[-1])
