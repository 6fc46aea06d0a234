"""A strange sheet as the strict intake takes it: its rows as they stand, and under known names."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import polars as pl

from logbook.errors import NotARunSheet
from logbook.runs.content import MADE_PREFIX
from logbook.runs.intake.delimited import read_rows
from logbook.runs.intake.headings import without_added
from logbook.runs.intake.sheet import RawSheet
from logbook.runs.sheet_matching.applying import prepared
from logbook.runs.sheet_matching.dates import judge, said
from logbook.runs.sheet_matching.doubts import kinds_named
from logbook.runs.sheet_matching.gathering import Gathered, gather, gathered_rows
from logbook.runs.sheet_matching.grids import (
    Grid,
    decoded,
    is_workbook,
    open_grids,
    records,
    sniffed,
)
from logbook.runs.sheet_matching.heading_words import heading_words
from logbook.runs.sheet_matching.reading import SheetReading
from logbook.runs.sheet_matching.tables import FoundTable, shape_of
from logbook.vocabulary.own_columns import Own

LARGE = 2_000_000
"""Bytes of text from which on its rows are not looked at one by one."""
SEARCHED_LINES = 200


def raw_sheet(
    path: Path,
    gathered: Gathered,
    reading: SheetReading,
    cells: pl.DataFrame,
    *,
    notes: Sequence[str] = (),
    read_as: str | None = None,
) -> RawSheet:
    """The sheet for the strict intake.

    ``cells`` are the prepared ones. Rows without a reference of their own get one from what they
    say, so that another reading of the same row makes no second run of it.
    """
    names = tuple(column.means for column in reading.columns)
    several = gathered.sheets.n_unique() > 1
    return RawSheet(
        path=path,
        headings=gathered.headings,
        names=names,
        cells=gathered.cells,
        numbers=gathered.numbers,
        worksheet=None,
        delimiter=gathered.table.grid.delimiter,
        notes=tuple(notes),
        prepared=_with_references(cells, gathered, reading),
        worksheets=gathered.sheets if several else None,
        read_as=read_as,
    )


def open_by_reading(
    path: Path,
    data: bytes,
    readings: Mapping[str, SheetReading],
    *,
    now: datetime,
    sheet: str | None = None,
    own: Sequence[Own] = (),
    suppliers: Sequence[str] = (),
) -> RawSheet | None:
    """Open a sheet by the kept reading of its shape; None where no reading is of its shape.

    Raises
    ------
    NotARunSheet
        Its dates are written otherwise than those that the reading is of.
    """
    shapes = {reading.shape: name for name, reading in readings.items()}
    gathered = _gathered(path, data, tuple(shapes), sheet, own)
    if gathered is None:
        return None
    name = shapes[gathered.table.shape]
    reading = _with_made_columns(readings[name], gathered)
    _refuse_other_dates(path, gathered, reading, name, now)
    named = kinds_named(gathered, reading, own)
    reading = replace(reading, kinds=tuple(dict.fromkeys((*reading.kinds, *named))))
    done = prepared(gathered.cells, reading, own=own, suppliers=suppliers)
    told = [
        f"{each.column}: “{each.text[:40]}” ({each.rows} rows) was not understood: see the notes"
        for each in done.not_understood[:5]
    ]
    notes = (f"read as {name}", *done.notes, *told)
    return raw_sheet(path, gathered, reading, done.cells, notes=notes, read_as=name)


def _gathered(
    path: Path,
    data: bytes,
    shapes: Sequence[tuple[str, ...]],
    sheet: str | None,
    own: Sequence[Own],
) -> Gathered | None:
    if data.startswith(b"PAR1"):
        return None
    if not is_workbook(data):
        try:
            found = _large_text(path, data, shapes)
        except (NotARunSheet, csv.Error):
            return None
        if found is not None:
            return found
        if len(data) > LARGE:
            return None
    try:
        grids = open_grids(path, data, sheet=sheet)
        gathered = gather(path, grids, heading_words(tuple(own)), shapes=shapes)
    except NotARunSheet:
        return None
    return gathered if gathered.table.shape in shapes else None


def _large_text(path: Path, data: bytes, shapes: Sequence[tuple[str, ...]]) -> Gathered | None:
    """A text with a heading in one row, its columns read at once."""
    text, _ = decoded(path, data)
    head = text[:LARGE].splitlines(keepends=True)[:SEARCHED_LINES]
    delimiter = sniffed("".join(head))
    if delimiter is None:
        return None
    passed = 0
    for number, line in enumerate(head, start=1):
        [cells] = list(records(line.rstrip("\r\n"), delimiter)) or [[]]
        if shape_of(without_added(cells)) in shapes and cells:
            table = read_rows(path, text[passed:].encode(), delimiter, cells)
            if table.misshapen:
                return None
            headings = tuple(" ".join(each.split()) for each in without_added(cells))
            grid = Grid(None, (), delimiter=delimiter)
            first = number + 1
            found = FoundTable(grid, headings, number, 1, first, number + table.cells.height)
            frame = table.cells.select(str(place) for place in range(len(headings)))
            return gathered_rows(path, found, frame, table.numbers + (number - 1))
        passed += len(line)
    return None


def _with_made_columns(reading: SheetReading, gathered: Gathered) -> SheetReading:
    """The reading's columns in the order of the sheet's, with those that stand in no row."""
    by_heading = {column.heading: column for column in reading.columns}
    own = reading.columns[: len(gathered.table.headings)]
    made = [by_heading.get(heading) for heading in gathered.headings[len(own) :]]
    return replace(reading, columns=(*own, *(column for column in made if column is not None)))


def _refuse_other_dates(
    path: Path, gathered: Gathered, reading: SheetReading, name: str, now: datetime
) -> None:
    places = reading.places("finished_at")
    if not places:
        return
    texts = gathered.cells[str(places[0])].unique(maintain_order=True).to_list()
    judged = judge(texts, now=now, year=reading.year)
    others = {order: count for order, count in judged.only.items() if order != reading.date_order}
    if any(others.values()) and not judged.only[reading.date_order]:
        order = max(others, key=lambda each: others[each])
        raise NotARunSheet(
            f"{path.name} has dates that can only be {said(order)}, and sheets like it are read "
            f"{said(reading.date_order)} ({name}).",
            "look at its dates, then say how it is read: logbook match FILE",
        )


def _with_references(
    cells: pl.DataFrame, gathered: Gathered, reading: SheetReading
) -> pl.DataFrame:
    there = cells["run_ref"] if "run_ref" in cells.columns else None
    if there is not None and there.null_count() == 0 and (there != "").all():
        return cells
    frame = gathered.cells
    if reading.fill_dates and (places := reading.places("finished_at")):
        date = pl.col(str(places[0]))
        frame = frame.with_columns(pl.when(date != "").then(date).forward_fill().fill_null(""))
    said_by = [
        pl.when(pl.col(str(place)) != "").then(
            pl.concat_str(pl.lit(f"{heading}="), pl.col(str(place)), pl.lit("\x1f"))
        )
        for place, heading in enumerate(gathered.headings)
    ]
    texts = frame.select(pl.concat_str(said_by, ignore_nulls=True).alias("row"))["row"]
    marks = [hashlib.blake2b(text.encode(), digest_size=10).hexdigest() for text in texts]
    made = pl.DataFrame({"mark": marks}).select(
        pl.concat_str(
            pl.lit(MADE_PREFIX),
            "mark",
            pl.when(pl.col("mark").cum_count().over("mark") > 1)
            .then(
                pl.concat_str(pl.lit("-"), pl.col("mark").cum_count().over("mark").cast(pl.String))
            )
            .otherwise(pl.lit("")),
        ).alias("run_ref")
    )["run_ref"]
    if there is not None:
        made = pl.select(pl.coalesce(there.set(there == "", None), made).alias("run_ref"))[
            "run_ref"
        ]
    return cells.with_columns(made)
