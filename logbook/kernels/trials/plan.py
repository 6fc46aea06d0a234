"""How many pairs of small runs a trial of one change takes, and when lots are short instead."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from scipy.special import ndtr, ndtri, stdtrit

from logbook.errors import KernelError
from logbook.kernels.arguments import fraction
from logbook.kernels.trials.judge import FEWEST_PAIRS
from logbook.kernels.trials.lots import Lots, lots_variance
from logbook.kernels.trials.noncentral import chance_beyond

MOST_PAIRS = 10**9
"""Beyond so many pairs there is no trial to speak of."""
LOTS_TIMES = 2.0
"""Lots suffice where doubt about them does no more than this to the number of pairs."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A trial that would show a difference, or why none can.

    Attributes
    ----------
    rate_now, rate_changed
        What is to be told apart, as fractions.
    pieces_per_arm_and_pair
        Pieces of each of the two small runs of a pair.
    pairs
        Fewest pairs that reach the power; None where no number does.
    pieces
        Pieces of both arms together; None with ``pairs``.
    power
        Chance that the trial shows this difference; without ``pairs`` the most that any number
        of pairs comes near.
    alpha
        Chance accepted of seeing a difference where there is none, both ways together.
    lots_each
        Lots of backing in each arm.
    lots_error
        Standard error that these lots leave however many pieces are sewn; 0 without lots.
    lots_needed
        Lots of each arm with which doubt about lots does no more than double the pairs; 1
        without such doubt.
    """

    rate_now: float
    rate_changed: float
    pieces_per_arm_and_pair: int
    pairs: int | None
    pieces: int | None
    power: float
    alpha: float
    lots_each: Lots
    lots_error: float
    lots_needed: int

    @property
    def more_pieces_help(self) -> bool:
        """Whether pieces can do it at all, or only more lots."""
        return self.pairs is not None


def plan(
    *,
    rate_now: float,
    rate_changed: float | None = None,
    smallest_difference: float | None = None,
    pieces_per_arm_and_pair: int,
    overdispersion: float,
    alpha: float = 0.05,
    power: float = 0.8,
    lot_sd: float = 0.0,
    lots_each: Lots = (1, 1),
) -> Plan:
    """Say how many pairs a trial needs.

    Parameters
    ----------
    rate_now
        Rate of the setup as it is, a fraction.
    rate_changed, smallest_difference
        One of the two: the rate hoped for, or the smallest fall worth finding (above 0).
    pieces_per_arm_and_pair
        Pieces of each small run. Runs of very uneven size find less than planned.
    overdispersion
        How restless runs are, as the setup model finds it: runs of one setup differ in rate with
        variance ``overdispersion (p (1 - p))**2``.
    alpha, power
        As in :func:`logbook.kernels.power.pieces_per_arm`.
    lot_sd
        Standard deviation of lots, in log odds, where the arms use lots of their own and the
        answer is to hold for other lots too; 0 for an answer about the lots sewn with.
    lots_each
        Lots of the arm as now and of the changed one, taken in turn over the pairs.

    Raises
    ------
    KernelError
        If the numbers cannot be, or not exactly one of rate and difference is given.

    Notes
    -----
    A pair's difference has variance ``sum over arms of p q / m + k (p q)**2 (1 - 1 / m)``, where
    ``k`` is the overdispersion.
    The power is that of Student's test on R pairs, by the non-central t distribution (Student's
    noncentrality after Johnson, Kotz & Balakrishnan 1995, ch. 31). Doubt about lots is added as
    known, and the degrees of freedom grow with the known share (Satterthwaite 1946).
    """
    changed = _rate_changed(rate_now, rate_changed, smallest_difference)
    _checked(pieces_per_arm_and_pair, overdispersion, alpha, power)
    rates, gap = (rate_now, changed), abs(changed - rate_now)
    spread = sum(_of_a_run(rate, pieces_per_arm_and_pair, overdispersion) for rate in rates)
    left = lots_variance(rates=rates, lot_sd=lot_sd, lots_each=lots_each)

    def reached(pairs: int) -> float:
        hidden = lots_variance(rates=rates, lot_sd=lot_sd, lots_each=lots_each, pairs=pairs)
        return power_of_pairs(
            gap=gap, seen=spread / pairs + left - hidden, hidden=hidden, pairs=pairs, alpha=alpha
        )

    ever = _best_ever(gap, left, alpha)
    fewest = max(FEWEST_PAIRS, *lots_each)
    pairs = _fewest_pairs(reached, fewest, power) if ever > power else None
    room = (gap / float(ndtri(1 - alpha / 2) + ndtri(power))) ** 2 * (1 - 1 / LOTS_TIMES)
    of_one = lots_variance(rates=rates, lot_sd=lot_sd, lots_each=(1, 1))
    return Plan(
        rate_now=rate_now,
        rate_changed=changed,
        pieces_per_arm_and_pair=pieces_per_arm_and_pair,
        pairs=pairs,
        pieces=None if pairs is None else 2 * pairs * pieces_per_arm_and_pair,
        power=ever if pairs is None else reached(pairs),
        alpha=alpha,
        lots_each=lots_each,
        lots_error=math.sqrt(left),
        lots_needed=max(1, math.ceil(of_one / room)),
    )


def power_at(
    *,
    rate_now: float,
    rate_changed: float,
    pieces_per_arm_and_pair: int,
    pairs: int,
    overdispersion: float,
    alpha: float = 0.05,
) -> float:
    """Power of a trial of a given size, where runs are as restless as told.

    Parameters
    ----------
    rate_now, rate_changed, pieces_per_arm_and_pair, overdispersion, alpha
        As in :func:`plan`.
    pairs
        Pairs to be sewn.
    """
    spread = sum(
        _of_a_run(rate, pieces_per_arm_and_pair, overdispersion)
        for rate in (rate_now, rate_changed)
    )
    gap = abs(rate_changed - rate_now)
    return power_of_pairs(gap=gap, seen=spread / pairs, hidden=0.0, pairs=pairs, alpha=alpha)


def power_of_pairs(*, gap: float, seen: float, hidden: float, pairs: int, alpha: float) -> float:
    """Chance that a trial of so many pairs shows a difference of ``gap``.

    Parameters
    ----------
    gap
        True difference.
    seen, hidden
        Variance of the mean difference: what the pairs' spread estimates, and what is added as
        known.
    pairs, alpha
        Pairs, and the two-sided level.
    """
    whole = seen + hidden
    if whole == 0:
        return 1.0
    degrees = (pairs - 1) * (whole / seen) ** 2 if seen > 0 else math.inf
    critical = float(-stdtrit(degrees, alpha / 2))
    shift = gap / math.sqrt(whole)
    return sum(
        chance_beyond(critical=critical, degrees=degrees, shift=side) for side in (shift, -shift)
    )


def _best_ever(gap: float, left: float, alpha: float) -> float:
    """Power that ever more pairs come near."""
    if left == 0:
        return 1.0
    shift, critical = gap / math.sqrt(left), float(ndtri(1 - alpha / 2))
    return float(ndtr(shift - critical) + ndtr(-shift - critical))


def _fewest_pairs(reached: Callable[[int], float], fewest: int, power: float) -> int | None:
    high = fewest
    while reached(high) < power:
        high *= 2
        if high > MOST_PAIRS:
            return None
    low = fewest - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if reached(middle) < power else (low, middle)
    return high


def _of_a_run(rate: float, pieces: int, overdispersion: float) -> float:
    """Variance of the rate of one small run."""
    once = rate * (1 - rate)
    return once / pieces + overdispersion * once**2 * (1 - 1 / pieces)


def _rate_changed(
    rate_now: float, rate_changed: float | None, smallest_difference: float | None
) -> float:
    fraction(rate_now, "rate_now")
    if (rate_changed is None) == (smallest_difference is None):
        raise KernelError(
            "A plan needs either the rate hoped for or the smallest difference worth finding.",
            "Give one of rate_changed and smallest_difference.",
        )
    if rate_changed is None:
        fall = float(smallest_difference or 0.0)
        if not 0 < fall <= rate_now:
            raise KernelError(
                f"The smallest difference must lie above 0 and no higher than the rate now, "
                f"{rate_now:g}; got {fall:g}.",
                "One point is written 0.01.",
            )
        return rate_now - fall
    if not 0 <= rate_changed <= 1:
        raise KernelError(
            f"rate_changed must lie between 0 and 1; got {rate_changed!r}.", "2 % is written 0.02."
        )
    if rate_changed == rate_now:
        raise KernelError(
            "The two rates are equal: no trial can show a difference of nothing.",
            "Give the smallest difference worth finding.",
        )
    return float(rate_changed)


def _checked(pieces: int, overdispersion: float, alpha: float, power: float) -> None:
    if pieces < 1:
        raise KernelError(f"A run has at least one piece; got {pieces!r}.", "Give more pieces.")
    if not (math.isfinite(overdispersion) and overdispersion >= 0):
        raise KernelError(
            f"overdispersion must not be negative; got {overdispersion!r}.", "0 for steady runs."
        )
    if not fraction(alpha, "alpha") < power < 1:
        raise KernelError(
            f"The power must lie between alpha and 1; got {power!r}.", "80 % is written 0.8."
        )
