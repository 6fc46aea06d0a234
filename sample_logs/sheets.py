"""Writes the monthly run sheets, each as that month's office kept it."""

import csv
import datetime as dt
import io
from collections.abc import Iterable
from pathlib import Path

import polars as pl
import xlsxwriter

__all__ = ["ALDER_VARIANT", "SEMICOLON_MONTH", "WORKBOOK_MONTH", "sheet_text", "write_sheets"]

SEMICOLON_MONTH = "2026-02"
"""Kept in a spreadsheet set to decimal commas, with its own headings and the trade's spellings."""
WORKBOOK_MONTH = "2026-04"
"""Kept as a workbook, with real dates, numbers and truth values."""
ALDER_VARIANT = ("2026-05", "alder ")
"""In this month every tenth Alder run has the supplier in this other spelling."""
GRADES_FROM = "2026-01"
"""First month whose sheet has a column for the pucker grade."""

TRADE_SPELLINGS = {
    "cut_away": "cutaway",
    "sheer_mesh": "no-show mesh",
    "tear_away": "tear away",
    "fusible_sheer_mesh": "fusible sheer mesh",
    "wash_away_tear_away": "wash-away tear-away",
    "water_soluble": "water soluble",
}
Cell = str | int | float | bool | dt.datetime | None


def write_sheets(folder: Path, sheet: pl.DataFrame) -> list[Path]:
    """Write one sheet a month into a folder and return their paths in order of time."""
    paths = []
    months = sheet["finished_at"].dt.strftime("%Y-%m")
    for month in months.unique().sort():
        part = _as_kept(sheet.filter(months == month), month)
        if month == WORKBOOK_MONTH:
            paths.append(folder / f"{month}.xlsx")
            _write_workbook(paths[-1], part)
            continue
        paths.append(folder / f"{month}.csv")
        semicolons = month == SEMICOLON_MONTH
        paths[-1].write_bytes(sheet_text(part, semicolons=semicolons).encode("utf-8"))
    return paths


def _as_kept(part: pl.DataFrame, month: str) -> pl.DataFrame:
    """Return a month's rows with that month's columns and spellings."""
    if month < GRADES_FROM:
        part = part.drop("pucker_grade")
    if month == ALDER_VARIANT[0]:
        alder = pl.col("backing_supplier") == "Alder"
        tenth = alder.cum_sum() % 10 == 0
        part = part.with_columns(
            pl.when(alder & tenth)
            .then(pl.lit(ALDER_VARIANT[1]))
            .otherwise(pl.col("backing_supplier"))
            .alias("backing_supplier")
        )
    if month == SEMICOLON_MONTH:
        part = part.with_columns(pl.col("backing").replace(TRADE_SPELLINGS))
    return part


def sheet_text(part: pl.DataFrame, *, semicolons: bool) -> str:
    """Return rows as CSV text.

    With semicolons come what a spreadsheet with decimal commas writes: a byte-order mark, headings
    with capitals and spaces, decimal commas, ``yes`` and ``no``.
    """
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";" if semicolons else ",", lineterminator="\n")
    if semicolons:
        out.write("\ufeff")
        writer.writerow(name.replace("_", " ").capitalize() for name in part.columns)
    else:
        writer.writerow(part.columns)
    for row in part.iter_rows():
        writer.writerow(_texts(row, semicolons=semicolons))
    return out.getvalue()


def _texts(row: Iterable[Cell], *, semicolons: bool) -> list[str]:
    words = ("yes", "no") if semicolons else ("true", "false")
    texts = []
    for cell in row:
        if cell is None:
            texts.append("")
        elif isinstance(cell, bool):
            texts.append(words[0] if cell else words[1])
        elif isinstance(cell, dt.datetime):
            texts.append(cell.isoformat(timespec="minutes"))
        elif isinstance(cell, float):
            text = f"{cell:g}"
            texts.append(text.replace(".", ",") if semicolons else text)
        else:
            texts.append(str(cell))
    return texts


def _write_workbook(path: Path, part: pl.DataFrame) -> None:
    """Write rows as a workbook; its creation date is fixed, so that its bytes are."""
    book = xlsxwriter.Workbook(path)
    book.set_properties({"title": "Run sheet", "created": dt.datetime(2026, 5, 4, 8, 0)})
    page = book.add_worksheet("Runs")
    date_format = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
    page.write_row(0, 0, part.columns)
    page.set_column(part.columns.index("finished_at"), part.columns.index("finished_at"), 17)
    page.freeze_panes(1, 1)
    for line, row in enumerate(part.iter_rows(), start=1):
        for place, cell in enumerate(row):
            if isinstance(cell, bool):
                page.write_boolean(line, place, cell)
            elif isinstance(cell, dt.datetime):
                page.write_datetime(line, place, cell, date_format)
            elif isinstance(cell, int | float):
                page.write_number(line, place, cell)
            elif cell is not None:
                page.write_string(line, place, cell)
    book.close()
