"""Runs out to a file that can be imported again."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import xlsxwriter
from xlsxwriter.exceptions import FileCreateError

from logbook.atomic_files import atomic_write
from logbook.errors import IntakeError
from logbook.runs.columns import NEEDLE_AGE
from logbook.store import Store, Window

ENDINGS = (".csv", ".xlsx", ".parquet")
_RISKY_START = r"^([=+\-@'\t\r])"
"""How a formula begins; an apostrophe too, so that import knows whose apostrophe it is."""


def export_runs(store: Store, path: Path, *, window: Window | None = None) -> int:
    """Write the runs of a window as a run sheet; importing it again adds nothing.

    Text that begins like a formula gets an apostrophe before it in CSV and XLSX, so that a
    spreadsheet shows it instead of working it out; import takes the apostrophe off again.

    Parameters
    ----------
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
    if not path.parent.is_dir():
        raise IntakeError(
            f"{path} was not written: there is no folder {path.parent}.", "make it, or name another"
        )
    runs = as_sheet(store, store.runs(window), store.made(window))
    with atomic_write(path, ending=ending) as part:
        _write(runs, part, ending)
    return runs.height


def as_sheet(store: Store, runs: pl.DataFrame, made: pl.DataFrame) -> pl.DataFrame:
    """Runs with what the book makes of them: the shift in its place, the needle's age at the end.

    Parameters
    ----------
    store
        The open book.
    runs
        Runs of it.
    made
        What :meth:`Store.made` answers of them.
    """
    if store.shop.shifts:
        shift = made.select("run_ref", "shift")
        runs = runs.update(shift, on="run_ref", how="left")
    age = made.select("run_ref", NEEDLE_AGE.name)
    if age[NEEDLE_AGE.name].null_count() == age.height:
        return runs
    return runs.join(age, on="run_ref", how="left", maintain_order="left")


def guarded(frame: pl.DataFrame) -> pl.DataFrame:
    """The same with an apostrophe before text that a spreadsheet would work out as a formula."""
    return frame.with_columns(pl.col(pl.String).str.replace(_RISKY_START, "'$1"))


def _write(runs: pl.DataFrame, path: Path, ending: str) -> None:
    if ending == ".parquet":
        runs.write_parquet(path)
        return
    harmless = guarded(runs)
    if ending == ".csv":
        harmless.write_csv(path, include_bom=True, datetime_format="%Y-%m-%dT%H:%M:%S%.6f")
    else:
        _write_xlsx(harmless, path)


def _write_xlsx(runs: pl.DataFrame, path: Path) -> None:
    # Dates as text: a spreadsheet cell keeps no microseconds.
    as_text = runs.with_columns(pl.col("finished_at").dt.to_string("%Y-%m-%dT%H:%M:%S%.6f"))
    plainly = {"strings_to_formulas": False, "strings_to_urls": False}
    try:
        with xlsxwriter.Workbook(path, plainly) as book:
            sheet = book.add_worksheet("Runs")
            sheet.freeze_panes(1, 0)
            sheet.write_row(0, 0, as_text.columns, book.add_format({"bold": True}))
            for place, values in enumerate(as_text.iter_columns()):
                sheet.write_column(1, place, map(_cell, values))
    except FileCreateError as cause:
        raise OSError(str(cause)) from cause


def _cell(value: object) -> object:
    """A number with all its digits: a workbook's numbers keep sixteen, a few need seventeen."""
    return repr(value) if isinstance(value, float) and float(f"{value:.16G}") != value else value
