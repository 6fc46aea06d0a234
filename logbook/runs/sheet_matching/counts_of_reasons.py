"""Counts out of words, row by row: what the reasons tell together with quantities and rejects.

Nothing is invented: a kind without a number has no count unless the rejects tell it, and a kind of
which the reasons do not speak is nought only where the shop says that they speak of every kind.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import polars as pl

from logbook.runs.columns import outcome_columns
from logbook.runs.sheet_matching.cell_readers import NOTHING_FOUND, SAID, SEEN, UNCLEAR
from logbook.runs.sheet_matching.heading_words import SIZE
from logbook.runs.sheet_matching.reading import SheetReading
from logbook.vocabulary.defects import DEFECT_KINDS, DefectKind
from logbook.vocabulary.own_columns import Own, own_defect_kinds


def with_counts(
    merged: pl.DataFrame, reading: SheetReading, *, own: Sequence[Own] = ()
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """The merged facts of a sheet with sizes added up, rejects worked out and reasons counted."""
    notes: list[str] = []
    frame = _pieces(merged)
    kinds = (*DEFECT_KINDS, *own_defect_kinds(own))
    direct = {column.means for column in reading.columns}
    if reading.places("reasons"):
        frame = _reasons(frame, reading, kinds, direct)
    frame, held_back = _needles(frame, reading)
    if held_back:
        rows = "1 row tells" if held_back == 1 else f"{held_back} rows tell"
        notes.append(
            f"{rows} of broken needles and not whether every part was found: the needles are in "
            "the notes and not counted"
        )
    frame, doubtful = _within_pieces(frame, [k for k in kinds if k.name not in direct])
    if doubtful:
        rows = "1 row names" if doubtful == 1 else f"{doubtful} rows name"
        notes.append(
            f"{rows} more pieces in words than the numbers beside them allow: the words are in the "
            "notes and not counted"
        )
    if reading.only_bad:
        frame = _outcomes_in_words(frame, reading, own)
    return frame, tuple(notes)


def _number(name: str) -> pl.Expr:
    return pl.col(name).cast(pl.Int64, strict=False)


def _there(frame: pl.DataFrame, name: str) -> pl.Expr:
    return _number(name) if name in frame.columns else pl.lit(None, pl.Int64)


def _sum(names: Iterable[str]) -> pl.Expr:
    counts = [pl.col(name).fill_null(0) for name in names]
    return pl.sum_horizontal(counts) if counts else pl.lit(0, pl.Int64)


def _pieces(frame: pl.DataFrame) -> pl.DataFrame:
    if SIZE in frame.columns:
        sewn = pl.col("pieces_sewn") if "pieces_sewn" in frame.columns else pl.lit(None, pl.String)
        frame = frame.with_columns(pl.coalesce(sewn, SIZE).alias("pieces_sewn"))
    if "pieces_good" in frame.columns:
        looked_at = pl.coalesce(_there(frame, "pieces_inspected"), _there(frame, "pieces_sewn"))
        bad = looked_at - _number("pieces_good")
        told = _there(frame, "pieces_defective")
        worked_out = pl.when(bad >= 0).then(bad)
        frame = frame.with_columns(
            pl.coalesce(told, worked_out).cast(pl.String).alias("pieces_defective")
        )
    return frame


def _reasons(
    frame: pl.DataFrame,
    reading: SheetReading,
    kinds: Sequence[DefectKind],
    direct: set[str | None],
) -> pl.DataFrame:
    for name in (SEEN, NOTHING_FOUND, SAID, UNCLEAR):
        if name not in frame.columns:
            frame = frame.with_columns(pl.lit(None, pl.String).alias(name))
    names = [kind.name for kind in kinds if kind.name not in direct]
    spoken = [name for name in names if name in frame.columns or name in reading.kinds]
    pieces = [k.name for k in kinds if k.measure == "pieces" and k.charged_to_setup]
    frame = frame.with_columns(_there(frame, name).alias(name) for name in spoken)
    rejects = _there(frame, "pieces_defective")
    counted = _sum(n for n in pieces if n in frame.columns)
    seen = pl.col(SEEN).fill_null("")
    alone = ~seen.str.contains(" ", literal=True) & (seen != "")
    # One kind of piece alone was named, and the rejects say how many pieces there were.
    told_by_rejects = alone & (counted == 0) & (rejects > 0)
    frame = frame.with_columns(
        pl.when(told_by_rejects & (seen == name) & pl.col(name).is_null())
        .then(rejects)
        .otherwise(pl.col(name))
        .alias(name)
        for name in spoken
        if name in pieces
    )
    found_none = pl.col(NOTHING_FOUND).is_not_null()
    no_rejects = (rejects == 0).fill_null(value=False)
    silent_words = pl.col(SAID).is_null() & pl.col(NOTHING_FOUND).is_null()
    counted_now = _sum(n for n in pieces if n in frame.columns)
    unexplained = (rejects > counted_now).fill_null(value=False)
    unclear = pl.col(UNCLEAR).is_not_null()
    is_seen = {
        name: pl.concat_str(pl.lit(" "), seen, pl.lit(" ")).str.contains(f" {name} ", literal=True)
        for name in spoken
    }
    filled = []
    for name in spoken:
        nothing = found_none | no_rejects if name in pieces else found_none
        may = nothing if reading.silence == "not_recorded" else pl.lit(value=True)
        # Where rejects are left over, any kind of piece may stand behind them.
        open_ones = (unexplained if name in pieces else unexplained & silent_words) | unclear
        nought = pl.col(name).is_null() & ~is_seen[name] & may & ~open_ones
        filled.append(pl.when(nought).then(0).otherwise(pl.col(name)).cast(pl.String).alias(name))
    return frame.with_columns(filled)


def _needles(frame: pl.DataFrame, reading: SheetReading) -> tuple[pl.DataFrame, int]:
    if "needle_breaks" not in frame.columns:
        return frame, 0
    parts = (
        pl.col("needle_parts_found")
        if "needle_parts_found" in frame.columns
        else pl.lit(None, pl.String)
    )
    asked = (_number("needle_breaks") > 0).fill_null(value=False) & parts.is_null()
    count = int(frame.select(asked.sum()).item())
    if not count:
        return frame, 0
    if reading.needle_parts_found:
        answer = pl.when(asked).then(pl.lit("true")).otherwise(parts)
        return frame.with_columns(answer.alias("needle_parts_found")), 0
    held = pl.when(~asked).then(pl.col("needle_breaks"))
    words = pl.when(asked).then(pl.concat_str(pl.lit("needle breaks: "), "needle_breaks"))
    notes = pl.col("notes") if "notes" in frame.columns else pl.lit(None, pl.String)
    said = pl.concat_str(notes, words, separator="; ", ignore_nulls=True)
    return frame.with_columns(
        held.alias("needle_breaks"), pl.when(said != "").then(said).alias("notes")
    ), count


def _within_pieces(frame: pl.DataFrame, kinds: Sequence[DefectKind]) -> tuple[pl.DataFrame, int]:
    """Take back counts in words that the row's own numbers contradict."""
    names = [kind.name for kind in kinds if kind.measure == "pieces" and kind.name in frame.columns]
    if not names:
        return frame, 0
    pieces = pl.coalesce(_there(frame, "pieces_inspected"), _there(frame, "pieces_sewn"))
    rejects = _there(frame, "pieces_defective")
    charged = {kind.name for kind in kinds if kind.charged_to_setup}
    over = {
        name: (
            (_number(name) > pieces).fill_null(value=False)
            | ((_number(name) > rejects).fill_null(value=False) & pl.lit(name in charged))
        )
        for name in names
    }
    doubtful = int(frame.select(pl.any_horizontal(over.values()).sum()).item())
    if not doubtful:
        return frame, 0
    return frame.with_columns(
        pl.when(~broken).then(pl.col(name)).alias(name) for name, broken in over.items()
    ), doubtful


def _outcomes_in_words(
    frame: pl.DataFrame, reading: SheetReading, own: Sequence[Own]
) -> pl.DataFrame:
    """Outcomes into the notes: where clean runs were not written down they make no rate."""
    outcomes = [name for name in outcome_columns(own) if name in frame.columns]
    headings = {each.means: each.heading for each in reading.columns if each.means}
    words = [
        pl.when(pl.col(name).is_not_null())
        .then(pl.concat_str(pl.lit(f"{headings[name]}: "), name))
        .alias(f"{name}:")
        for name in outcomes
        if name in headings
    ]
    notes = pl.col("notes") if "notes" in frame.columns else pl.lit(None, pl.String)
    said = pl.concat_str(notes, *words, separator="; ", ignore_nulls=True)
    taken = frame.with_columns(pl.when(said != "").then(said).alias("notes"))
    return taken.drop(outcomes)
