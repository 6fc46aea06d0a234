"""The commands' questions, asked of an open book: Python twins of the command line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import polars as pl

from logbook.book.designs import designs
from logbook.book.thumbnails import RunPhotos, thumbnails_of_runs
from logbook.calendar_weeks import days_of
from logbook.cells import of_kind
from logbook.errors import TooLittleData
from logbook.questions.control import analyse as control
from logbook.questions.control.result import ControlResult
from logbook.questions.costs import analyse as pareto
from logbook.questions.costs.analyse import ParetoResult
from logbook.questions.parameters import kind_of
from logbook.questions.review import analyse as review
from logbook.questions.review.analyse import MIX_FACTORS, ReviewData, ReviewResult, asked_window
from logbook.questions.review.chart_words import as_judged
from logbook.questions.review.held import HeldRun, held_runs
from logbook.questions.review.watched import watched
from logbook.questions.review.weeks import days_after_today, last_week
from logbook.store import Store, Window
from logbook.vocabulary.defects import ANY, DefectKind

CHARTED_KINDS = 3
"""A review draws charts of so many kinds besides that of any defect."""


def need_runs(store: Store) -> None:
    """Refuse to ask anything of an empty book."""
    if store.span() is None:
        raise TooLittleData(
            f"The book at {store.place} has no runs yet.",
            "log one with: logbook add KEY=VALUE…, or bring a spreadsheet in with: logbook import",
            needed=1,
            got=0,
            unit="runs",
        )


def weekly_review(
    store: Store, *, week: str | None = None, site: str | None = None
) -> ReviewResult:
    """How a week went: how much went wrong, luck or not, what it cost, what to look at.

    Parameters
    ----------
    store
        The open book.
    week
        Such as ``2026-W40``; the last week with runs by today where not given.
    site
        One site only.

    Raises
    ------
    AnalysisError
        The text is no week.
    """
    asked = week or last_week(store)
    since, until = asked_window(asked)
    monday, sunday = days_of(asked)
    window = Window(since=since, until=until, site=site)
    names = (*(each.name for each in store.shop.kinds), ANY.name)
    data = ReviewData(
        weekly=store.cells(names, by=("week",), window=window),
        weekly_totals=store.totals(by=("week",), window=window),
        week_runs=store.runs(Window(since=monday, until=sunday, site=site)),
        mix={name: store.totals(by=("week", name), window=window) for name in MIX_FACTORS},
        watched=watched(store, asked, site=site),
        designs=designs(store),
        after_today=days_after_today(store, site=site),
        held=held_everywhere(store, site=site),
    )
    return review.analyse(data, week=asked, shop=store.shop)


def held_everywhere(store: Store, *, site: str | None = None) -> tuple[HeldRun, ...]:
    """Every run held for missing needle parts, in order of time, whatever its week."""
    return held_runs(store.runs(Window(held=True, site=site)))


@dataclass(frozen=True, slots=True, eq=False)
class ReviewCharts:
    """What a review is illustrated with."""

    pareto: ParetoResult | None
    """None where the week has no defects recorded."""
    control: tuple[ControlResult, ...]
    """Any defect first, then the kinds that want a look, dearest first."""
    photos: Mapping[str, RunPhotos] = field(default_factory=dict)
    """Of the runs to look at, by their references."""


def review_charts(store: Store, result: ReviewResult, *, site: str | None = None) -> ReviewCharts:
    """The charts that go with a review: the costed order, and the kinds to look at over time.

    A chart calls out no point of a week of which the review cannot say how that kind went: limits
    pass a point of one small run, and a row of weeks on one side goes on through it, by luck.
    """
    since, _ = asked_window(result.week)
    window = Window(since=since, until=result.sunday, site=site)
    names = tuple(each.name for each in store.shop.kinds)
    weekly = store.cells((ANY.name, *names), by=("week",), window=window)
    week_cells = weekly.filter((pl.col("week") == result.week) & (pl.col("kind") != ANY.name))
    loud = [
        each
        for each in result.defects
        if each.judged.verdict != "cannot_say" and (each.judged.signals or each.judged.watch)
    ]
    quiet = [each for each in result.defects if each not in loud and each.judged.count > 0]
    asked = [each.judged.kind.name for each in (*loud, *quiet)][:CHARTED_KINDS]
    present = set(weekly["kind"])
    return ReviewCharts(
        pareto=None if week_cells.is_empty() else pareto.analyse(week_cells, shop=store.shop),
        control=tuple(
            as_judged(_over_weeks(of_kind(weekly, name), kind_of(store, name), result.week), result)
            for name in (ANY.name, *asked)
            if name in present
        ),
        photos=thumbnails_of_runs(store, [run.run_ref for run in result.look_at]),
    )


def _over_weeks(cells: pl.DataFrame, kind: DefectKind, week: str) -> ControlResult:
    """Chart a kind with the usual rate of the weeks before, as the review judges it."""
    before = cells.filter((pl.col("exposure") > 0) & (pl.col("week") < week))["week"].unique()
    enough = before.len() >= review.FEWEST_WEEKS
    usual = (str(before.min()), str(before.max())) if enough else None
    return control.analyse(cells, kind=kind, by="week", baseline=usual)
