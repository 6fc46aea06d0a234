"""What was spoiled against what may be, and what a thousand stitches came to, level by level."""

from __future__ import annotations

import numpy as np
import polars as pl

from logbook.kernels import intervals
from logbook.kernels.arguments import FloatArray
from logbook.kernels.grouped import design_effect
from logbook.questions.where.grouping import Grouped
from logbook.questions.where.result import Spoilage
from logbook.shop import Costs
from logbook.shop.allowances import Allowances

STITCHES = 1000.0


def spoilage(
    runs: pl.DataFrame, groups: Grouped, allowances: Allowances
) -> tuple[Spoilage | None, ...]:
    """Say of each level what was spoiled, in runs that wrote it down.

    Parameters
    ----------
    runs
        The runs asked about.
    groups
        Their levels.
    allowances
        What may be spoiled.

    Returns
    -------
    tuple of Spoilage or None
        Intervals are Wilson's, for as many independent pieces as the runs are worth: pieces of one
        run are spoiled together.
    """
    many = len(groups.levels)
    sewn, spoiled = (
        runs[name].cast(pl.Float64).to_numpy() for name in ("pieces_sewn", "pieces_spoiled")
    )
    there = ~np.isnan(spoiled) & (np.nan_to_num(sewn) > 0)
    if not there.any():
        return (None,) * many
    effect = design_effect(inside=spoiled[there], sizes=sewn[there])
    pieces = np.bincount(groups.codes[there], sewn[there], many)
    lost = np.bincount(groups.codes[there], spoiled[there], many)
    doubt = intervals.proportion(
        count=lost / effect, trials=np.where(pieces > 0, pieces, 1.0) / effect
    )
    lower, upper = np.atleast_1d(doubt.lower), np.atleast_1d(doubt.upper)
    return tuple(
        Spoilage(
            float(pieces[at]),
            float(lost[at]),
            (float(lower[at]), float(upper[at])),
            allowances.of(level.get("customer")),
        )
        if pieces[at] > 0
        else None
        for at, level in enumerate(groups.levels)
    )


def cost_per_1000_stitches(runs: pl.DataFrame, groups: Grouped, costs: Costs) -> FloatArray:
    """(L,) what a thousand stitches came to: machine and people by the minute, and losses.

    Of runs that say how long they took; NaN where none of a level does.
    """
    figures = {
        name: runs[name].cast(pl.Float64).to_numpy()
        for name in (
            *("run_minutes", "stitches_sewn", "pieces_spoiled"),
            *("rework_minutes", "pieces_reworked"),
        )
    }
    minutes, stitches = figures["run_minutes"], figures["stitches_sewn"]
    there = ~np.isnan(minutes) & (np.nan_to_num(stitches) > 0)
    usual = np.nan_to_num(figures["pieces_reworked"]) * costs.rework_minutes_per_piece
    rework = np.where(np.isnan(figures["rework_minutes"]), usual, figures["rework_minutes"])
    spent = (
        minutes * costs.stopped_minute
        + rework * costs.labour_minute
        + np.nan_to_num(figures["pieces_spoiled"]) * costs.piece_value
    )
    many = len(groups.levels)
    sewn = np.bincount(groups.codes[there], stitches[there], many)
    whole = np.bincount(groups.codes[there], spent[there], many)
    return np.asarray(np.where(sewn > 0, STITCHES * whole / np.where(sewn > 0, sewn, 1.0), np.nan))
