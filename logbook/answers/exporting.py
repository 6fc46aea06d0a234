"""Runs out to a file that can be imported again."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from logbook.errors import IntakeError
from logbook.store import Store, Window

ENDINGS = (".csv", ".xlsx", ".parquet")
_FORMULA_STARTS = r"^[=+\-@\t\r]"
_GUARD = "'"


def export_runs(store: Store, path: Path, *, window: Window | None = None) -> int:
    """Write the runs of a window as a run sheet; importing it again adds nothing.

    Text that begins like a formula gets an apostrophe before it in CSV and XLSX, so that a
    spreadsheet shows it instead of working it out; import takes the apostrophe off again.

    Parameters
    ----------
    store
        The open book.
    path
        File to write; its ending says how: ``.csv`` (UTF-8 with BOM), ``.xlsx``, ``.parquet``.
        Replaced as a whole or not at all.
    window
        Which runs; all of them where not given.

    Returns
    -------
    int
        How many runs were written.

    Raises
    ------
    IntakeError
        The ending is not one of the three, or the file cannot be written.
    """
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise IntakeError(
            f"{path} was not written: the ending {ending or 'is missing and'} is not understood.",
            f"use one of {', '.join(ENDINGS)}",
        )
    runs = store.runs(window)
    part = path.with_name(f".{path.name}.part{ending}")
    try:
        _write(runs, part, ending)
        part.replace(path)
    except OSError as cause:
        part.unlink(missing_ok=True)
        raise IntakeError(
            f"{path} cannot be written: {cause.strerror or cause}.", "name another place"
        ) from cause
    return runs.height


def _write(runs: pl.DataFrame, path: Path, ending: str) -> None:
    if ending == ".parquet":
        runs.write_parquet(path)
        return
    harmless = runs.with_columns(pl.col(pl.String).pipe(_guarded))
    if ending == ".csv":
        harmless.write_csv(path, include_bom=True, datetime_format="%Y-%m-%dT%H:%M:%S%.6f")
    else:
        _write_xlsx(harmless, path)


def _guarded(text: pl.Expr) -> pl.Expr:
    risky = text.str.contains(_FORMULA_STARTS) | text.str.starts_with(_GUARD)
    return pl.when(risky).then(pl.lit(_GUARD) + text).otherwise(text)


def _write_xlsx(runs: pl.DataFrame, path: Path) -> None:
    # Dates as text: a spreadsheet cell keeps no microseconds.
    as_text = runs.with_columns(
        pl.col("finished_at").dt.to_string("%Y-%m-%dT%H:%M:%S%.6f").alias("finished_at")
    )
    as_text.write_excel(
        path,
        worksheet="Runs",
        autofit=False,
        freeze_panes=(1, 0),
        dtype_formats={pl.Int64: "0", pl.Float64: "General"},
    )
