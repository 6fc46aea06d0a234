"""The shift that a finish lies in: a run that says just that has said nothing of its own."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from logbook.shop.shifts import Shift

MIDNIGHT = "00:00:00"
"""The time of a finish of which only the day is known."""


def made_shift(shifts: Sequence[Shift]) -> pl.Expr:
    """The shift that a finish lies in; null between shifts, and where only the day is known."""
    time = pl.col("finished_at").dt.to_string("%H:%M:%S")
    made = pl.lit(None, pl.String)
    for shift in reversed(shifts):
        after, until = time > f"{shift.begins}:00", time <= f"{shift.ends}:00"
        within = after & until if shift.begins < shift.ends else after | until
        made = pl.when(within).then(pl.lit(shift.name)).otherwise(made)
    return pl.when(time != MIDNIGHT).then(made)


def without_made_shift(runs: pl.DataFrame, shifts: Sequence[Shift]) -> pl.Series | None:
    """The shifts of runs without those that the book makes anyway; None where that takes none.

    What was exported says them, though nobody had written them down.
    """
    if not shifts or runs["shift"].null_count() == runs.height:
        return None
    own = pl.when(pl.col("shift").ne_missing(made_shift(shifts))).then("shift").alias("shift")
    left = runs.select(own)["shift"]
    return None if left.null_count() == runs["shift"].null_count() else left
