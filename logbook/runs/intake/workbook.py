"""XLSX files: one worksheet, every cell as the text that a CSV file would hold."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import IO

import polars as pl
from python_calamine import CalamineWorkbook, PasswordError

from logbook.errors import NotARunSheet
from logbook.runs.intake.table import Table, plain_text, readable, text_frame

SAVE_AS = "open it in the spreadsheet and save it again as .xlsx, or as “CSV UTF-8”"
MOST_BYTES = 4_000_000_000
"""More than a full worksheet unpacks to; a small file that says so was made to do harm."""
MOST_CELLS = 120_000_000
"""A full worksheet's rows with twice the run sheet's columns."""
_OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_USUAL_WIDTH = 52
_PIECE = 4_000_000
_LONGEST_REFERENCE = 64


def read_workbook(path: Path, data: bytes, sheet: str | None) -> Table:
    """Read one worksheet.

    Parameters
    ----------
    path
        The file, for messages.
    data
        Its bytes.
    sheet
        The worksheet's name; the first one where None.

    Raises
    ------
    NotARunSheet
        Locked by a password, damaged, no such worksheet, or no header in it.
    """
    if data.startswith(_OLD_OR_LOCKED):
        raise NotARunSheet(
            f"{path.name} is locked by a password, or is an old .xls file.",
            "save it as .xlsx without a password",
        )
    with readable(path, "an XLSX workbook", SAVE_AS):
        refuse_bombs(path, data)
        try:
            book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        except PasswordError as cause:
            raise NotARunSheet(
                f"{path.name} is locked by a password.", "save it without one"
            ) from cause
        chosen = _chosen(path, book.sheet_names, sheet)
        rows = book.get_sheet_by_name(chosen).to_python(skip_empty_area=False)
        table = replace(_table(path, rows), notes=_not_read(book, chosen) if sheet is None else ())
        return table if chosen == book.sheet_names[0] else replace(table, worksheet=chosen)


def _not_read(book: CalamineWorkbook, chosen: str) -> tuple[str, ...]:
    """That other worksheets have rows, which were passed over."""
    others = [name for name in book.sheet_names if name != chosen]
    filled = [name for name in others if book.get_sheet_by_name(name).height > 1]
    if not filled:
        return ()
    names = ", ".join(f"'{name}'" for name in filled)
    verb = "worksheet was" if len(filled) == 1 else "worksheets were"
    return (f"the {verb} not read: {names}; import with --sheet NAME",)


def _chosen(path: Path, there: Sequence[str], sheet: str | None) -> str:
    if not there:
        raise NotARunSheet(f"{path.name} has no worksheet.", SAVE_AS)
    if sheet is None:
        return there[0]
    if sheet not in there:
        raise NotARunSheet(
            f"{path.name} has no worksheet '{sheet}'.", f"its worksheets are: {', '.join(there)}"
        )
    return sheet


def _table(path: Path, rows: Sequence[Sequence[object]]) -> Table:
    texts = ([_cell(value) for value in row] for row in rows)
    filled = [
        (number, row) for number, row in enumerate(texts, start=1) if any(map(str.strip, row))
    ]
    if not filled:
        raise NotARunSheet(
            f"{path.name} is empty: the worksheet has no header.",
            "put the column names in the first row, or name the worksheet with --sheet",
        )
    headings = filled[0][1]
    return Table(
        headings=tuple(headings),
        cells=text_frame([row for _, row in filled[1:]], len(headings)),
        numbers=pl.Series("row", [number for number, _ in filled[1:]], dtype=pl.Int64),
    )


def _cell(value: object) -> str:
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        return value.date().isoformat()
    if isinstance(value, dt.time | dt.timedelta):
        return str(value)
    return plain_text(value)


def refuse_bombs(path: Path, data: bytes) -> None:
    """Refuse what would fill the memory: the reader keeps every cell up to the furthest one."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = archive.infolist()
        if sum(part.file_size for part in parts) > MOST_BYTES:
            raise NotARunSheet(
                f"{path.name} would unpack to more than {MOST_BYTES // 10**9} GB.",
                "split it into several files, or save it as “CSV UTF-8”",
            )
        for part in parts:
            if part.filename.startswith("xl/worksheets/") and part.filename.endswith(".xml"):
                with archive.open(part) as stream:
                    _refuse_far_cells(path, stream)


def _refuse_far_cells(path: Path, stream: IO[bytes]) -> None:
    rows, width, kept = 1, _USUAL_WIDTH, b""
    while piece := stream.read(_PIECE):
        text = kept + piece
        rows = max([rows, *map(int, re.findall(rb'<row [^>]*?\br="(\d+)"', text))])
        for letters, row in re.findall(rb'\br="([B-Z][A-Z]|[A-Z]{3,})(\d+)"', text):
            rows, width = max(rows, int(row)), max(width, _place(letters))
        far = re.search(rb'\br="[A-Z]+(?:[2-9]\d{6}|\d{8,})"', text)
        if far or rows * width > MOST_CELLS:
            raise NotARunSheet(
                f"{path.name} has a cell far from the others, at the very end of a worksheet.",
                "delete the empty rows below and the empty columns beside the sheet, and save it",
            )
        kept = text[-_LONGEST_REFERENCE:]


def _place(letters: bytes) -> int:
    place = 0
    for letter in letters[:4]:
        place = place * 26 + letter - 64
    return place
