"""How did the week go: the weekly defect review."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import polars as pl

from logbook.calendar_weeks import days_of, iso_week
from logbook.costing import Costed, costed
from logbook.questions.costs.analyse import in_order
from logbook.questions.review.actions import actions_for, cautions_for
from logbook.questions.review.changes import new_files, setup_changes
from logbook.questions.review.charts import charts_of
from logbook.questions.review.data import ReviewData
from logbook.questions.review.decided import decided
from logbook.questions.review.held import held_runs
from logbook.questions.review.judging import Judged, judged_together
from logbook.questions.review.losses import week_losses
from logbook.questions.review.result import ReviewResult
from logbook.questions.review.reviewed import Defect
from logbook.questions.review.runs import runs_to_look_at
from logbook.shop import Shop
from logbook.vocabulary.defects import ANY


def analyse(data: ReviewData, *, week: str, shop: Shop) -> ReviewResult:
    """Review one week against the weeks before.

    Parameters
    ----------
    data
        What :class:`ReviewData` says, of one shop or one site.
    week
        The week under review, such as ``2026-W40``.
    shop
        Whose kinds, costs and currency count.

    Returns
    -------
    ReviewResult
        A week without runs is answered too, with nothing to compare.

    Raises
    ------
    AnalysisError
        The text is no week.

    Notes
    -----
    Kinds that the setup is charged with are judged side by side (false discovery rate 5 %,
    Benjamini & Hochberg 1995); pieces with any defect, which hold the same pieces again, and
    faults from the mill are judged apart. Rates before pool the up to 12 weeks before; how
    restless weeks usually are, and the control chart, come from up to 26.
    """
    monday, sunday = days_of(week)
    week = iso_week(monday)
    money = costed(data.weekly.filter(pl.col("week") == week), kinds=shop.kinds, shop=shop)
    charged = [kind for kind in shop.kinds if kind.charged_to_setup]
    apart = [kind for kind in shop.kinds if not kind.charged_to_setup]
    judged = _in_order(judged_together(data.weekly, week, charged), money)
    mill = judged_together(data.weekly, week, apart)
    pieces = next(iter(judged_together(data.weekly, week, [ANY])), None)
    totals = _row(data.weekly_totals, week)
    held = held_runs(data.week_runs)
    actions = actions_for(judged)
    result = ReviewResult(
        week=week,
        monday=monday,
        sunday=sunday,
        runs=int(totals.get("runs") or 0),
        pieces_inspected=int(totals.get("pieces_inspected") or 0),
        stitches_sewn=float(totals.get("stitches_sewn") or 0.0),
        runs_inspected_assumed=int(totals.get("runs_inspected_assumed") or 0),
        runs_any_assumed=int(totals.get("runs_any_assumed") or 0),
        defects=_defects(judged, money),
        kept_apart=_defects(mill, money),
        any_defect=None if pieces is None else _defects([pieces], money)[0],
        costs=in_order(money, shop=shop),
        losses=week_losses(data.week_runs, money, shop),
        changed=(
            *new_files(data.designs, data.week_runs, week),
            *setup_changes(data.mix, week),
        ),
        look_at=runs_to_look_at(data.week_runs, judged),
        held=held,
        held_in_other_weeks=tuple(each for each in data.held if each not in held),
        actions=actions,
        decided=tuple(decided(each, week=week) for each in data.watched),
        cautions=cautions_for(actions, held),
        after_today=data.after_today,
    )
    return replace(result, charts=charts_of(data.weekly, result))


def _in_order(judged: Sequence[Judged], money: Costed) -> list[Judged]:
    """Pareto order; kinds that nobody recorded this week come last, as the run sheet has them."""
    place = {each.kind.name: number for number, each in enumerate(money.kinds)}
    return sorted(judged, key=lambda each: place.get(each.kind.name, len(place)))


def _defects(judged: Sequence[Judged], money: Costed) -> tuple[Defect, ...]:
    costs = {each.kind.name: each for each in (*money.kinds, *money.apart)}
    return tuple(Defect(each, len(judged), costs.get(each.kind.name)) for each in judged)


def _row(totals: pl.DataFrame, week: str) -> Mapping[str, Any]:
    rows = totals.filter(pl.col("week") == week).rows(named=True)
    return rows[0] if rows else {}
