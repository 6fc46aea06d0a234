"""What gets written down of what happened: cells left empty, and the odd word of a note."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from logbook.runs.columns import run_schema
from sample_logs.supplies import LAST_WEEK
from sample_logs.truth import BAD_HOOP_MACHINE, PIECE_LOGITS

__all__ = ["write_down"]

LEFT_EMPTY: dict[str, float] = {
    "backing_lot": 0.07,
    "backing_supplier": 0.02,
    "backing_gsm": 0.03,
    "backing_shade": 0.05,
    "needle_point": 0.04,
    "speed_spm": 0.08,
    "density": 0.03,
    "row_spacing_mm": 0.12,
    "stitches_sewn": 0.15,
    "pieces_inspected": 0.03,
    "pieces_defective": 0.004,
    "rework_minutes": 0.06,
    "run_minutes": 0.05,
    "bird_nests": 0.04,
    "seen_at": 0.10,
    "pucker_grade": 0.75,
}
"""Chance that a cell is left empty."""
NO_BREAKDOWN = 0.015
"""Chance that only the defective pieces are counted and not what was wrong with them."""
SMALL_TALK: tuple[str, ...] = (
    "re-hooped twice",
    "new cone, grey",
    "garments late, started after lunch",
    "customer sent two extra",
    "first piece signed off by office",
    "bobbin case cleaned",
    "sizes mixed in the box",
    "file v2",
)


NEEDLE_UNSAID = 0.04
"""Chance that nothing is said of the needle where it was not changed."""


def write_down(
    rng: np.random.Generator, runs: pl.DataFrame, *, needles: np.random.Generator
) -> pl.DataFrame:
    """Return the run sheet's rows: the runs with some cells empty and a few notes.

    What is left empty of the needles comes from a stream of its own. A run without its supplier
    has no lot either. The runs of the last week's two signals keep the cells that show them.
    """
    day = pl.col("finished_at").dt.date()
    empty = {
        column: pl.Series(rng.random(runs.height) < chance) for column, chance in LEFT_EMPTY.items()
    }
    empty["backing_lot"] = empty["backing_lot"] | empty["backing_supplier"]
    keep = runs.select((day >= LAST_WEEK).alias("keep")).to_series()
    for column in ("backing_lot", "backing_supplier", "pieces_inspected"):
        empty[column] = empty[column] & ~keep
    no_breakdown = pl.Series(rng.random(runs.height) < NO_BREAKDOWN) & ~keep
    unsaid = pl.Series(needles.random(runs.height) < NEEDLE_UNSAID)
    empty["needle_changed"] = unsaid & ~runs["needle_changed"]
    blanks = empty | dict.fromkeys(PIECE_LOGITS, no_breakdown)
    small_talk = _small_talk(rng, runs.height)
    written = runs.with_columns(_notes(small_talk)).with_columns(
        pl.when(is_empty).then(None).otherwise(pl.col(column)).alias(column)
        for column, is_empty in blanks.items()
    )
    return written.select(name for name in run_schema() if name in written.columns)


def _small_talk(rng: np.random.Generator, size: int) -> pl.Series:
    said = rng.random(size) < 0.05
    which = rng.integers(0, len(SMALL_TALK), size)
    words: Sequence[str | None] = [
        SMALL_TALK[i] if spoken else None for i, spoken in zip(which, said, strict=True)
    ]
    return pl.Series("notes", words, dtype=pl.String)


def _notes(small_talk: pl.Series) -> pl.Expr:
    """A note for what an operator would remark on, else small talk, mostly nothing."""
    worn_hoop = (
        (pl.col("finished_at").dt.date() >= LAST_WEEK)
        & (pl.col("machine") == BAD_HOOP_MACHINE)
        & (pl.col("hooping") == "hooped")
        & (pl.col("gaps") >= 2)
    )
    return (
        pl.when(pl.col("needle_parts_found").eq_missing(False))
        .then(pl.lit("needle broke, tip not found, box set aside"))
        .when(worn_hoop)
        .then(pl.lit("hoop 15B slips on the screw side"))
        .when(pl.col("puckering") >= 5)
        .then(pl.lit("ripples below the design, whole load"))
        .when(pl.col("thread_breaks") >= 25)
        .then(pl.lit("thread breaking all the time"))
        .otherwise(small_talk)
        .alias("notes")
    )
