"""Runs rules on a standardised series: patterns too regular or one-sided to be chance."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields

import numpy as np

from logbook.kernels.arguments import BoolArray, FloatArray, Numbers, as_floats, line_of_points

WESTERN_ELECTRIC = ("beyond_limits", "two_of_three", "four_of_five", "run_of_8")
"""The four rules read on charts by default.

All together they cry wolf once in 91.75 points of a steady process (Champ & Woodall 1987,
Technometrics 29:393-399), against once in 370.4 for ``beyond_limits`` alone. Every further
rule shortens that.
"""


@dataclass(frozen=True, slots=True, eq=False)
class RunSignals(Mapping[str, BoolArray]):
    """For each named rule one boolean a point: True where the point completes the pattern.

    Read as ``signals["run_of_8"]`` or ``signals.run_of_8``; a mapping in every other way.

    Attributes
    ----------
    beyond_limits
        One point beyond three sigma.
    two_of_three, four_of_five
        Two of three points beyond two sigma, four of five beyond one sigma, on one side.
    run_of_7, run_of_8, run_of_9
        So many points in a row on one side of the centre.
    trend_of_6
        Six points in a row, each higher (or each lower) than the one before.
    alternating_14
        Fourteen points in a row going up and down in turn.
    within_one_sigma_15
        Fifteen points in a row within one sigma: limits too wide, or mixed streams.
    beyond_one_sigma_8
        Eight points in a row beyond one sigma, whichever side each is on.
    """

    beyond_limits: BoolArray
    two_of_three: BoolArray
    four_of_five: BoolArray
    run_of_7: BoolArray
    run_of_8: BoolArray
    run_of_9: BoolArray
    trend_of_6: BoolArray
    alternating_14: BoolArray
    within_one_sigma_15: BoolArray
    beyond_one_sigma_8: BoolArray

    def __getitem__(self, rule: str) -> BoolArray:
        if rule not in _RULES:
            raise KeyError(rule)
        signal: BoolArray = getattr(self, rule)
        return signal

    def __iter__(self) -> Iterator[str]:
        return iter(_RULES)

    def __len__(self) -> int:
        return len(_RULES)

    def by_point(self, *, rules: tuple[str, ...] = WESTERN_ELECTRIC) -> list[list[str]]:
        """Return for each point the names of those ``rules`` that it completes."""
        table = np.array([self[rule] for rule in rules]).T
        return [
            [rule for rule, signal in zip(rules, point, strict=True) if signal] for point in table
        ]


_RULES = tuple(field.name for field in fields(RunSignals))


def run_signals(*, z: Numbers) -> RunSignals:
    """Say at which points of a standardised series each runs rule signals.

    Parameters
    ----------
    z
        One value a point, in order: (rate - centre) / sigma, with the sigma of that point.
        NaN (nothing inspected) is never marked and breaks every pattern: the points after it
        start afresh.

    Returns
    -------
    RunSignals
        Booleans, one a point and rule.

    Raises
    ------
    KernelError
        If ``z`` is not one line of numbers.

    Notes
    -----
    The point that completes a pattern is marked, and every later one that continues it. In
    k-of-m rules the completing point itself must lie in the zone, and k points suffice before
    m have been seen. Every comparison is strict: a point on a zone's edge is not beyond it,
    and a point on the centre is on neither side.

    Western Electric Statistical Quality Control Handbook (1956), pp 25-28 (``beyond_limits``,
    ``two_of_three``, ``four_of_five``, ``run_of_8``); Nelson (1984), J Quality Technology
    16:237-239 (``run_of_9``, ``trend_of_6``, ``alternating_14``, ``within_one_sigma_15``,
    ``beyond_one_sigma_8``).
    """
    points = line_of_points(as_floats(z, "z"), "z")
    one_side = np.maximum(_run_length(points > 0), _run_length(points < 0))
    change = _sign_of_change(points)
    turns = np.concatenate([[0.0], change[1:] * change[:-1]]) if points.size else change
    return RunSignals(
        beyond_limits=np.abs(points) > 3,
        two_of_three=_several_beyond(points, sigma=2, needed=2, window=3),
        four_of_five=_several_beyond(points, sigma=1, needed=4, window=5),
        run_of_7=one_side >= 7,
        run_of_8=one_side >= 8,
        run_of_9=one_side >= 9,
        # n points make n - 1 changes and n - 2 turns.
        trend_of_6=np.maximum(_run_length(change > 0), _run_length(change < 0)) >= 5,
        alternating_14=_run_length(turns < 0) >= 12,
        within_one_sigma_15=_run_length(np.abs(points) < 1) >= 15,
        beyond_one_sigma_8=_run_length(np.abs(points) > 1) >= 8,
    )


def _run_length(held: BoolArray) -> FloatArray:
    """Return for each point how many points in a row, up to it, hold the condition."""
    position = np.arange(1.0, held.size + 1)
    last_break = np.maximum.accumulate(np.where(held, 0.0, position))
    return position - last_break


def _sign_of_change(points: FloatArray) -> FloatArray:
    """Return the sign of each step from the point before; 0 at the first and around NaN."""
    change = np.zeros(points.size)
    change[1:] = (points[1:] > points[:-1]).astype(float) - (points[1:] < points[:-1])
    return change


def _several_beyond(points: FloatArray, *, sigma: float, needed: int, window: int) -> BoolArray:
    since_gap = _run_length(~np.isnan(points))
    signal = np.zeros(points.size, dtype=bool)
    for in_zone in (points > sigma, points < -sigma):
        seen = in_zone.astype(int)
        for lag in range(1, min(window, points.size)):
            seen[lag:] += in_zone[:-lag] & (since_gap[lag:] > lag)
        signal |= in_zone & (seen >= needed)
    return signal
