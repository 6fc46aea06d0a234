"""Parquet files: typed columns as the text that the same values would be in a CSV file."""

from __future__ import annotations

import io
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import polars as pl
import pytest

from logbook.errors import NotARunSheet
from logbook.runs.intake.columnar import read_columnar
from logbook.runs.intake.headings import known_names
from logbook.runs.intake.table import Table

PATH = Path("october.parquet")


def read(frame: pl.DataFrame) -> Table:
    out = io.BytesIO()
    frame.write_parquet(out)
    return read_columnar(PATH, out.getvalue(), known_names())


@pytest.mark.parametrize(
    ("values", "texts"),
    [
        (pl.Series([1, None, -3]), ["1", "", "-3"]),
        (pl.Series([1.0, 2.5, None, 1e-7]), ["1", "2.5", "", "1e-7"]),
        (pl.Series([float("nan")]), ["NaN"]),
        (pl.Series([True, False, None]), ["true", "false", ""]),
        (pl.Series([date(2026, 10, 5)]), ["2026-10-05"]),
        (pl.Series([datetime(2026, 10, 5, 14, 30)]), ["2026-10-05T14:30:00"]),
        (
            pl.Series([datetime(2026, 10, 5, 14, 30, tzinfo=ZoneInfo("Europe/Lisbon"))]),
            ["2026-10-05T14:30:00+01:00"],
        ),
        (pl.Series(["a", None], dtype=pl.Categorical), ["a", ""]),
        (pl.Series([Decimal("1.50")]), ["1.50"]),
        (pl.Series([None, None]), ["", ""]),
        (pl.Series([" text\n"]), [" text\n"]),
    ],
)
def test_values_as_text(values: pl.Series, texts: list[str]) -> None:
    table = read(values.alias("machine").to_frame())
    assert table.cells["0"].to_list() == texts
    assert table.numbers.to_list() == list(range(2, len(texts) + 2))


def test_lists_in_a_strange_column_are_nobodys_business() -> None:
    table = read(pl.DataFrame({"machine": ["M1"], "tags": [["a", "b"]]}))
    assert table.cells.rows() == [("M1", "")]


def test_lists_in_a_column_of_the_run_sheet_are_refused() -> None:
    with pytest.raises(NotARunSheet, match="machine holds List"):
        read(pl.DataFrame({"machine": [["M1"]]}))


@pytest.mark.parametrize("data", [b"PAR1", b"PAR1" + bytes(100) + b"PAR1", b"text"])
def test_a_damaged_file_is_refused(data: bytes) -> None:
    with pytest.raises(NotARunSheet, match="damaged"):
        read_columnar(PATH, data, known_names())


def test_a_file_without_columns_is_refused() -> None:
    with pytest.raises(NotARunSheet, match="no columns"):
        read(pl.DataFrame())
