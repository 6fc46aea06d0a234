"""Which charts go with a review, and which of their signals it stands by."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from logbook.cells import of_kind
from logbook.questions.control.analyse import analyse
from logbook.questions.control.result import ControlResult
from logbook.questions.review.judging import ENOUGH_EXPECTED, FEWEST_WEEKS
from logbook.questions.review.reviewed import ReviewedWeek
from logbook.vocabulary.defects import ANY, DefectKind

CHARTED_KINDS = 3
"""A review draws charts of so many kinds besides that of any defect."""


def charts_of(weekly: pl.DataFrame, result: ReviewedWeek) -> tuple[ControlResult, ...]:
    """Chart any defect and the kinds that want a look, over the weeks up to the one reviewed.

    A chart calls out no point of a week of which the review cannot say how that kind went: limits
    pass a point of one small run, and a row of weeks on one side goes on through it, by luck.

    Parameters
    ----------
    weekly
        Long cells by week.
    result
        The review that they illustrate.
    """
    loud = [
        each
        for each in result.defects
        if each.judged.verdict != "cannot_say" and (each.judged.signals or each.judged.watch)
    ]
    quiet = [each for each in result.defects if each not in loud and each.judged.count > 0]
    asked = [each.judged.kind for each in (*loud, *quiet)][:CHARTED_KINDS]
    present = set(weekly.filter(pl.col("exposure") > 0)["kind"])
    return tuple(
        as_judged(_over_weeks(of_kind(weekly, kind.name), kind, result.week), result)
        for kind in (ANY, *asked)
        if kind.name in present
    )


def as_judged(chart: ControlResult, result: ReviewedWeek) -> ControlResult:
    """The chart without those signals of the reviewed week that the review does not stand by.

    Where the verdict cannot be said it is none of them; where few are expected, a low week is
    good news only if its verdict says so. Signals of earlier weeks stay.
    """
    judged = result.judged(chart.kind.name)
    if judged is None or not result.runs:
        return chart
    worse_only = judged.expected < ENOUGH_EXPECTED and judged.verdict != "less_than_usual"
    kept = tuple(
        signal
        for signal in chart.signals
        if signal.label != result.week
        or not (judged.verdict == "cannot_say" or (worse_only and signal.direction == "below"))
    )
    return replace(chart, signals=kept)


def _over_weeks(cells: pl.DataFrame, kind: DefectKind, week: str) -> ControlResult:
    """Chart a kind with the usual rate of the weeks before, as the review judges it."""
    before = cells.filter((pl.col("exposure") > 0) & (pl.col("week") < week))["week"].unique()
    enough = before.len() >= FEWEST_WEEKS
    usual = (str(before.min()), str(before.max())) if enough else None
    return analyse(cells, kind=kind, by="week", baseline=usual)
