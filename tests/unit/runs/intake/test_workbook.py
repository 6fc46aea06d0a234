"""XLSX files: typed cells as text, worksheets by name, and workbooks made to do harm."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from logbook.errors import NotARunSheet
from logbook.runs.intake.workbook import read_workbook

PATH = Path("october.xlsx")
HEADER = ["finished_at", "pieces_sewn", "gaps"]


def workbook(sheets: dict[str, list[list[Any]]]) -> bytes:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        moment = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for place, row in enumerate(rows):
                for column, value in enumerate(row):
                    if isinstance(value, date | timedelta):
                        sheet.write_datetime(place, column, value, moment)
                    elif value is not None:
                        sheet.write(place, column, value)
    return out.getvalue()


def refusal(data: bytes, sheet: str | None = None) -> NotARunSheet:
    with pytest.raises(NotARunSheet) as caught:
        read_workbook(PATH, data, sheet)
    return caught.value


def changed(data: bytes, change: Any) -> bytes:
    """The workbook with the text of its worksheet changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, change(part) if name.startswith("xl/worksheets/sheet") else part)
    return out.getvalue()


def test_every_kind_of_cell_becomes_text() -> None:
    row = [datetime(2026, 10, 5, 14, 30), 24.0, True, 2.5, "  text ", None, date(2026, 1, 2)]
    table = read_workbook(PATH, workbook({"A": [[f"h{i}" for i in range(7)], row]}), None)
    assert table.cells.rows() == [
        ("2026-10-05T14:30:00", "24", "true", "2.5", "  text ", "", "2026-01-02")
    ]
    assert table.delimiter is None


def test_a_length_of_time_is_text_too() -> None:
    rows = [["finished_at", "run_minutes"], ["2026-10-05", timedelta(hours=1)]]
    table = read_workbook(PATH, workbook({"A": rows}), None)
    assert ":" in table.cells["1"].item()


def test_row_numbers_are_those_of_the_spreadsheet() -> None:
    rows: list[list[Any]] = [[], [], HEADER, ["2026-10-05", 24, 1], [], ["2026-10-06", 12, 0]]
    table = read_workbook(PATH, workbook({"A": rows}), None)
    assert table.headings == tuple(HEADER)
    assert table.numbers.to_list() == [4, 6]


def test_the_first_worksheet_or_the_one_named() -> None:
    data = workbook({"May": [HEADER, ["2026-05-01", 1, 0]], "June": [HEADER, ["2026-06-01", 2, 0]]})
    assert read_workbook(PATH, data, None).cells["1"].item() == "1"
    assert read_workbook(PATH, data, "June").cells["1"].item() == "2"
    error = refusal(data, "July")
    assert "no worksheet 'July'" in error.message
    assert error.hint == "its worksheets are: May, June"


def test_an_empty_worksheet_has_no_header() -> None:
    assert "no header" in refusal(workbook({"A": []})).message


@pytest.mark.parametrize(
    "data", [b"PK\x03\x04 and no more", b"not a workbook", workbook({"A": [HEADER]})[:1200]]
)
def test_a_damaged_file_is_refused(data: bytes) -> None:
    assert "damaged" in refusal(data).message


def test_a_zip_that_is_no_workbook_is_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("readme.txt", "hello")
    assert "damaged" in refusal(out.getvalue()).message


def test_a_locked_or_old_workbook_is_told_apart() -> None:
    assert "password" in refusal(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)).message


@pytest.mark.parametrize("reference", [b"XFD1048576", b"B9999999", b"C123456789012"])
def test_a_cell_at_the_end_of_the_world_does_not_fill_the_memory(reference: bytes) -> None:
    data = workbook({"A": [HEADER, ["2026-10-05", 24, 1]]})
    far = changed(data, lambda part: re.sub(rb'r="C2"', b'r="' + reference + b'"', part))
    assert "far from the others" in refusal(far).message


def test_a_worksheet_with_a_note_to_the_right_is_read() -> None:
    rows = [[*HEADER, *[None] * 60, "remark"], ["2026-10-05", 24, 1, *[None] * 60, "beside"]]
    table = read_workbook(PATH, workbook({"A": rows}), None)
    assert table.cells.width == 64


def test_a_file_that_unpacks_without_end_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("logbook.runs.intake.workbook.MOST_BYTES", 1000)
    assert "unpack" in refusal(workbook({"A": [HEADER]})).message
