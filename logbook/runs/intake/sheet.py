"""Open a run sheet: whatever kind of file it is, its rows as text under understood headings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import polars as pl

from logbook.errors import NotARunSheet
from logbook.runs.columns import EXPOSURES
from logbook.runs.intake.columnar import read_columnar
from logbook.runs.intake.delimited import read_delimited
from logbook.runs.intake.headings import (
    Understood,
    known_names,
    understand,
    without_added,
)
from logbook.runs.intake.table import Misshapen, Table
from logbook.runs.intake.workbook import read_workbook
from logbook.vocabulary.own_columns import Own

ENDINGS: Mapping[str, str] = {
    ".csv": "delimited",
    ".tsv": "delimited",
    ".txt": "delimited",
    ".xlsx": "workbook",
    ".xlsm": "workbook",
    ".parquet": "columnar",
}


@dataclass(frozen=True, slots=True, eq=False)
class RawSheet:
    """The rows of one run sheet, as text, unchanged.

    Parameters
    ----------
    path
        Where it came from.
    headings
        The header as found, without the columns that a rejects file adds.
    names
        For each heading the column it means; None where the column is ignored.
    cells
        Text columns named by their place (``"0"``, ``"1"`` …); an empty cell is ``""``.
    numbers
        The row numbers that a spreadsheet shows (the header is row 1).
    misshapen
        Positions (rows of ``cells``) that do not fit the header.
    worksheet
        Of a workbook, where it is not its first one.
    delimiter
        Of a CSV file, else None.
    byte_order_mark
        Whether a CSV file began with one.
    notes
        What the user should know of the sheet as a whole.
    prepared
        Of a sheet that is read by a kept reading: its rows under the run sheet's names.
    worksheets
        Of such a sheet the worksheet of each row, where it has several.
    read_as
        The name of the kept reading.
    """

    path: Path
    headings: tuple[str, ...]
    names: tuple[str | None, ...]
    cells: pl.DataFrame
    numbers: pl.Series
    misshapen: Mapping[int, Misshapen] = field(default_factory=dict)
    worksheet: str | None = None
    delimiter: str | None = None
    byte_order_mark: bool = False
    notes: tuple[str, ...] = ()
    prepared: pl.DataFrame | None = None
    worksheets: pl.Series | None = None
    read_as: str | None = None

    @property
    def rows(self) -> int:
        """How many rows of data there are, wholly empty ones not counted."""
        return self.cells.height

    @property
    def dot_is_decimal(self) -> bool:
        """Whether a dot can only be a decimal mark here (elsewhere it may part thousands)."""
        return self.prepared is not None or self.delimiter in (None, ",")

    @property
    def guarded(self) -> bool:
        """Whether an apostrophe may guard text that begins like a formula; never in Parquet."""
        columnar = ENDINGS.get(self.path.suffix.lower()) == "columnar"
        return not columnar and self.prepared is None

    @property
    def named(self) -> pl.DataFrame:
        """The cells under the run sheet's names, without the columns that are ignored."""
        if self.prepared is not None:
            return self.prepared
        known = {str(place): name for place, name in enumerate(self.names) if name}
        return self.cells.select(pl.col(place).alias(name) for place, name in known.items())

    def place_of(self, position: int) -> str:
        """How a message calls a row of ``cells``."""
        worksheet = None if self.worksheets is None else self.worksheets[position]
        where = "this sheet" if worksheet is None else f"worksheet '{worksheet}'"
        return f"row {self.numbers[position]} of {where}"


