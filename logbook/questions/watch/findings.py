"""A departure made a finding: since when, how much, what it cost, what changed beside it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from logbook.calendar_weeks import iso_week
from logbook.costing import KindCost
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.scan import likelihood_ratio
from logbook.kernels.setup_model.setups import IntArray
from logbook.questions.watch.beside import changed_beside
from logbook.questions.watch.levels import WEEKS_BACK, Level
from logbook.questions.watch.panels import Record
from logbook.questions.watch.result import Finding, Grade, Values, Week

RUNS_NAMED = 40


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """What findings are made of: the record, what kinds cost, the last day."""

    record: Record
    costs: Mapping[str, KindCost]
    until: date


def weeks_between(since: date, until: date) -> int:
    """Whole or begun weeks from a day to the last, at least one."""
    return max((until - since).days // 7 + 1, 1)


def finding_of(
    made: Made,
    *,
    panel: int,
    kind: int,
    level: Level,
    window: int,
    recurrence: float,
    confounded: Sequence[Values],
    grade: Grade,
    settled: bool = False,
) -> Finding:
    """Make a finding.

    Parameters
    ----------
    made
        The record.
    panel, kind
        Places: which expectation, which kind.
    level
        Where.
    window
        Weeks that it stood out over.
    recurrence, confounded, grade
        Of the departure.
    settled
        Whether the window is when it began; else its beginning is looked for.
    """
    record = made.record
    expectation = record.expectations(panel)[kind]
    own = level.holds(record.coded.runs) & (expectation.exposure > 0)
    ago = record.weeks_ago
    by_week = _by_week(own, ago, expectation.observed, expectation.expected)
    within = own & (ago < window)
    above = expectation.observed[within].sum() >= expectation.expected[within].sum()
    weeks = level.weeks or window
    if not (settled or level.weeks):
        weeks = began(*by_week, run_sd=expectation.run_sd, above=bool(above))
    within = own & (ago < weeks)
    observed = float(expectation.observed[within].sum())
    due = float(expectation.expected[within].sum())
    return Finding(
        kind=record.kinds[kind],
        direction="above" if above else "below",
        level=level.values,
        confounded_with=tuple(confounded),
        since=_since(made, own, weeks),
        weeks=weeks,
        observed=observed,
        expected=due,
        exposure=float(expectation.exposure[within].sum()),
        recurrence_weeks=recurrence,
        grade=grade,
        money=(observed - due) * _each(made.costs.get(record.kinds[kind].name)),
        known=None,
        changed_beside=changed_beside(record, own, weeks, level),
        runs=_runs(record, within, expectation.observed, expectation.expected),
        weekly=_weekly(made, *by_week[:2]),
    )


def began(
    observed: FloatArray,
    expected: FloatArray,
    luck: FloatArray,
    *,
    run_sd: float,
    above: bool,
) -> int:
    """Say how many weeks a departure has lasted: the beginning that explains the weeks best.

    Parameters
    ----------
    observed, expected, luck
        (weeks,) of the level, newest first; ``luck`` the sum of its runs' squared expectations.
    run_sd
        Of the luck of runs.
    above
        Which way it departs.
    """
    came, due, squares = (np.cumsum(each) for each in (observed, expected, luck))
    ratio = likelihood_ratio(
        observed=came, expected=due, variance=due + np.expm1(run_sd**2) * squares
    )
    return int((ratio if above else -ratio).argmax()) + 1


def _by_week(
    own: BoolArray, ago: IntArray, observed: FloatArray, expected: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    drawn = own & (ago < WEEKS_BACK)
    weeks = ago[drawn]
    size = int(min(ago.max(initial=0) + 1, WEEKS_BACK))
    came, due, squares = (
        np.bincount(weeks, each[drawn], size).astype(np.float64)
        for each in (observed, expected, expected**2)
    )
    return came, due, squares


def _since(made: Made, own: BoolArray, weeks: int) -> date:
    """The first day of those weeks; of a level newer than that its first run's."""
    start = made.until - timedelta(days=7 * weeks - 1)
    first = made.record.coded.runs["day"].filter(own).min()
    return max(start, first) if isinstance(first, date) else start


def _each(cost: KindCost | None) -> float:
    """What one piece or event costs; NaN where nobody wrote down the losses."""
    if cost is None or cost.count == 0 or math.isnan(cost.cost):
        return math.nan
    return cost.cost / cost.count


def _runs(
    record: Record, within: BoolArray, observed: FloatArray, expected: FloatArray
) -> tuple[str, ...]:
    """Its runs, those that show most above expectation first."""
    rows = np.flatnonzero(within)
    order = rows[np.argsort(-(observed[rows] - expected[rows]), kind="stable")][:RUNS_NAMED]
    refs = record.coded.runs["run_ref"]
    return tuple(str(refs[int(row)]) for row in order)


def _weekly(made: Made, observed: FloatArray, expected: FloatArray) -> tuple[Week, ...]:
    """Week by week, oldest first; weeks in which the level was not sewn are left out."""
    return tuple(
        Week(iso_week(made.until - timedelta(days=7 * ago)), float(came), float(due))
        for ago, (came, due) in reversed(list(enumerate(zip(observed, expected, strict=True))))
        if due > 0
    )
