"""A table as a file holds it: headings and text cells, nothing understood yet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import polars as pl

from logbook.errors import NotARunSheet


@dataclass(frozen=True, slots=True)
class Misshapen:
    """A row that does not fit the header: its cells as found, and what is wrong with it."""

    cells: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """One table of one file.

    Parameters
    ----------
    headings
        The header's cells as written.
    cells
        Text columns named by their place (``"0"``, ``"1"`` …); an empty cell is ``""``.
    numbers
        The row numbers that a spreadsheet shows, one for each row of ``cells``.
    misshapen
        Row numbers of rows that do not fit the header.
    worksheet
        Of a workbook, where it is not its first one.
    delimiter
        Of a CSV file; None where the file itself tells cells and decimals apart.
    byte_order_mark
        Whether the file began with one.
    notes
        What of the file is not in the table.
    """

    headings: tuple[str, ...]
    cells: pl.DataFrame
    numbers: pl.Series
    misshapen: Mapping[int, Misshapen] = field(default_factory=dict)
    worksheet: str | None = None
    delimiter: str | None = None
    byte_order_mark: bool = False
    notes: tuple[str, ...] = ()


def text_frame(rows: Sequence[Sequence[str]], width: int) -> pl.DataFrame:
    """Rows of text as a frame of columns named by their place."""
    schema = {str(place): pl.String() for place in range(width)}
    columns = list(zip(*rows, strict=True)) if rows else [()] * width
    return pl.DataFrame(dict(zip(schema, columns, strict=True)), schema=schema)


def plain_text(value: object) -> str:
    """One value of a spreadsheet, form or request as the text that a CSV file would hold.

    Raises
    ------
    TypeError
        The value is a list, a mapping or something else that no cell can hold.
    """
    if value is None:
        return ""
    if isinstance(value, str):
        # A lone surrogate can come in a request, but no file and no database can hold it.
        return value.encode("utf-8", "replace").decode("utf-8")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, int | date | Decimal):
        return str(value)
    raise TypeError(f"a {type(value).__name__} is neither a text nor a number")


@contextmanager
def readable(path: Path, what: str, hint: str) -> Iterator[None]:
    """Turn whatever a reading library says of a file into one error of our own."""
    try:
        yield
    except NotARunSheet:
        raise
    except BaseException as cause:
        # The libraries written in Rust panic on some damaged files, and a panic is no Exception.
        if isinstance(cause, Exception) or type(cause).__name__ == "PanicException":
            raise NotARunSheet(
                f"{path.name} cannot be read as {what}: it is damaged.", hint
            ) from cause
        raise
