"""CSV files: found out, taken apart, every cell kept as text."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import polars as pl

from logbook.errors import NotARunSheet
from logbook.runs.intake.headings import heading_name, without_added
from logbook.runs.intake.table import Misshapen, Table, text_frame

DELIMITERS: tuple[str, ...] = (",", ";", "\t")
CHUNK_ROWS = 50_000
BYTE_ORDER_MARK = b"\xef\xbb\xbf"

SAVE_AS = "in the spreadsheet, save it as “CSV UTF-8”"
_HEADER_SEARCHED = 1_000_000
_LONGEST_CELL = 10_000_000
_END = "\x00"


def read_delimited(path: Path, data: bytes, known: Collection[str]) -> Table:
    """Take a CSV file apart.

    Parameters
    ----------
    path
        The file, for messages.
    data
        Its bytes: UTF-8, with or without a byte order mark.
    known
        Names of columns; the delimiter that finds most of them in the header is the file's.

    Raises
    ------
    NotARunSheet
        Not UTF-8, NUL bytes, no header, or a quotation mark that is never closed.
    """
    marked = data.startswith(BYTE_ORDER_MARK)
    body = data[len(BYTE_ORDER_MARK) :] if marked else data
    _refuse_other_encodings(path, data, body)
    head = body[:_HEADER_SEARCHED].decode("utf-8", "ignore")
    delimiter, headings = _header(path, head, known)
    table = read_rows(path, body, delimiter, headings)
    table = replace(table, byte_order_mark=marked)
    return replace(table, misshapen={**table.misshapen, **_swallowed(table)})


def read_rows(path: Path, body: bytes, delimiter: str, headings: Sequence[str]) -> Table:
    """Take UTF-8 text apart whose first record is this header, at once where every row fits it.

    Raises
    ------
    NotARunSheet
        A quotation mark is never closed.
    """
    return _fast(body, delimiter, headings) or _careful(path, body.decode(), delimiter, headings)


def _refuse_other_encodings(path: Path, data: bytes, body: bytes) -> None:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise NotARunSheet(f"{path.name} is written in UTF-16, not in UTF-8.", SAVE_AS)
    if b"\x00" in body:
        line = body.count(b"\n", 0, body.index(b"\x00")) + 1
        raise NotARunSheet(
            f"{path.name} is not a text file: there is a NUL byte in line {line}.",
            "give it the ending that it has in truth, or save it again as CSV",
        )
    try:
        if not body.isascii():
            body.decode("utf-8")
    except UnicodeDecodeError as cause:
        line = body.count(b"\n", 0, cause.start) + 1
        raise NotARunSheet(
            f"{path.name} is not written in UTF-8: line {line} has the byte "
            f"0x{body[cause.start]:02X} where none can be.",
            SAVE_AS,
        ) from cause


def _records(lines: Iterator[str], delimiter: str) -> Iterator[list[str]]:
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        yield from csv.reader(lines, delimiter=delimiter)
    finally:
        csv.field_size_limit(before)


def _header(path: Path, head: str, known: Collection[str]) -> tuple[str, list[str]]:
    best: tuple[int, str, list[str]] = (-1, ",", [])
    for delimiter in DELIMITERS:
        found = _first_record(head, delimiter)
        score = sum(heading_name(cell) in known for cell in found)
        if score > best[0]:
            best = (score, delimiter, found)
    if not best[2]:
        raise NotARunSheet(
            f"{path.name} is empty: it has no header.",
            "put the column names in the first row: finished_at, pieces_inspected, puckering …",
        )
    return best[1], best[2]


def _first_record(head: str, delimiter: str) -> list[str]:
    try:
        records = _records(iter(io.StringIO(head, newline="")), delimiter)
        return next((record for record in records if any(map(str.strip, record))), [])
    except csv.Error:
        return []


def _fast(body: bytes, delimiter: str, headings: Sequence[str]) -> Table | None:
    """The whole file at once, where every row surely fits; None where it has to be looked at."""
    body = body.rstrip(b"\r\n")
    bare = _without_quoted(body, delimiter) if b'"' in body else body
    rows = bare.count(b"\n") + 1
    fits = bare.count(delimiter.encode()) == rows * (len(headings) - 1)
    returns = bare.count(b"\r")
    if b'"' in bare or not fits or returns not in (0, rows - 1) or returns != bare.count(b"\r\n"):
        return None
    try:
        frame = pl.read_csv(body, has_header=False, infer_schema=False, separator=delimiter)
    except pl.exceptions.PolarsError:
        return None
    if frame.shape != (rows, len(headings)) or list(_texts(frame.row(0))) != list(headings):
        return None
    cells = frame[1:].rename({name: str(place) for place, name in enumerate(frame.columns)})
    return Table(
        headings=tuple(headings),
        cells=cells.with_columns(pl.all().fill_null("")),
        numbers=pl.Series("row", range(2, rows + 1), dtype=pl.Int64),
        delimiter=delimiter,
    )


def _texts(row: Sequence[str | None]) -> Iterator[str]:
    return (cell or "" for cell in row)


def _without_quoted(body: bytes, delimiter: str) -> bytes:
    # Quoted cells that begin after a delimiter and end before one. If a quotation mark is left
    # over, the file needs the careful reading. The look back stands after the mark, since a
    # pattern that begins with a plain character is searched for ten times faster.
    between = re.escape(delimiter.encode())
    begins, ends = rb'"(?<=[\n' + between + rb']")', rb'"(?=[\r\n' + between + rb"]|\Z)"
    quoted = re.compile(begins + rb'[^"]*+(?:""[^"]*+)*+' + ends)
    return quoted.sub(b"", b"\n" + body)[1:]


def _careful(path: Path, text: str, delimiter: str, headings: Sequence[str]) -> Table:
    """Row by row, keeping rows that do not fit the header apart."""
    width = len(headings)
    chunks: list[pl.DataFrame] = []
    rows: list[list[str]] = []
    numbers: list[int] = []
    misshapen: dict[int, Misshapen] = {}
    for number, record in _numbered(path, text, delimiter):
        fitted, fault = _fitted(record, headings)
        if fault:
            misshapen[number] = Misshapen(_own_cells(record, headings), fault)
        rows.append(fitted)
        numbers.append(number)
        if len(rows) == CHUNK_ROWS:
            chunks.append(text_frame(rows, width))
            rows = []
    chunks.append(text_frame(rows, width))
    return Table(
        headings=tuple(headings),
        cells=pl.concat(chunks, rechunk=True),
        numbers=pl.Series("row", numbers, dtype=pl.Int64),
        misshapen=misshapen,
        delimiter=delimiter,
    )


def _numbered(path: Path, text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Data records with their row numbers; blank ones are counted and left out."""
    # A line that no sheet can hold is added at the end: if it does not come out as a record of
    # its own, an open quotation mark has swallowed it.
    lines = io.StringIO(f"{text}\n{_END}", newline="")
    header_seen = False
    number = opened = 0
    try:
        for number, record in enumerate(_records(iter(lines), delimiter), start=1):
            if record == [_END]:
                return
            opened = number
            if not any(map(str.strip, record)):
                continue
            if header_seen and _END not in record[-1]:
                yield number, record
            header_seen = True
    except csv.Error as cause:
        raise NotARunSheet(
            f"{path.name} cannot be taken apart after row {number}: {cause}.", SAVE_AS
        ) from cause
    raise NotARunSheet(
        f"{path.name} cannot be taken apart: row {opened} opens a quotation mark that is never "
        "closed.",
        "close it, or delete it; a quotation mark inside a quoted cell is written twice",
    )


