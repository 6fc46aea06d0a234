"""The rows of every table of one shape in a file, together."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from logbook.errors import NotARunSheet
from logbook.runs.intake.table import text_frame
from logbook.runs.sheet_matching.dates import take_apart
from logbook.runs.sheet_matching.grids import Grid
from logbook.runs.sheet_matching.heading_words import HeadingWords
from logbook.runs.sheet_matching.plain_words import plain
from logbook.runs.sheet_matching.reading import SECTION, WORKSHEET
from logbook.runs.sheet_matching.run_rows import RunRows, run_rows
from logbook.runs.sheet_matching.tables import FoundTable, find_tables

_YEAR = re.compile(r"(?<!\d)((?:19|20)\d{2})(?!\d)")
_MACHINE = re.compile(r"(?:m|mc|mach|machine|masch|maschine) ?\d+")
_SURE_OF_LINES = 0.9


@dataclass(frozen=True, slots=True, eq=False)
class Gathered:
    """The runs of a file as they stand.

    ``cells`` are text columns named by their place under ``headings``; ``numbers`` and ``sheets``
    say where each row stands. ``others`` are tables of another shape, which were not read.
    ``made`` says what columns that stand in no row mean.
    """

    table: FoundTable
    headings: tuple[str, ...]
    cells: pl.DataFrame
    numbers: pl.Series
    sheets: pl.Series
    made: Mapping[str, str]
    left_out: Mapping[str, int]
    others: tuple[FoundTable, ...]
    years: tuple[int, ...]


def gather(
    path: Path,
    grids: Sequence[Grid],
    words: HeadingWords,
    *,
    shapes: Sequence[tuple[str, ...]] = (),
) -> Gathered:
    """Find the table of runs in a file, and all the others like it.

    Parameters
    ----------
    path
        The file, for messages and for the year in its name.
    grids
        Its worksheets.
    words
        The spellings of headings.
    shapes
        Those of kept readings: a table of one of them goes before others.

    Raises
    ------
    NotARunSheet
        No row names columns of runs.
    """
    tables = [table for grid in grids for table in find_tables(grid, words)]
    if not tables:
        raise NotARunSheet(
            f"No row of {path.name} names the columns of runs, such as a date and a quantity.",
            "write a heading over each column, and try again",
        )
    main = max(tables, key=lambda table: (table.shape in shapes, _worth(table, words)))
    alike = [table for table in tables if table.shape == main.shape]
    others = tuple(table for table in tables if table.shape != main.shape)
    parts = [(table, _rows(table)) for table in alike]
    parts = [(table, rows) for table, rows in parts if rows.cells.height] or parts[:1]
    return _together(path, main, parts, others)


def gathered_rows(
    path: Path, table: FoundTable, cells: pl.DataFrame, numbers: pl.Series
) -> Gathered:
    """The runs among the rows of one table that were read already."""
    return _together(path, table, [(table, run_rows(cells, numbers, table.headings))], ())


def _together(
    path: Path,
    main: FoundTable,
    parts: Sequence[tuple[FoundTable, RunRows]],
    others: tuple[FoundTable, ...],
) -> Gathered:
    cells = pl.concat([rows.cells for _, rows in parts])
    numbers = pl.concat([rows.numbers for _, rows in parts])
    sheets = pl.Series(
        "sheet",
        [table.grid.name for table, rows in parts for _ in range(rows.cells.height)],
        dtype=pl.String,
    )
    left_out: dict[str, int] = {}
    for _, rows in parts:
        for sort, count in rows.left_out.items():
            left_out[sort] = left_out.get(sort, 0) + count
    headings, cells, made = _with_made(main.headings, cells, sheets, [rows for _, rows in parts])
    years = _years(path, parts)
    return Gathered(main, headings, cells, numbers, sheets, made, left_out, others, years)


def _worth(table: FoundTable, words: HeadingWords) -> float:
    known = sum(bool(m) and m[0].score >= 0.75 for m in map(words.meanings, table.headings))
    meant = {m[0].column for m in map(words.meanings, table.headings) if m}
    needed = ("finished_at" in meant) + bool(meant & {"pieces_sewn", "pieces_inspected"})
    return (known + 3 * needed) * math.log(2 + table.last_row - table.first_row)


def _rows(table: FoundTable) -> RunRows:
    width = len(table.headings)
    rows = [
        [*row[:width], *[""] * (width - len(row))]
        for row in table.grid.rows[table.first_row - 1 : table.last_row]
    ]
    numbers = pl.Series("row", range(table.first_row, table.first_row + len(rows)), dtype=pl.Int64)
    return run_rows(text_frame(rows, width), numbers, table.headings)


def _with_made(
    headings: tuple[str, ...], cells: pl.DataFrame, sheets: pl.Series, parts: Sequence[RunRows]
) -> tuple[tuple[str, ...], pl.DataFrame, dict[str, str]]:
    """Columns of what stands in no row: lines between, and names of worksheets."""
    made: dict[str, str] = {}
    lines = pl.concat(
        [
            rows.sections
            if rows.sections is not None
            else pl.Series("line", [""] * rows.cells.height, dtype=pl.String)
            for rows in parts
        ]
    )
    for heading, texts in ((SECTION, lines), (WORKSHEET, sheets.fill_null(""))):
        meaning = _made_meaning(texts)
        if meaning is not None:
            cells = cells.with_columns(texts.alias(str(len(headings))))
            headings = (*headings, heading)
            made[heading] = meaning
    return headings, cells, made


def _made_meaning(texts: pl.Series) -> str | None:
    said = [text for text in texts.unique() if text]
    if not said:
        return None
    dates = sum(take_apart(text) is not None for text in said)
    if dates >= _SURE_OF_LINES * len(said):
        return "finished_at"
    machines = sum(bool(_MACHINE.fullmatch(plain(text))) for text in said)
    return "machine" if machines >= _SURE_OF_LINES * len(said) else None


def _years(path: Path, parts: Sequence[tuple[FoundTable, RunRows]]) -> tuple[int, ...]:
    said = [path.stem, *(t for table, _ in parts for t in (*table.above, table.grid.name or ""))]
    return tuple(sorted({int(year) for text in said for year in _YEAR.findall(text)}))
