"""Where the table lies: titles above, heads in two rows, other tables, sums and lines between."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from logbook.errors import NotARunSheet
from logbook.runs.intake.table import text_frame
from logbook.runs.sheet_matching.grids import Grid, open_grids, sniffed, text_grid
from logbook.runs.sheet_matching.heading_words import heading_words
from logbook.runs.sheet_matching.run_rows import run_rows
from logbook.runs.sheet_matching.tables import find_tables

WORDS = heading_words()


def test_a_title_and_two_tables() -> None:
    grid = Grid(
        None,
        [
            ["Log"],
            [],
            ["Date", "Machine", "Qty"],
            ["3/11", "M1", "24"],
            [],
            ["Operator", "Shift", "Site"],
            ["Ann", "early", "north"],
        ],
    )
    first, second = find_tables(grid, WORDS)
    assert (first.heading_row, first.first_row, first.last_row) == (3, 4, 5)
    assert first.above == ("Log",)
    assert second.headings == ("Operator", "Shift", "Site")


def test_a_head_in_two_rows() -> None:
    grid = Grid(
        None,
        [["Date", "Machine", "Defects", ""], ["", "no", "Pucker", "Gaps"], ["3/11", "1", "2", "0"]],
    )
    [table] = find_tables(grid, WORDS)
    assert table.headings == ("Date", "Machine no", "Defects Pucker", "Defects Gaps")
    assert table.first_row == 3


def test_sums_lines_between_and_marks_of_the_same() -> None:
    rows = [
        ["Machine 1", "", ""],
        ["3/11", "Ann", "24"],
        ["4/11", '"', "12"],
        ["Total", "", "36"],
        ["", "", ""],
        ["Date", "Operator", "Qty"],
        ["Machine 2", "", ""],
        ["5/11", "Bob", "6"],
    ]
    found = run_rows(text_frame(rows, 3), pl.Series(range(2, 10)), ("Date", "Operator", "Qty"))
    assert found.cells.rows() == [
        ("3/11", "Ann", "24"),
        ("4/11", "Ann", "12"),
        ("5/11", "Bob", "6"),
    ]
    assert found.numbers.to_list() == [3, 4, 9]
    assert found.sections is not None
    assert found.sections.to_list() == ["Machine 1", "Machine 1", "Machine 2"]
    assert found.left_out == {"line": 2, "total": 1, "blank": 1, "heading": 1}


def test_delimiters_and_fixed_widths() -> None:
    assert [sniffed(f"a{mark}b{mark}c\n1{mark}2{mark}3") for mark in ",;\t|"] == list(",;\t|")
    text = "Date        Machine  Qty\n03/11/2025  M1        24\n04/11/2025  M2        12\n"
    assert text_grid(Path("a.txt"), text).rows == [
        ["Date", "Machine", "Qty"],
        ["03/11/2025", "M1", "24"],
        ["04/11/2025", "M2", "12"],
    ]


@pytest.mark.parametrize(
    "data", [b"PK\x03\x04broken", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", b"PAR1", b"a\x00b"]
)
def test_what_is_no_sheet_is_refused(data: bytes) -> None:
    with pytest.raises(NotARunSheet):
        open_grids(Path("a.xlsx"), data)
