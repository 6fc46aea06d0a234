"""An apostrophe before text that begins like a formula is a guard, and comes off."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import polars as pl
import pytest

from logbook.runs.columns import COLUMNS
from logbook.runs.intake.parsing import Reading, read_column

NOTES = next(column for column in COLUMNS if column.name == "notes")
PIECES = next(column for column in COLUMNS if column.name == "pieces_inspected")
SHEET = Reading(ZoneInfo("UTC"), guarded=True)
PARQUET = Reading(ZoneInfo("UTC"))


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ("'=1+1", "=1+1"),
        ("'+49 170", "+49 170"),
        ("'-x", "-x"),
        ("'@a", "@a"),
        ("''quoted", "'quoted"),
        ("'''twice", "''twice"),
        ("'quoted", "'quoted"),
        ("'", "'"),
        ("=1+1", "=1+1"),
        ("it's", "it's"),
        ("two\n'=lines", "two\n'=lines"),
    ],
)
def test_one_apostrophe_comes_off_where_it_guards(cell: str, text: str) -> None:
    values, unread = read_column(pl.Series("notes", [cell]), NOTES, SHEET)
    assert unread is None
    assert values.to_list() == [text]


def test_parquet_and_forms_keep_every_apostrophe() -> None:
    values, _ = read_column(pl.Series("notes", ["'=1+1", "''a"]), NOTES, PARQUET)
    assert values.to_list() == ["'=1+1", "''a"]


def test_an_apostrophe_before_a_count_is_no_guard() -> None:
    values, unread = read_column(pl.Series("pieces_inspected", ["'-5"]), PIECES, SHEET)
    assert values.to_list() == [None]
    assert unread is not None
