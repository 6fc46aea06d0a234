"""More than usual or luck: each kind of a week against the weeks before."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np
import polars as pl

from logbook.calendar_weeks import weeks_before
from logbook.cells import of_kind, pool
from logbook.kernels import limits, rate_intervals
from logbook.kernels.multiplicity import false_discovery
from logbook.kernels.week_surprise import Surprise, surprise
from logbook.questions.review.data import WEEKS_BEFORE, WEEKS_CHARTED
from logbook.vocabulary.defects import DefectKind

Verdict: TypeAlias = Literal["more_than_usual", "less_than_usual", "as_usual", "cannot_say"]

FALSE_SHARE = 0.05
"""At most this share of what is called more or less than usual is luck, over all kinds of a
week (Benjamini & Hochberg 1995); for kinds judged alone it is the chance of a false call."""

FEWEST_WEEKS = 4
"""With fewer weeks before, nothing is said to be usual."""

FEWEST_EXPECTED = 1.0
"""Where fewer are expected in a week, a week does not show whether the rate has changed."""

ENOUGH_EXPECTED = 5.0
"""Rarer kinds lie below their usual rate most weeks, and stretches of that say nothing."""

PERHAPS = 0.01
"""A kind this surprising alone, but not among so many kinds, is to be watched; so is one whose
last weeks together are."""

WEEKS_TOGETHER = 4
"""The last weeks, this one included, that are looked at together."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One kind of defect in the week and before.

    Attributes
    ----------
    kind
        The kind.
    count, exposure, rate, interval
        Of the week; NaN where there is no exposure; 95 % by Wilson or Garwood.
    count_before, exposure_before, rate_before, interval_before, weeks_before
        Of the up to 12 weeks before; how many of them had exposure.
    expected
        What the rate before would make of the week's exposure.
    p_value, q_value
        Chance of a week so far from usual if nothing changed, alone and among all kinds.
    verdict
        What can be said.
    signals
        Rules of the weekly control chart that the week completes.
    direction
        Which side of the usual rate the week lies on.
    in_a_row
        Weeks in a row on that side, this one included.
    p_value_together
        Chance of the last four weeks together so far from usual if nothing changed.
    watch
        Not called more than usual, but high alone, over four weeks or for eight in a row.
    """

    kind: DefectKind
    count: int
    exposure: float
    rate: float
    interval: tuple[float, float]
    count_before: int
    exposure_before: float
    rate_before: float
    interval_before: tuple[float, float]
    weeks_before: int
    expected: float = math.nan
    p_value: float = math.nan
    q_value: float = math.nan
    verdict: Verdict = "cannot_say"
    signals: tuple[str, ...] = ()
    direction: Literal["above", "below"] | None = None
    in_a_row: int = 0
    p_value_together: float = math.nan
    watch: bool = False

    @property
    def high_together(self) -> bool:
        """Whether the last weeks together are surprising, and this one is above usual."""
        return self.direction == "above" and self.p_value_together <= PERHAPS


def judged_together(
    weekly: pl.DataFrame, week: str, kinds: Sequence[DefectKind]
) -> tuple[Judged, ...]:
    """Judge kinds that are looked at side by side, so that many looks find nothing by luck.

    Parameters
    ----------
    weekly
        Long cells by week.
    week
        The week under review.
    kinds
        The kinds; one that was never recorded is left out.
    """
    each = [found for kind in kinds if (found := _alone(weekly, week, kind)) is not None]
    if not each:
        return ()
    q_values = false_discovery(p_values=np.array([judged.p_value for judged in each]))
    return tuple(_called(judged, float(q)) for judged, q in zip(each, q_values, strict=True))


def _alone(weekly: pl.DataFrame, week: str, kind: DefectKind) -> Judged | None:
    series = pool(of_kind(weekly, kind.name), by=("week",)).filter(pl.col("exposure") > 0)
    before = series.filter(pl.col("week").is_in(weeks_before(week, WEEKS_CHARTED)))
    recent = before.filter(pl.col("week").is_in(weeks_before(week, WEEKS_BEFORE)))
    now = series.filter(pl.col("week") == week)
    if now.is_empty() and before.is_empty():
        return None
    count, exposure = _sums(now)
    count_before, exposure_before = _sums(recent)
    rate, interval = _rated(count, exposure, kind)
    rate_before, interval_before = _rated(count_before, exposure_before, kind)
    judged = Judged(
        kind, count, exposure, rate, interval,
        count_before, exposure_before, rate_before, interval_before, recent.height,
    )  # fmt: skip
    if now.is_empty() or recent.height < FEWEST_WEEKS:
        return judged
    return _charted(_tested(judged, before, now, week), before, now)


def _sums(cells: pl.DataFrame) -> tuple[int, float]:
    return int(cells["count"].sum()), float(np.sum(cells["exposure"].to_numpy()))


def _rated(count: int, exposure: float, kind: DefectKind) -> tuple[float, tuple[float, float]]:
    doubt = rate_intervals.interval(count=count, exposure=exposure, measure=kind.measure)
    return float(doubt.estimate), (float(doubt.lower), float(doubt.upper))


def _tested(judged: Judged, before: pl.DataFrame, now: pl.DataFrame, week: str) -> Judged:
    recent = before.filter(pl.col("week").is_in(weeks_before(week, WEEKS_BEFORE)))
    found = _surprise(now, recent, before, judged.kind)
    last = weeks_before(week, WEEKS_TOGETHER - 1)
    early = before.filter(~pl.col("week").is_in(last))
    usual = early.filter(pl.col("week").is_in(weeks_before(last[0], WEEKS_BEFORE)))
    together = math.nan
    if usual.height >= FEWEST_WEEKS:
        these = pl.concat([before.filter(pl.col("week").is_in(last)), now])
        found_together = _surprise(these, usual, early, judged.kind)
        if found_together.excess[0] > 0:
            together = float(found_together.p_value[0])
    return replace(
        judged,
        expected=float(found.expected[0]),
        p_value=float(found.p_value[0]),
        p_value_together=together,
    )


def _surprise(
    these: pl.DataFrame, usual: pl.DataFrame, spread_of: pl.DataFrame, kind: DefectKind
) -> Surprise:
    """Judge some weeks together against the usual ones, as restless as a longer time was."""
    spread = limits.overdispersion(
        count=spread_of["count"].to_numpy(),
        exposure=spread_of["exposure"].to_numpy(),
        measure=kind.measure,
    )
    count, exposure = _sums(these)
    count_before, exposure_before = _sums(usual)
    return surprise(
        count=count,
        exposure=exposure,
        count_before=count_before,
        exposure_before=exposure_before,
        measure=kind.measure,
        dispersion=spread.ratio,
        degrees_of_freedom=spread.degrees_of_freedom,
    )


def _charted(judged: Judged, before: pl.DataFrame, now: pl.DataFrame) -> Judged:
    """Add the signals of the weekly chart; none where it has no width to pass."""
    points = pl.concat([before, now])
    count, exposure = points["count"].to_numpy(), points["exposure"].to_numpy()
    usual, measure = np.arange(points.height) < before.height, judged.kind.measure
    choice = limits.choose_spread(count=count, exposure=exposure, measure=measure, baseline=usual)
    fit = limits.chart(
        count=count, exposure=exposure, measure=measure, baseline=usual, spread=choice.spread
    )
    here = fit.z[-1]
    if not np.isfinite(here) or here == 0:
        return judged
    other_side = np.flatnonzero(np.sign(fit.z) != np.sign(here))
    return replace(
        judged,
        signals=tuple(limits.run_signals(z=fit.z).by_point()[-1]),
        direction="above" if here > 0 else "below",
        in_a_row=points.height - (int(other_side[-1]) + 1 if other_side.size else 0),
    )


def _called(judged: Judged, q_value: float) -> Judged:
    above = judged.rate > judged.rate_before
    verdict: Verdict
    if math.isnan(judged.p_value):
        verdict = "cannot_say"
    elif q_value <= FALSE_SHARE:
        verdict = "more_than_usual" if above else "less_than_usual"
    else:
        verdict = "as_usual" if judged.expected >= FEWEST_EXPECTED else "cannot_say"
    stretch = "run_of_8" in judged.signals and judged.direction == "above"
    alone = above and judged.p_value <= PERHAPS
    watch = (
        verdict != "more_than_usual"
        and judged.expected >= FEWEST_EXPECTED
        and (stretch or alone or judged.high_together)
    )
    return replace(judged, q_value=q_value, verdict=verdict, watch=watch)
