"""Whatever stands in a sheet, it is read or refused in words; no date is wrong without a word."""

from __future__ import annotations

from contextlib import suppress
from datetime import date, datetime
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.errors import NotARunSheet
from logbook.runs.columns import COLUMNS
from logbook.runs.sheet_matching.amounts import read_minutes, read_number, take_weight
from logbook.runs.sheet_matching.dates import judge, read_clock, take_apart
from logbook.runs.sheet_matching.listed_values import read_backing, read_needle, read_yes_no
from logbook.runs.sheet_matching.matching import match_sheet
from logbook.runs.sheet_matching.reasons import ReasonWords

NOW = datetime(2026, 6, 1)
WORDS = ReasonWords()
BY_NAME = {column.name: column for column in COLUMNS}
DAYS = st.lists(st.dates(date(2015, 1, 1), date(2026, 5, 31)), min_size=1, max_size=12)
FORMS = {
    "%d/%m/%Y": "day_first",
    "%m/%d/%Y": "month_first",
    "%d.%m.%y": "day_first",
    "%m-%d-%y": "month_first",
    "%y/%m/%d": "year_first",
    "%d/%m/%y": "day_first",
}
CELLS = st.text(st.characters(codec="utf-8"), max_size=20) | st.sampled_from(
    ("3 of 24 puckered", "03/11/2025", "2.5oz cutaway x2", "1h10", "7,450", "usual", '"', "-")
)


@given(CELLS)
def test_no_cell_makes_a_reader_stumble(text: str) -> None:
    form = take_apart(text)
    if form is not None:
        form.under("day_first", 2025)
    for column in ("pieces_sewn", "density"):
        read_number(text, BY_NAME[column])
    read_minutes(text)
    read_clock(text)
    take_weight(text)
    read_needle(text)
    read_yes_no(text)
    read_backing(text, {"alder": "Alder"})
    found = WORDS.read(text)
    assert all(count >= 0 for count in found.counts.values())
    assert not set(found.counts) & set(found.seen)


@given(DAYS, st.sampled_from(sorted(FORMS)))
def test_a_settled_column_of_dates_is_read_as_it_was_meant(days: list[date], form: str) -> None:
    judged = judge([day.strftime(form) for day in days], now=NOW)
    if judged.certain:
        read = [take_apart(day.strftime(form)) for day in days]
        assert [each and each.under(judged.order) for each in read] == days


@given(st.lists(st.lists(CELLS, min_size=1, max_size=6), max_size=12))
@settings(max_examples=30)
def test_any_table_is_read_or_refused(rows: list[list[str]]) -> None:
    text = "Date,Machine,Qty,Backing,Rejects,Reason\n" + "\n".join(
        ",".join(f'"{cell.replace(chr(34), chr(34) * 2)}"' for cell in row) for row in rows
    )
    with suppress(NotARunSheet):
        match_sheet(Path("a.csv"), text.encode("utf-8"), now=NOW, known={}, take_best=True)


@given(st.binary(max_size=300) | st.binary(max_size=200).map(lambda data: b"PK\x03\x04" + data))
@settings(max_examples=30)
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    with suppress(NotARunSheet):
        match_sheet(Path("a.xlsx"), data, now=NOW, known={})
