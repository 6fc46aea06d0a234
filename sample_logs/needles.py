"""When needles were changed, and how many stitches a head they had sewn when a run began."""

import numpy as np
import polars as pl

__all__ = ["OVERDUE_STITCHES", "with_needles"]

OVERDUE_STITCHES = 2_000_000
"""Stitches a head from which on an old needle skips."""
USUAL_LIFE, LIFE_SPREAD = 1_800_000, 0.4
"""Stitches a head after which a set is changed: median, and standard deviation of the log."""
MOST_AT_START = 900_000


def with_needles(rng: np.random.Generator, runs: pl.DataFrame) -> pl.DataFrame:
    """Return the runs with `needle_changed`, and the hidden `needle_age` when each began.

    A set is looked at in the morning, and changed where it has sewn as much as is thought enough
    that time: no two sets are thought to last alike. The first needles of the year are old by an
    amount that nobody wrote down.
    """
    changed = np.zeros(runs.height, dtype=bool)
    age = np.zeros(runs.height)
    numbered = runs.with_row_index("place").with_columns(
        pl.col("finished_at").dt.date().alias("day")
    )
    for _, own in numbered.group_by("machine", maintain_order=True):
        sewn, life, day = float(rng.uniform(0, MOST_AT_START)), _life(rng), None
        rows = own.select("place", "day", "stitches_sewn", "head_count")
        for place, today, stitches, heads in rows.iter_rows():
            if today != day and sewn > life:
                changed[place], sewn, life = True, 0.0, _life(rng)
            age[place], day = sewn, today
            sewn += stitches / heads
    return runs.with_columns(
        pl.Series("needle_changed", changed), pl.Series("needle_age", age, dtype=pl.Float64)
    )


def _life(rng: np.random.Generator) -> float:
    return float(USUAL_LIFE * np.exp(rng.normal(0, LIFE_SPREAD)))
