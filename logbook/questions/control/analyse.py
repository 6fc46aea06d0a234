"""Has the rate of a defect changed, or is this the usual up and down: the control chart."""

from __future__ import annotations

from typing import Literal, TypeAlias

import numpy as np
import polars as pl

from logbook.cells import pool
from logbook.errors import TooLittleData
from logbook.kernels import limits, rate_intervals
from logbook.kernels.arguments import BoolArray
from logbook.questions.control.baseline import baseline_mask
from logbook.questions.control.result import By, ControlResult, Drawn
from logbook.questions.control.signals import notes_of, signals_of
from logbook.vocabulary.defects import DefectKind

Spread: TypeAlias = Literal["auto", "plain", "laney"]


def analyse(
    cells: pl.DataFrame,
    *,
    kind: DefectKind,
    by: By,
    spread: Spread = "auto",
    baseline: tuple[str, str] | None = None,
) -> ControlResult:
    """Draw the control chart of one kind of defect.

    Parameters
    ----------
    cells
        Cells of that kind grouped by ``by``, or for ``run`` by ``run_ref`` and ``day``; further
        groupings are pooled over, and the order of the rows does not matter: runs are put in
        order of day and reference, periods in order of their labels. Periods in which nothing
        was sewn are no points.
    kind
        The kind that the cells count.
    by
        What a point is.
    spread
        ``plain`` limits hold the variation of counting alone, ``laney`` ones also what varies
        between points; ``auto`` takes the latter where that is real.
    baseline
        First and last point that set the usual rate, both included, see
        :func:`logbook.questions.control.baseline.baseline_mask`; None for all.

    Returns
    -------
    ControlResult

    Raises
    ------
    TooLittleData
        Nothing was inspected or sewn, or not in the baseline.
    AnalysisError
        The baseline cannot be read or ends before it begins, or the cells are not grouped by
        ``by``.
    """
    points = _in_time(cells, by)
    if not points["exposure"].sum() > 0:
        raise TooLittleData(
            f"{kind.label}: no {kind.counted_against} with this recorded.",
            "Widen the dates, or check that the run sheets have a column for it.",
            needed=1,
            got=0,
            unit=kind.counted_against,
        )
    mask = baseline_mask(points, by, baseline)
    count, exposure = points["count"].to_numpy(), points["exposure"].to_numpy()
    choice = limits.choose_spread(
        count=count, exposure=exposure, measure=kind.measure, baseline=mask
    )
    drawn, reason = _spread(choice, spread)
    fit = limits.chart(
        count=count, exposure=exposure, measure=kind.measure, spread=drawn, baseline=mask
    )
    points = _judged(points, mask, fit)
    used = points.filter("in_baseline")
    seen, at_risk = int(count[mask].sum()), float(exposure[mask].sum())
    doubt = rate_intervals.interval(count=seen, exposure=at_risk, measure=kind.measure)
    return ControlResult(
        kind=kind,
        by=by,
        spread=drawn,
        spread_reason=reason,
        centre=float(fit.centre),
        centre_interval=(doubt.lower, doubt.upper),
        baseline=(used["label"][0], used["label"][-1]),
        baseline_points=used.height,
        baseline_count=seen,
        baseline_exposure=at_risk,
        sigma_z=float(fit.sigma_z),
        dispersion=choice.overdispersion,
        points=points,
        signals=signals_of(points, kind, by),
        notes=notes_of(used, by, fit, drawn),
    )


def _in_time(cells: pl.DataFrame, by: By) -> pl.DataFrame:
    keys = ("day", "run_ref") if by == "run" else (by,)
    pooled = pool(cells, by=keys).drop_nulls(keys)
    label = keys[-1]
    wanted = [*keys[:-1], "runs", "exposure", "count"]
    return pooled.select(pl.col(label).cast(pl.String).alias("label"), *wanted)


def _spread(choice: limits.SpreadChoice, asked: Spread) -> tuple[Drawn, str]:
    if asked == "auto":
        return choice.spread, choice.reason
    if asked == "laney" and not np.isfinite(choice.sigma_z):
        return "plain", "Plain limits: one point does not show how points vary."
    return asked, f"{'Plain' if asked == 'plain' else 'Primed'} limits, as asked for."


def _judged(points: pl.DataFrame, mask: BoolArray, fit: limits.ControlChart) -> pl.DataFrame:
    signals = limits.run_signals(z=fit.z).by_point(rules=limits.WESTERN_ELECTRIC)
    return points.with_columns(
        pl.Series("rate", fit.rate),
        pl.Series("lower", fit.lower),
        pl.Series("upper", fit.upper),
        pl.Series("z", fit.z),
        pl.Series("in_baseline", mask),
        pl.Series("signals", signals, dtype=pl.List(pl.String)),
    )
