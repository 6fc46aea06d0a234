"""A frame of valid runs written to any file and read again is the same frame."""

from __future__ import annotations

import tempfile
import unicodedata
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st
from run_frames import frame

from logbook.runs.columns import COLUMNS, Column
from logbook.runs.intake import Parsed, open_sheet, parse_sheet
from logbook.runs.judging import judge
from logbook.shop import Shop

NOW = datetime(2026, 11, 25, 12, 0)
LISTS = [column.name for column in COLUMNS if column.open_list]
INVISIBLE = "\u200b\u2060\ufeff"


def as_kept(text: str) -> str | None:
    """Composed, without control characters, without spaces at the ends or doubled."""
    signs = (sign for sign in text if unicodedata.category(sign) != "Cc" and sign not in INVISIBLE)
    return unicodedata.normalize("NFC", " ".join("".join(signs).split())) or None


TEXT = st.text(st.characters(codec="utf-8"), max_size=8).map(as_kept)


def values_of(column: Column) -> st.SearchStrategy[object]:
    if column.choices is not None:
        return st.sampled_from(column.choices.values)
    if column.type == "text":
        return TEXT
    if column.type == "boolean":
        return st.booleans()
    if column.type == "moment":
        seconds = st.integers(0, 3_000_000_000)
        return seconds.map(lambda number: datetime(1930, 1, 1) + timedelta(seconds=number))
    lowest = column.lowest if column.above is None else column.above + 1e-6
    if column.type == "integer":
        return st.integers(int(lowest or 0), min(int(column.highest or 0), 10**6))
    # As kept: a spreadsheet has no more than fifteen digits.
    return st.floats(lowest, column.highest).map(lambda value: float(f"{value:.15g}"))


ALWAYS = {"finished_at": values_of(COLUMNS[1]), "pieces_sewn": st.integers(300, 9999)}
SOMETIMES = {each.name: values_of(each) for each in COLUMNS[2:] if each.name not in ALWAYS}
ROWS = st.lists(st.fixed_dictionaries(ALWAYS, optional=SOMETIMES), min_size=1, max_size=5)


@st.composite
def valid_runs(draw: st.DrawFn) -> pl.DataFrame:
    rows = draw(ROWS)
    drawn = frame([row | {"run_ref": f"R-{place}"} for place, row in enumerate(rows)])
    # Most random counts contradict one another: cut them down to what can be true.
    kinds = [each.name for each in COLUMNS if each.part == "outcome" and each.unit == "pieces"]
    kinds += ["pieces_spoiled", "pieces_reworked", "pieces_returned"]
    tamed = drawn.with_columns(
        *(pl.col(name) % 100 for name in kinds),
        pieces_inspected=100 + pl.col("pieces_inspected") % 200,
        pieces_defective=100 + pl.col("pieces_defective") % 1,
        pucker_grade=(pl.col("pucker_grade") * 2).round() / 2,
        needle_parts_found=pl.col("needle_parts_found").fill_null(value=False),
        backing_layers=pl.when(pl.col("backing") == "none").then(0).otherwise("backing_layers"),
    )
    assert judge(tamed, now=NOW).good.equals(tamed)
    return tamed


def comma(runs: pl.DataFrame, folder: Path) -> Path:
    runs.write_csv(folder / "a.csv")
    return folder / "a.csv"


def semicolon_and_decimal_comma(runs: pl.DataFrame, folder: Path) -> Path:
    runs.write_csv(folder / "b.csv", separator=";", decimal_comma=True, include_bom=True)
    return folder / "b.csv"


def tab_and_quoted(runs: pl.DataFrame, folder: Path) -> Path:
    runs.write_csv(
        folder / "c.tsv", separator="\t", quote_style="non_numeric", line_terminator="\r\n"
    )
    return folder / "c.tsv"


def parquet(runs: pl.DataFrame, folder: Path) -> Path:
    runs.write_parquet(folder / "d.parquet")
    return folder / "d.parquet"


def xlsx(runs: pl.DataFrame, folder: Path) -> Path:
    as_text = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(folder / "e.xlsx", as_text) as book:
        runs.write_excel(book, dtype_formats={pl.Datetime: "yyyy-mm-dd hh:mm:ss"})
    return folder / "e.xlsx"


def read(path: Path) -> Parsed:
    return parse_sheet(open_sheet(path), shop=Shop(), known={}, now=NOW)


@pytest.mark.parametrize("write", [comma, parquet, xlsx])
@given(runs=valid_runs())
@settings(max_examples=15, deadline=None)
def test_written_and_read_again(
    write: Callable[[pl.DataFrame, Path], Path], runs: pl.DataFrame
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        taken = read(write(runs, Path(folder)))
        assert [reject.reason for reject in taken.rejects] == []
        # Spellings of one name that differ in case become one; everything else stays.
        assert taken.good.drop(LISTS).equals(runs.drop(LISTS))
        assert read(write(taken.good, Path(folder))).good.equals(taken.good)


@pytest.mark.parametrize("write", [semicolon_and_decimal_comma, tab_and_quoted])
@given(runs=valid_runs())
@settings(max_examples=15, deadline=None)
def test_other_dress_is_the_same_or_told_unclear(
    write: Callable[[pl.DataFrame, Path], Path], runs: pl.DataFrame
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        taken = read(write(runs, Path(folder)))
    assert all("can be read as" in reject.reason for reject in taken.rejects)
    assert taken.good.drop(LISTS).equals(runs[taken.good_positions].drop(LISTS))


@given(runs=valid_runs())
@settings(max_examples=8, deadline=None)
def test_references_made_of_the_content_are_the_same_from_every_file(runs: pl.DataFrame) -> None:
    bare = runs.drop("run_ref")
    with tempfile.TemporaryDirectory() as folder:
        found = [read(write(bare, Path(folder))).good for write in (comma, parquet, xlsx)]
    assert found[0].height == runs.height
    assert found[0].equals(found[1])
    assert found[0].equals(found[2])
