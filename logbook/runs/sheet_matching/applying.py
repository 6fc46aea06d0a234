"""A sheet's cells by a reading: text under the run sheet's names, as the strict intake reads it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from logbook.runs.columns import columns_with
from logbook.runs.sheet_matching.cell_readers import (
    SEEN,
    UNREAD,
    CellReader,
    cell_reader,
)
from logbook.runs.sheet_matching.counts_of_reasons import with_counts
from logbook.runs.sheet_matching.heading_words import SIZE
from logbook.runs.sheet_matching.plain_words import plain
from logbook.runs.sheet_matching.reading import ReadColumn, SheetReading
from logbook.runs.sheet_matching.reasons import ReasonWords
from logbook.vocabulary.own_columns import Own

_PLAIN_COUNT = r"^[0-9]{1,9}$"
_PLAIN_DAY = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"


@dataclass(frozen=True, slots=True)
class NotUnderstood:
    """A text of a column that says nothing to the reading, and in how many rows it stands."""

    column: str
    text: str
    rows: int


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """``cells``: text under the run sheet's names, null or empty where nothing was recorded."""

    cells: pl.DataFrame
    not_understood: tuple[NotUnderstood, ...]
    notes: tuple[str, ...] = ()


def prepared(
    cells: pl.DataFrame,
    reading: SheetReading,
    *,
    own: Sequence[Own] = (),
    suppliers: Sequence[str] = (),
) -> Prepared:
    """Read the cells of a sheet's runs.

    Parameters
    ----------
    cells
        Text columns named by their place, those of the reading in its order.
    reading
        How they are read.
    own
        Columns and defect kinds that the shop has added.
    suppliers
        Names that may stand in one cell with a backing.
    """
    words = ReasonWords(own, reading.answers)
    known = {plain(name): name for name in suppliers} | {
        text: name for text, name in reading.names.get("backing_supplier", {}).items() if name
    }
    told: list[tuple[ReadColumn, pl.DataFrame]] = []
    for place, column in enumerate(reading.columns):
        if column.means is None or str(place) not in cells.columns:
            continue
        texts = cells[str(place)]
        if column.means == "finished_at" and reading.fill_dates:
            texts = texts.set(texts == "", None).forward_fill().fill_null("")
        reader = cell_reader(
            column,
            reading,
            texts=texts.unique(maintain_order=True).head(2000),
            reason_words=words,
            suppliers=known,
            own=own,
        )
        told.append((column, _spread(texts, column.means, reader)))
    merged = _merged(told, cells.height)
    merged, notes = with_counts(merged, reading, own=own)
    names = {column.name for column in columns_with(own)} | {"backing_oz_yd2"}
    return Prepared(
        merged.select(name for name in merged.columns if name in names),
        _not_understood(told),
        notes,
    )


def _spread(texts: pl.Series, means: str, read: CellReader) -> pl.DataFrame:
    """The facts of a column's cells: each text is read once, however often it stands there."""
    plain_pattern = _PLAIN_DAY if means == "finished_at" else None
    if means.startswith("pieces_") and means != SIZE:
        plain_pattern = _PLAIN_COUNT
    if plain_pattern and texts.str.contains(plain_pattern).all():
        return pl.DataFrame([texts.alias(means)])
    unique = texts.unique(maintain_order=True)
    facts: list[Mapping[str, str]] = [read(text) for text in unique]
    names = dict.fromkeys(name for each in facts for name in each)
    meanings = pl.DataFrame(
        {"text": unique, **{name: [each.get(name) for each in facts] for name in names}},
        schema_overrides=dict.fromkeys(names, pl.String()),
    )
    whole = (
        texts.alias("text").to_frame().join(meanings, on="text", how="left", maintain_order="left")
    )
    return whole.rename({"text": "text:"})


def _merged(told: Sequence[tuple[ReadColumn, pl.DataFrame]], height: int) -> pl.DataFrame:
    """One column a name: what a column of its own says goes before what others say beside."""
    by_name: dict[str, list[pl.Series]] = {}
    beside: list[pl.Series] = []
    for column, frame in told:
        for name in frame.columns:
            if name == "text:":
                continue
            if name == UNREAD:
                if column.means != "reasons":
                    beside.append(_labelled(column.heading, frame[name]))
                continue
            own = name == column.means
            by_name.setdefault(name, []).insert(
                0 if own else len(by_name.get(name, ())), frame[name]
            )
    merged = pl.DataFrame([_together(name, series) for name, series in by_name.items()])
    if not by_name:
        merged = pl.DataFrame([pl.repeat(None, height, dtype=pl.String, eager=True).alias("notes")])
    notes = [*([merged["notes"]] if "notes" in merged.columns else []), *beside]
    if beside:
        merged = merged.with_columns(_joined(notes, "notes", "; "))
    return _with_time(merged)


def _together(name: str, series: Sequence[pl.Series]) -> pl.Series:
    if len(series) == 1:
        return series[0].alias(name)
    if name == "notes":
        return _joined(series, name, "; ")
    if name == SEEN:
        return _joined(series, name, " ")
    frame = pl.DataFrame([each.alias(str(place)) for place, each in enumerate(series)])
    if name == SIZE:
        summed = frame.select(
            pl.sum_horizontal(pl.all().cast(pl.Int64, strict=False)).alias(name),
            pl.any_horizontal(pl.all().is_not_null()).alias("any"),
        )
        return summed[name].cast(pl.String).set(~summed["any"], None)
    return frame.select(pl.coalesce(pl.all()).alias(name))[name]


def _joined(series: Sequence[pl.Series], name: str, between: str) -> pl.Series:
    frame = pl.DataFrame([each.alias(str(place)) for place, each in enumerate(series)])
    text = frame.select(pl.concat_str(pl.all(), separator=between, ignore_nulls=True).alias(name))[
        name
    ]
    return text.set(text == "", None)


def _labelled(heading: str, texts: pl.Series) -> pl.Series:
    return (f"{heading}: " + texts.str.replace_all("\n", ", ")).alias("notes")


def _with_time(merged: pl.DataFrame) -> pl.DataFrame:
    if "time_of_day" not in merged.columns or "finished_at" not in merged.columns:
        return merged
    day_alone = pl.col("finished_at").str.contains(_PLAIN_DAY) & pl.col("time_of_day").is_not_null()
    both = pl.concat_str("finished_at", pl.lit(" "), "time_of_day")
    return merged.with_columns(
        pl.when(day_alone).then(both).otherwise("finished_at").alias("finished_at")
    )


def _not_understood(told: Sequence[tuple[ReadColumn, pl.DataFrame]]) -> tuple[NotUnderstood, ...]:
    found: list[NotUnderstood] = []
    for column, frame in told:
        if UNREAD not in frame.columns:
            continue
        phrases = frame[UNREAD].drop_nulls().str.split("\n").explode()
        counts = phrases.value_counts(name="rows", sort=True)
        found += [NotUnderstood(column.heading, text, rows) for text, rows in counts.iter_rows()]
    return tuple(sorted(found, key=lambda each: -each.rows))
