"""Whole columns: plain cells at once, the others one by one, and what cannot be read."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import polars as pl
import pytest

from logbook.runs.columns import COLUMNS, run_schema
from logbook.runs.intake.parsing import Reading, cleaned, read_column, read_columns

READING = Reading(ZoneInfo("Europe/Lisbon"))
COLUMN = {column.name: column for column in COLUMNS}


@pytest.mark.parametrize(
    ("written", "text"),
    [
        ("Alder", "Alder"),
        ("  Alder\t", "Alder"),
        ("\u00a0Alder\u202f", "Alder"),
        ("Al\u200bder\ufeff", "Alder"),
        ("Al\x00\x07der", "Alder"),
        ("two\nlines", "two lines"),
        ("two\r\nlines", "two lines"),
        ("cafe\u0301", "café"),
        ("🧵 ✂️", "🧵 ✂️"),
        ("=1+1", "=1+1"),
        ("   ", None),
        ("\u00a0", None),
        ("", None),
        ("-", "-"),
    ],
)
def test_a_text_without_what_cannot_be_seen(written: str, text: str | None) -> None:
    assert cleaned(pl.Series([written])).to_list() == [text]
    assert cleaned(pl.Series([written, "plain"])).to_list() == [text, "plain"]


def test_notes_keep_their_lines() -> None:
    cells = pl.Series("notes", [" first\r\nsecond\tx\n"])
    assert read_column(cells, COLUMN["notes"], READING)[0].item() == "first\nsecond\tx"


@pytest.mark.parametrize(
    ("name", "cells", "values"),
    [
        ("pieces_sewn", ["24", "24.0", "1 234", " 7 ", ""], [24, 24, 1234, 7, None]),
        ("speed_spm", ["750", "750,5", "7.5e2", "", " 1 "], [750.0, 750.5, 750.0, None, 1.0]),
        ("fabric_sheer", ["yes", "0", "TRUE", ""], [True, False, True, None]),
        ("backing", ["cut_away", "Cutaway", "none", ""], ["cut_away", "cut_away", "none", None]),
        ("needle_nm", ["75", "80/12", ""], [75, 80, None]),
        (
            "finished_at",
            [
                "2026-10-31",
                "2026-10-31T14:30",
                "2026-10-31 14:30:05",
                "2026-07-01T12:00Z",
                "",
            ],
            [
                datetime(2026, 10, 31),
                datetime(2026, 10, 31, 14, 30),
                datetime(2026, 10, 31, 14, 30, 5),
                datetime(2026, 7, 1, 13),
                None,
            ],
        ),
    ],
)
def test_plain_and_other_writing_side_by_side(
    name: str, cells: list[str], values: list[object]
) -> None:
    read, unread = read_column(pl.Series(name, cells), COLUMN[name], READING)
    assert unread is None
    assert read.to_list() == values
    assert read.dtype == run_schema()[name]
    assert read.name == name


@pytest.mark.parametrize(
    ("name", "cell", "reason"),
    [
        ("pieces_sewn", "abc", "pieces_sewn is 'abc', which is not a whole number"),
        ("pieces_sewn", "-", "pieces_sewn is '-', which is not a whole number"),
        ("density", "NaN", "density is 'NaN', which is not a number"),
        ("density", "x" * 50, f"density is '{'x' * 40}…', which is not a number"),
        ("fabric_sheer", "perhaps", "fabric_sheer is 'perhaps', which is neither true nor false"),
        (
            "fabric_shade",
            "pink",
            "fabric_shade is 'pink', which is not on the list: light, mid, dark",
        ),
        ("finished_at", "2026-1-5", "finished_at is '2026-1-5', which is not a date as"),
        ("finished_at", "+2026-10-5", "finished_at is '+2026-10-5', which is not a date as"),
    ],
)
def test_an_unreadable_cell_is_told_with_its_place(name: str, cell: str, reason: str) -> None:
    read, unread = read_column(pl.Series(name, ["", cell]), COLUMN[name], READING)
    assert read.to_list() == [None, None]
    assert unread is not None
    ((position, column, told),) = unread.rows()
    assert (position, column) == (1, name)
    assert told.startswith(reason)


def test_a_dot_in_a_sheet_of_semicolons_may_part_thousands() -> None:
    cells = pl.Series("stitches_sewn", ["250.000", "12.5", "250000"])
    _, unread = read_column(
        cells, COLUMN["stitches_sewn"], Reading(ZoneInfo("UTC"), dot_is_decimal=False)
    )
    assert unread is not None
    assert unread["position"].to_list() == [0]
    assert read_column(cells, COLUMN["stitches_sewn"], READING)[1] is None


def test_absent_columns_are_not_recorded() -> None:
    typed = read_columns(pl.DataFrame({"pieces_sewn": ["24", "x"]}), COLUMNS, READING)
    assert dict(typed.frame.schema) == run_schema()
    assert typed.frame["pieces_sewn"].to_list() == [24, None]
    assert typed.frame.drop("pieces_sewn").null_count().sum_horizontal().item() == 2 * (
        len(COLUMNS) - 1
    )


def test_numbers_and_moments_are_kept_as_a_spreadsheet_can_give_them_back() -> None:
    cells = pl.Series("density", ["0.30000000000000004", "28187.1666666739", "2.5", ""])
    assert read_column(cells, COLUMN["density"], READING)[0].to_list() == [
        0.3,
        28187.1666666739,
        2.5,
        None,
    ]
    moments = pl.Series("finished_at", ["2026-10-31T14:30:59.999999", "2026-10-31T14:30:59"])
    assert read_column(moments, COLUMN["finished_at"], READING)[0].n_unique() == 1


def test_ounces_fill_an_empty_weight() -> None:
    cells = pl.DataFrame({"backing_oz_yd2": ["1.5", "2", ""], "backing_gsm": ["", "68", "60"]})
    # 1 oz/yd² = 33.906 g/m².
    assert read_columns(cells, COLUMNS, READING).frame["backing_gsm"].to_list() == [50.859, 68, 60]
