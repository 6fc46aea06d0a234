"""CSV files: delimiters, encodings, quotation marks, rows that do not fit."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.errors import NotARunSheet
from logbook.runs.intake.delimited import read_delimited
from logbook.runs.intake.headings import known_names
from logbook.runs.intake.table import Table

PATH = Path("october.csv")
HEADER = "finished_at,pieces_sewn,gaps,notes"


def read(text: str | bytes) -> Table:
    data = text if isinstance(text, bytes) else text.encode()
    return read_delimited(PATH, data, known_names())


def rows(text: str | bytes) -> list[tuple[str, ...]]:
    return read(text).cells.rows()


def refusal(text: str | bytes) -> NotARunSheet:
    with pytest.raises(NotARunSheet) as caught:
        read(text)
    return caught.value


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_every_dress_of_the_same_sheet(delimiter: str, ending: str, mark: str) -> None:
    text = f"{HEADER}\n2026-10-05,24,1,\n2026-10-06,12,0,fine\n"
    table = read(mark + text.replace(",", delimiter).replace("\n", ending))
    assert table.headings == tuple(HEADER.split(","))
    assert table.cells.rows() == [("2026-10-05", "24", "1", ""), ("2026-10-06", "12", "0", "fine")]
    assert table.numbers.to_list() == [2, 3]
    assert table.delimiter == delimiter
    assert table.byte_order_mark is bool(mark)


def test_the_delimiter_is_the_one_that_finds_columns() -> None:
    table = read("finished_at;notes, if any;pieces_sewn;gaps\n2026-10-05;a, b, c, d;24;1,5\n")
    assert table.delimiter == ";"
    assert table.cells.rows() == [("2026-10-05", "a, b, c, d", "24", "1,5")]


def test_a_last_line_without_an_end_is_a_line() -> None:
    assert rows(f"{HEADER}\n2026-10-05,24,1,x") == [("2026-10-05", "24", "1", "x")]


def test_old_line_ends_are_understood() -> None:
    assert rows(f"{HEADER}\r2026-10-05,24,1,x\r") == [("2026-10-05", "24", "1", "x")]


def test_quoted_cells_keep_delimiters_quotes_and_lines() -> None:
    text = f'{HEADER}\n2026-10-05,24,1,"a, ""b""\nc"\n"2026-10-06","12","0",""\n'
    assert rows(text) == [("2026-10-05", "24", "1", 'a, "b"\nc'), ("2026-10-06", "12", "0", "")]


def test_rows_are_counted_as_a_spreadsheet_does_not_as_lines() -> None:
    text = f'\n{HEADER}\n2026-10-05,24,1,"a\nb"\n\n2026-10-06,12,0,x\n'
    table = read(text)
    assert table.numbers.to_list() == [3, 5]
    assert table.cells["3"].to_list() == ["a\nb", "x"]


def test_an_inch_mark_in_a_cell_is_text() -> None:
    assert rows(f'{HEADER}\n2026-10-05,24,1,5" patch\n') == [("2026-10-05", "24", "1", '5" patch')]


def test_a_row_with_too_many_cells_is_kept_as_it_is() -> None:
    table = read(f"{HEADER}\n2026-10-05,24,1,5,x\n2026-10-06,12,0,\n")
    assert table.misshapen[2].cells == ("2026-10-05", "24", "1", "5", "x")
    assert "1 cell more than the header" in table.misshapen[2].reason
    assert list(table.misshapen) == [2]


def test_a_row_with_too_few_cells_is_not_guessed_at() -> None:
    table = read(f"{HEADER}\n2026-10-05,24\n2026-10-06,12,0,\n")
    assert table.misshapen[2].cells == ("2026-10-05", "24")
    assert "2 cells fewer than the header" in table.misshapen[2].reason


def test_a_row_too_long_and_one_too_short_do_not_cancel_out() -> None:
    table = read(f"{HEADER}\n2026-10-05,24,1,x,y\n2026-10-06,12,0\n")
    assert list(table.misshapen) == [2, 3]


def test_empty_cells_past_the_header_are_nothing() -> None:
    table = read(f"{HEADER}\n2026-10-05,24,1,x,,,\n")
    assert table.cells.rows() == [("2026-10-05", "24", "1", "x")]
    assert table.misshapen == {}


def test_cells_that_a_rejects_file_added_are_not_the_rows_own() -> None:
    header = f"{HEADER},row,column,reason"
    table = read(f"{header}\n2026-10-05,24,1,5,x,7,,the row has 1 cell more\n")
    assert table.misshapen[2].cells == ("2026-10-05", "24", "1", "5", "x")
    assert "1 cell more" in table.misshapen[2].reason


def test_a_cell_that_swallowed_the_next_row_is_found() -> None:
    text = f'{HEADER}\n2026-10-05,24,1,"5 inch\n2026-10-06,12,0,small"\n2026-10-07,9,0,\n'
    table = read(text)
    assert list(table.misshapen) == [2]
    assert "a quotation mark is not closed" in table.misshapen[2].reason


def test_notes_with_lines_and_commas_are_not_taken_for_rows() -> None:
    table = read(f'{HEADER}\n2026-10-05,24,1,"one, two, three\nfour, five, six"\n')
    assert table.misshapen == {}


def test_a_quotation_mark_that_is_never_closed() -> None:
    error = refusal(f'{HEADER}\n2026-10-05,24,1,x\n2026-10-06,12,0,"y\n2026-10-07,9,0,z\n')
    assert "row 3 opens a quotation mark that is never closed" in error.message


def test_latin_1_is_refused_with_the_place() -> None:
    error = refusal(f"{HEADER}\n2026-10-05,24,1,façade\n".encode("latin-1"))
    assert "line 2" in error.message
    assert "0xE7" in error.message
    assert "CSV UTF-8" in str(error.hint)


def test_utf_16_is_named() -> None:
    assert "UTF-16" in refusal(HEADER.encode("utf-16")).message


def test_nul_bytes_are_refused_with_the_place() -> None:
    assert "NUL byte in line 2" in refusal(f"{HEADER}\n2026-10-05,2\x004,1,x\n").message


@pytest.mark.parametrize("text", ["\n\n", " , , \n", '""\n'])
def test_no_header_at_all(text: str) -> None:
    assert "no header" in refusal(text).message


def test_a_cell_larger_than_a_file_should_hold() -> None:
    text = f'{HEADER}\n2026-10-05,24,1,"{"x" * 10_000_001}"y\n'
    assert "after row 1" in refusal(text).message


def test_many_rows_that_need_the_careful_reading() -> None:
    lines = "".join(f'2026-10-05,{number},1,5" patch\n' for number in range(60_000))
    table = read(f"{HEADER}\n{lines}")
    assert table.cells.height == 60_000
    assert table.cells["1"].to_list() == [str(number) for number in range(60_000)]
    assert table.numbers[-1] == 60_001
