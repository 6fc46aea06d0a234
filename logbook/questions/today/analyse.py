"""What needs somebody, the courses of the last weeks, and what was sewn last on each machine."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import polars as pl

from logbook.calendar_weeks import days_of, weeks_before
from logbook.cells import of_kind
from logbook.costing import costed
from logbook.errors import TooLittleData
from logbook.questions.control.analyse import analyse as control_chart
from logbook.questions.review.held import HeldRun
from logbook.questions.today.data import WEEKS, TodayData
from logbook.questions.today.result import (
    Course,
    LastOfMachine,
    Measured,
    Need,
    Stands,
    TodayResult,
)
from logbook.runs.actions import KeptAction
from logbook.shop import Shop
from logbook.vocabulary.defects import ANY, DefectKind, kind

FEWEST_WEEKS = 8
"""Weeks before, over and with runs, that make a range usual."""
USUAL_SHARE = 0.9
"""Of the weeks before, so many lie in the range drawn for pieces and money."""
BREAKS = "thread_breaks"


def analyse(data: TodayData, *, shop: Shop) -> TodayResult:
    """Say how things stand.

    The range that is usual for rates is that of the control chart by week (the same as ``chart``
    draws); for pieces and money, which no law of counting bounds, it is where nine in ten of up
    to 26 weeks before lay.
    """
    over = data.week is not None and data.today > days_of(data.week)[1]
    weeks = () if data.week is None else (*weeks_before(data.week, WEEKS), data.week)
    return TodayResult(
        day=data.today,
        week=data.week,
        week_over=over,
        currency=shop.currency,
        needs=(
            *(_held(each) for each in data.held),
            *(_due(each, data) for each in data.open_actions),
        ),
        courses=_courses(data, weeks, over, shop) if weeks else (),
        machines=_machines(data.latest, shop.kinds),
    )


def _held(run: HeldRun) -> Need:
    where = f" on {machine}" if (machine := run.setup["machine"]) else ""
    says = f"Held: not every part of a broken needle was found{where}, {run.day_words()}"
    return Need("held", says, run.run_ref)


def _due(kept: KeptAction, data: TodayData) -> Need:
    action = kept.action
    late = action.due is not None and data.today > days_of(action.due)[1]
    when = "" if action.due is None else f" ({'was due' if late else 'due'} by {action.due})"
    who = f", {action.by}" if action.by else ""
    return Need("action", f"{action.what}{who}{when}", kept.ref)


def _courses(data: TodayData, weeks: Sequence[str], over: bool, shop: Shop) -> tuple[Course, ...]:
    pieces = {row["week"]: row["pieces_sewn"] for row in data.totals.iter_rows(named=True)}
    money = {
        week: costed(cells, kinds=shop.kinds, shop=shop).total_cost
        for (week,), cells in data.cells.partition_by("week", as_dict=True).items()
    }
    found = (
        _summed("pieces", "Pieces sewn", "pieces", pieces, weeks, over),
        _rated(data.cells, ANY, "Pieces with a defect", weeks),
        _summed("money", "Money lost", "money", money, weeks, over),
        _rated(data.cells, kind(BREAKS, own=shop.own_kinds), "Thread breaks", weeks),
    )
    return tuple(each for each in found if each is not None)


def _summed(
    name: str,
    label: str,
    measured: Measured,
    by_week: dict[str, Any],
    weeks: Sequence[str],
    over: bool,
) -> Course | None:
    """A sum a week; one that is not over yet is judged by the week before."""
    values = tuple(_number(by_week.get(week)) for week in weeks)
    if all(value is None for value in values):
        return None
    *before, last = values if over else values[:-1]
    known = [value for value in before if value is not None]
    usual = None
    if len(known) >= FEWEST_WEEKS:
        tail = (1 - USUAL_SHARE) / 2
        lower, upper = np.quantile(known, [tail, 1 - tail])
        usual = (float(lower), float(upper))
    return Course(name, label, measured, tuple(weeks), values, usual, _stands(last, usual))


def _rated(
    cells: pl.DataFrame, which: DefectKind, label: str, weeks: Sequence[str]
) -> Course | None:
    """A rate a week, beside the limits of its control chart."""
    try:
        chart = control_chart(of_kind(cells, which.name), kind=which, by="week")
    except TooLittleData:
        return None
    rates = dict(chart.points.select("label", "rate").iter_rows())
    values = tuple(_number(rates.get(week)) for week in weeks)
    last = chart.points.row(-1, named=True)
    enough = chart.points.height > FEWEST_WEEKS
    usual = (float(last["lower"]), float(last["upper"])) if enough else None
    measured: Measured = "share" if which.measure == "pieces" else "events"
    stands = _stands(values[-1], usual)
    return Course(which.name, label, measured, tuple(weeks), values, usual, stands)


def _stands(value: float | None, usual: tuple[float, float] | None) -> Stands:
    if value is None or usual is None:
        return "unknown"
    if value > usual[1]:
        return "above"
    return "below" if value < usual[0] else "usual"


def _machines(runs: pl.DataFrame, kinds: Sequence[DefectKind]) -> tuple[LastOfMachine, ...]:
    of_pieces = [each.name for each in kinds if each.measure == "pieces" and each.charged_to_setup]
    # As everywhere: where nobody counted pieces with any defect, at least the largest kind.
    any_defect = pl.coalesce("pieces_defective", pl.max_horizontal(of_pieces))
    last = (
        runs.with_columns(pieces_defective=any_defect)
        .drop_nulls("machine")
        .sort("finished_at", "run_ref")
        .unique("machine", keep="last", maintain_order=True)
        .sort("machine")
    )
    names = ("machine", "run_ref", "finished_at", "job", "design")
    return tuple(
        LastOfMachine(
            **{name: row[name] for name in names},
            pieces_inspected=row["pieces_inspected"],
            pieces_defective=row["pieces_defective"],
        )
        for row in last.iter_rows(named=True)
    )


def _number(value: Any) -> float | None:
    return None if value is None or math.isnan(value) else float(value)