def _fitted(record: list[str], headings: Sequence[str]) -> tuple[list[str], str | None]:
    width = len(headings)
    surplus = len(record) - width
    if surplus > 0 and any(map(str.strip, record[width:])):
        cells = "1 cell" if surplus == 1 else f"{surplus} cells"
        return record[:width], (
            f"the row has {cells} more than the header: a delimiter too many, or a decimal comma "
            "or text that needs quotation marks round it"
        )
    if surplus < 0:
        cells = "1 cell" if surplus == -1 else f"{-surplus} cells"
        return record + [""] * -surplus, (
            f"the row has {cells} fewer than the header: put the delimiters back, with nothing "
            "between them where nothing was recorded"
        )
    return record[:width], None


def _own_cells(record: Sequence[str], headings: Sequence[str]) -> tuple[str, ...]:
    """The cells without those that a rejects file added at the end."""
    added = len(headings) - len(without_added(headings))
    return tuple(record[: len(record) - added])


def _swallowed(table: Table) -> dict[int, Misshapen]:
    """Rows of which a cell holds the beginning of another row: a quotation mark was left open."""
    names = [heading_name(heading) for heading in table.headings]
    if "finished_at" not in names or table.delimiter is None:
        return {}
    between = re.escape(table.delimiter)
    before = rf"(?:[^\n{between}]*{between}){{{names.index('finished_at')}}}"
    row_begins = rf'\n{before}"?\d{{4}}-\d{{2}}-\d{{2}}[^\n]*{between}'
    found = table.cells.with_columns(table.numbers.alias("number")).filter(
        pl.any_horizontal(
            pl.col(name).str.contains(row_begins) for name in _with_line_breaks(table.cells)
        )
    )
    return {
        row[-1]: Misshapen(
            _own_cells(row[:-1], table.headings),
            "a cell of this row holds the rows that follow it: a quotation mark is not closed",
        )
        for row in found.iter_rows()
    }


def _with_line_breaks(cells: pl.DataFrame) -> list[str]:
    broken = cells.select(pl.all().str.contains("\n", literal=True).any())
    names = [name for name in cells.columns if broken[name].item()]
    return names or cells.columns[:1]
