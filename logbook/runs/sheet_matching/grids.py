"""Any file of rows as grids of text: workbooks old and new, delimited, fixed-width, pasted."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from python_calamine import CalamineWorkbook, PasswordError

from logbook.errors import NotARunSheet
from logbook.runs.intake.table import plain_text, readable
from logbook.runs.intake.workbook import refuse_bombs

DELIMITERS = ("\t", ";", ",", "|")
TYPED_ENDINGS = frozenset((".xlsx", ".xlsm", ".xls", ".ods", ".xlsb"))
SAVE_AS = "open it in the spreadsheet and save it again as .xlsx, or as “CSV UTF-8”"
LONGEST_CELL = 10_000_000
MOST_REPEATED = 1_100_000
_SNIFFED = 200
SPARSE = 0.3
_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_REPEATED = re.compile(rb"number-(?:rows|columns)-repeated=\"(\d+)\"")
MOST_UNPACKED = 1_000_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """The cells of one worksheet or text file as they stand, row 1 first.

    ``typed``: the file itself told dates and numbers from text. ``delimiter`` is of a text file.
    """

    name: str | None
    rows: Sequence[Sequence[str]]
    typed: bool = False
    delimiter: str | None = None
    notes: tuple[str, ...] = ()


def is_workbook(data: bytes) -> bool:
    """Whether bytes are a workbook of any kind."""
    return data.startswith((b"PK\x03\x04", _OLD))


def open_grids(path: Path, data: bytes, *, sheet: str | None = None) -> tuple[Grid, ...]:
    """Every worksheet of a workbook, or the one grid of a text file.

    Raises
    ------
    NotARunSheet
        Locked, damaged or no text; no bytes whatever raise anything else.
    """
    if data.startswith(b"PAR1"):
        raise NotARunSheet(
            f"{path.name} is a Parquet file, whose columns cannot be matched.",
            "give its columns the names of a run sheet, and import it",
        )
    if is_workbook(data):
        return _worksheets(path, data, sheet)
    text, notes = decoded(path, data)
    return (text_grid(path, text, notes=notes),)


def _worksheets(path: Path, data: bytes, sheet: str | None) -> tuple[Grid, ...]:
    with readable(path, "a workbook", SAVE_AS):
        if data.startswith(b"PK"):
            _refuse_large(path, data)
        try:
            book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        except PasswordError as cause:
            raise NotARunSheet(
                f"{path.name} is locked by a password.", "save it without one"
            ) from cause
        names = [sheet] if sheet else book.sheet_names
        if sheet and sheet not in book.sheet_names:
            there = ", ".join(book.sheet_names)
            raise NotARunSheet(
                f"{path.name} has no worksheet '{sheet}'.", f"its worksheets are: {there}"
            )
        return tuple(
            Grid(name, _texts(book.get_sheet_by_name(name).to_python(skip_empty_area=False)), True)
            for name in names
        )


def _refuse_large(path: Path, data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if "content.xml" not in archive.namelist():
            refuse_bombs(path, data)
            return
        size = sum(part.file_size for part in archive.infolist())
        content = archive.read("content.xml") if size <= MOST_UNPACKED else b""
    repeated = max((int(each) for each in _REPEATED.findall(content)), default=0)
    if size > MOST_UNPACKED or repeated > MOST_REPEATED:
        raise NotARunSheet(
            f"{path.name} would unpack to more rows than a worksheet has.",
            "delete the empty rows below the sheet and save it, or save it as “CSV UTF-8”",
        )


def _texts(rows: Sequence[Sequence[object]]) -> list[list[str]]:
    return [[cell_text(value) for value in row] for row in rows]


def cell_text(value: object) -> str:
    """One value of a workbook as text: dates as ISO, times as ``14:30:00``."""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, dt.datetime):
        return (
            value.date() if value.time() == dt.time() else value.replace(microsecond=0)
        ).isoformat()
    if isinstance(value, dt.timedelta):
        seconds = round(value.total_seconds())
        return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
    if isinstance(value, dt.time):
        return value.replace(microsecond=0).isoformat()
    return plain_text(value)


def decoded(path: Path, data: bytes) -> tuple[str, tuple[str, ...]]:
    """The text of a file: UTF-8, UTF-16 by its mark, else as older spreadsheets write it."""
    notes: tuple[str, ...] = ()
    try:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            return data.decode("utf-16"), ()
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", "replace")
        notes = ("the file is not in UTF-8 and was read as Western European (Windows-1252)",)
    if "\x00" in text:
        raise NotARunSheet(f"{path.name} is not a text file: there is a NUL byte in it.", SAVE_AS)
    return text, notes


def text_grid(path: Path, text: str, *, notes: tuple[str, ...] = ()) -> Grid:
    """Delimited, tabbed or fixed-width text as a grid."""
    delimiter = sniffed(text)
    if delimiter is None:
        rows = _fixed_width(text.splitlines())
        return Grid(None, rows, notes=notes)
    with readable(path, "delimited text", SAVE_AS):
        rows = [[cell.strip() for cell in record] for record in records(text, delimiter)]
    return Grid(None, rows, delimiter=delimiter, notes=notes)


def records(text: str, delimiter: str) -> Iterator[list[str]]:
    """The records of delimited text."""
    before = csv.field_size_limit(LONGEST_CELL)
    try:
        yield from csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    finally:
        csv.field_size_limit(before)


def sniffed(text: str) -> str | None:
    """The delimiter under which most rows have the same number of cells; None where none parts."""
    head = "\n".join(text[:400_000].splitlines()[:_SNIFFED])
    best: tuple[float, str | None] = (0.0, None)
    apart = [len(re.findall(r"\S {2,}(?=\S)", line)) for line in head.splitlines() if line.strip()]
    spaced = Counter(gaps for gaps in apart if gaps >= 2)
    for delimiter in DELIMITERS:
        try:
            widths = [len(record) for record in records(head, delimiter) if any(record)]
        except csv.Error:
            continue
        parted = Counter(width for width in widths if width > 1)
        if not parted:
            continue
        width, rows = parted.most_common(1)[0]
        # Numbers such as 7,450 part the rows of a fixed-width text too, but less often.
        if sum(spaced.values()) * 2 > len(apart) and max(spaced) >= width:
            continue
        # A text that is parted in most rows alike; more cells break a tie.
        score = rows / len(widths) + min(width, 30) / 300
        if rows / len(widths) >= 0.4 and score > best[0]:
            best = (score, delimiter)
    return best[1]


def _fixed_width(lines: Sequence[str]) -> list[list[str]]:
    """Columns parted by places that are blank in every row of the table."""
    spread = [line.expandtabs() for line in lines]
    rows = [line for line in spread if len(re.findall(r"\S {2,}\S", line)) >= 2]
    if not rows:
        return [[line.strip()] for line in spread]
    width = max(map(len, rows))
    blank = [
        all(len(line) <= place or line[place] == " " for line in rows) for place in range(width)
    ]
    begun = [
        place for place in range(width) if not blank[place] and (place == 0 or blank[place - 1])
    ]
    # One blank place may be a space between words; what few rows have text behind is no column.
    starts = [
        start
        for start, end in zip(begun, [*begun[1:], width], strict=True)
        if all(blank[max(0, start - 2) : start])
        or sum(bool(line[start:end].strip()) for line in rows) >= SPARSE * len(rows)
    ]
    ends = [*starts[1:], width]
    return [
        [line[start:end].strip() for start, end in zip(starts, ends, strict=True)]
        if line in rows
        else [line.strip()]
        for line in spread
    ]