def open_sheet(path: Path, *, sheet: str | None = None, own: Sequence[Own] = ()) -> RawSheet:
    """Open a CSV, XLSX or Parquet file as a run sheet.

    Parameters
    ----------
    path
        The file; its ending says what it is.
    sheet
        The worksheet of an XLSX file; the first one where None.
    own
        Columns and defect kinds that the shop has added: their columns are understood too.

    Raises
    ------
    NotARunSheet
        The file is not there, not readable, or not a run sheet; one message says why and what
        to do. No bytes whatever raise anything else.
    """
    kind = ENDINGS.get(path.suffix.lower())
    if kind is None and path.is_file():
        raise NotARunSheet(
            f"{path.name} is not a kind of file that can be imported.",
            f"its name must end in one of: {', '.join(ENDINGS)}",
        )
    data = bytes_of(path)
    known = known_names(own)
    if kind == "workbook":
        table = read_workbook(path, data, sheet)
    elif kind == "columnar":
        table = read_columnar(path, data, known)
    else:
        _refuse_misnamed(path, data)
        table = read_delimited(path, data, known)
    headings = without_added(table.headings)
    understood = understand(headings, file=path.name, own=own)
    return _raw(path, table, understood)


def bytes_of(path: Path) -> bytes:
    """Read a file whole; what cannot be read is said in one message."""
    try:
        data = path.read_bytes()
    except FileNotFoundError as cause:
        raise NotARunSheet(f"There is no file {path}.", "check the name and the folder") from cause
    except IsADirectoryError as cause:
        raise NotARunSheet(
            f"{path} is a folder, not a run sheet.", "name the files in it, such as *.csv"
        ) from cause
    except (OSError, ValueError) as cause:
        raise NotARunSheet(
            f"{path} cannot be read: {cause}.", "check that you may read it"
        ) from cause
    if not data.strip(b"\xef\xbb\xbf \t\r\n"):
        raise NotARunSheet(
            f"{path.name} is empty.", "save the sheet again, with the column names in the first row"
        )
    return data


def _refuse_misnamed(path: Path, data: bytes) -> None:
    truth = {b"PK\x03\x04": ".xlsx", b"PAR1": ".parquet"}.get(data[:4])
    if truth:
        raise NotARunSheet(
            f"{path.name} is not a text file, whatever its name says: it looks like {truth}.",
            f"rename it so that it ends in {truth}",
        )


def _raw(path: Path, table: Table, understood: Understood) -> RawSheet:
    names, notes = understood.names, (*table.notes, *understood.notes)
    kept = range(len(names))
    filled = _filled(table, kept, names) | table.numbers.is_in(list(table.misshapen))
    cells = table.cells.filter(filled).select(str(place) for place in kept)
    numbers = table.numbers.filter(filled)
    places = {number: place for place, number in enumerate(numbers)} if table.misshapen else {}
    unnamed = [place for place in kept if not table.headings[place].strip()]
    if any(table.cells[str(place)].str.strip_chars().ne("").any() for place in unnamed):
        notes = (*notes, "a column without a heading was ignored")
    if not cells.height:
        notes = (*notes, "the sheet has a header and no rows")
    return RawSheet(
        path=path,
        headings=table.headings[: len(names)],
        names=names,
        cells=cells,
        numbers=numbers,
        misshapen={places[number]: fault for number, fault in table.misshapen.items()},
        worksheet=table.worksheet,
        delimiter=table.delimiter,
        byte_order_mark=table.byte_order_mark,
        notes=notes,
    )


def _filled(table: Table, kept: Sequence[int], names: Sequence[str | None]) -> pl.Series:
    """Which rows hold anything; few rows lack all the needed cells, so only those are searched."""
    needed = {"finished_at", *EXPOSURES}
    first = [str(place) for place in kept if names[place] in needed]
    everything = [str(place) for place in kept]
    hollow = table.cells.select(pl.all_horizontal(_blank(first)).alias("hollow"))["hollow"]
    if not hollow.any():
        return ~hollow
    inside = table.cells.filter(hollow).select(~pl.all_horizontal(_blank(everything)))
    filled = ~hollow
    return filled.scatter(hollow.arg_true(), inside.to_series())


def _blank(names: Sequence[str]) -> list[pl.Expr]:
    return [pl.col(name).str.strip_chars() == "" for name in names]
