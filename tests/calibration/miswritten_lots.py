"""Lots as they are written down in a hurry: a fifth left blank, some of the rest wrong."""

from __future__ import annotations

import numpy as np
import polars as pl

BLANK, WRONG = 0.20, 0.15


def miswritten(cells: pl.DataFrame, seed: int) -> pl.DataFrame:
    """The same cells with lots left blank or wrong, run by run.

    Of the wrong ones a third are another lot of that supplier and backing, a third a lot of
    anybody, a third a slip that is no lot at all. One run in twenty does not name its supplier.
    """
    rng = np.random.default_rng([seed, 331])
    runs = cells.unique("run_ref", keep="first", maintain_order=True)
    count = runs.height
    lots = runs["backing_lot"].to_numpy()
    supply = (runs["backing_supplier"] + runs["backing"]).fill_null("").to_numpy()
    fate = rng.random(count)
    written: list[str | None] = []
    for row in range(count):
        if fate[row] < BLANK:
            written.append(None)
        elif fate[row] > 1 - WRONG:
            sort = rng.integers(3)
            own = lots[supply == supply[row]]
            slip = f"L{rng.integers(1000, 9999)}"
            written.append(slip if sort == 2 else str(rng.choice(lots if sort else own)))
        else:
            written.append(str(lots[row]))
    unnamed = rng.random(count) < 0.05
    said = runs.select(
        "run_ref",
        pl.Series("backing_lot", written),
        pl.when(pl.Series(~unnamed)).then("backing_supplier").alias("backing_supplier"),
    )
    return cells.drop("backing_lot", "backing_supplier").join(
        said, on="run_ref", how="left", maintain_order="left"
    )
