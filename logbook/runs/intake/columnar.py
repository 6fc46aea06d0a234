"""Parquet files: typed columns brought to the text that a CSV file would hold."""

from __future__ import annotations

import io
from collections.abc import Collection
from pathlib import Path

import polars as pl

from logbook.errors import NotARunSheet
from logbook.runs.intake.headings import heading_name
from logbook.runs.intake.table import Table, readable

SAVE_AS = "write the file again, or save it as “CSV UTF-8”"


def read_columnar(path: Path, data: bytes, known: Collection[str]) -> Table:
    """Read a Parquet file.

    Parameters
    ----------
    path
        The file, for messages.
    data
        Its bytes.
    known
        Names of columns; those must hold plain values, others may hold anything.

    Raises
    ------
    NotARunSheet
        Damaged, or a known column holds lists or other values that no cell can hold.
    """
    with readable(path, "a Parquet file", SAVE_AS):
        frame = pl.read_parquet(io.BytesIO(data))
        texts = [
            _as_text(path, frame[name], heading_name(name) in known).alias(str(place))
            for place, name in enumerate(frame.columns)
        ]
        if not texts:
            raise NotARunSheet(f"{path.name} has no columns.", SAVE_AS)
        return Table(
            headings=tuple(frame.columns),
            cells=pl.DataFrame(texts).with_columns(pl.all().fill_null("")),
            numbers=pl.Series("row", range(2, frame.height + 2), dtype=pl.Int64),
        )


def _as_text(path: Path, values: pl.Series, known: bool) -> pl.Series:
    dtype = values.dtype
    if dtype == pl.Datetime:
        zone = "%:z" if values.dtype.time_zone else ""  # type: ignore[attr-defined]
        return values.dt.to_string(f"%Y-%m-%dT%H:%M:%S%.f{zone}")
    if dtype.is_float():
        return values.cast(pl.String).str.replace(r"^(-?\d+)\.0$", "$1")
    if dtype.is_nested() or dtype in (pl.Binary, pl.Object):
        if known:
            raise NotARunSheet(
                f"{path.name}: the column {values.name} holds {dtype}, not plain values.", SAVE_AS
            )
        return pl.Series(values.name, [""] * len(values), dtype=pl.String)
    return values.cast(pl.String)
