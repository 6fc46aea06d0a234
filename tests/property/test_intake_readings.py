"""The fast way of reading says what the careful way says."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.runs.columns import COLUMNS
from logbook.runs.intake import delimited
from logbook.runs.intake.headings import known_names
from logbook.runs.intake.parsing import Reading, cleaned, read_column
from logbook.runs.intake.readers import (
    Unreadable,
    read_boolean,
    read_choice,
    read_integer,
    read_moment,
    read_number,
)
from logbook.runs.intake.spelling import match_spellings
from logbook.vocabulary.backings import BACKINGS

UTC = ZoneInfo("UTC")
COLUMN = {column.name: column for column in COLUMNS}
DIGITS = st.text("0123456789", min_size=1, max_size=5)
NUMBERS = st.lists(DIGITS | st.sampled_from([*",. 'eE+-−_x\u00a0", "inf", "nan"]), max_size=7).map(
    "".join
)
MOMENTS = st.lists(
    st.sampled_from(["2026", "10", "31", "0", "1", "-", "-", ":", ":", "T", " ", "Z", "+02", "."]),
    max_size=14,
).map("".join) | st.datetimes().map(str)

READERS: dict[str, Callable[[str], object]] = {
    "pieces_sewn": read_integer,
    "stitches_sewn": lambda text: read_number(text, COLUMN["stitches_sewn"], dot_is_decimal=False),
    "density": lambda text: read_number(text, COLUMN["density"], dot_is_decimal=False),
    "fabric_sheer": read_boolean,
    "backing": lambda text: read_choice(text, BACKINGS),
    "finished_at": lambda text: read_moment(text, UTC).replace(microsecond=0),
}


@pytest.mark.parametrize("name", READERS)
@given(texts=st.lists(NUMBERS | MOMENTS | st.text(max_size=6), min_size=1, max_size=30))
@settings(max_examples=60, deadline=None)
def test_a_column_is_read_as_its_cells_are(name: str, texts: list[str]) -> None:
    cells = pl.Series(name, texts)
    values, unread = read_column(cells, COLUMN[name], Reading(UTC, dot_is_decimal=False))
    failed = set() if unread is None else set(unread["position"])
    for position, text in enumerate(cleaned(cells)):
        if text is None:
            assert values[position] is None
            assert position not in failed
            continue
        try:
            expected = READERS[name](text)
        except Unreadable:
            assert values[position] is None
            assert position in failed
        else:
            kept = float(f"{expected:.15g}") if isinstance(expected, float) else expected
            assert values[position] == kept
            assert position not in failed


@given(moment=st.datetimes().map(lambda each: each.replace(microsecond=0)), padded=st.booleans())
@settings(max_examples=200, deadline=None)
def test_dates_with_dots_are_day_month_and_year(moment: datetime, padded: bool) -> None:
    width = 2 if padded else 1
    day = f"{moment.day:0{width}}.{moment.month:0{width}}.{moment.year:04}"
    assert read_moment(f"{day} {moment:%H:%M:%S}", UTC) == moment
    assert read_moment(day, UTC) == datetime.combine(moment.date(), time())
    for mark in "/-,":
        with pytest.raises(Unreadable):
            read_moment(day.replace(".", mark), UTC)


CELLS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=8)
HEADER = ["finished_at", "pieces_sewn", "gaps", "notes"]


@pytest.mark.parametrize("quoting", [csv.QUOTE_MINIMAL, csv.QUOTE_ALL])
@pytest.mark.parametrize("delimiter", delimited.DELIMITERS)
@given(rows=st.lists(st.tuples(*[CELLS] * len(HEADER)), max_size=12))
@settings(max_examples=40, deadline=None)
def test_a_well_formed_file_comes_apart_as_it_was_put_together(
    quoting: int, delimiter: str, rows: list[tuple[str, ...]]
) -> None:
    out = io.StringIO()
    # With this end of line the writer quotes every cell that holds one of its two characters.
    writer = csv.writer(out, delimiter=delimiter, quoting=quoting, lineterminator="\r\n")
    writer.writerows([HEADER, *rows])
    data = out.getvalue().encode()
    table = delimited.read_delimited(Path("a.csv"), data, known_names())
    filled = [row for row in rows if any(map(str.strip, row))]
    found = [row for row in table.cells.rows() if any(map(str.strip, row))]
    assert found == filled


@given(rows=st.lists(st.tuples(*[CELLS] * len(HEADER)), max_size=12))
@settings(max_examples=60, deadline=None)
def test_the_fast_way_is_the_careful_way_or_steps_aside(rows: list[tuple[str, ...]]) -> None:
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerows([HEADER, *rows])
    text = out.getvalue()
    fast = delimited._fast(text.encode(), ",", HEADER)
    careful = delimited._careful(Path("a.csv"), text, ",", HEADER)
    if fast is not None:
        hollow = [not any(map(str.strip, row)) for row in fast.cells.rows()]
        filled = ~pl.Series(hollow, dtype=pl.Boolean)
        assert fast.cells.filter(filled).equals(careful.cells)
        assert fast.numbers.filter(filled).to_list() == careful.numbers.to_list()


NAMES = st.sampled_from(["Alder", "alder", "ALDER", "Aldr", "Birch", "birch ", "Birch", "B1", "b1"])


@given(names=st.lists(NAMES, max_size=12), known=st.lists(NAMES, max_size=4))
@settings(max_examples=60, deadline=None)
def test_spellings_settle_at_once(names: list[str], known: list[str]) -> None:
    runs = pl.DataFrame(
        {column.name: [None] * len(names) for column in COLUMNS if column.open_list},
        schema={column.name: pl.String() for column in COLUMNS if column.open_list},
    ).with_columns(backing_supplier=pl.Series(names, dtype=pl.String))
    once = match_spellings(runs, {"backing_supplier": known}).runs
    in_use = [*known, *once["backing_supplier"]]
    again = match_spellings(once, {"backing_supplier": in_use})
    assert again.runs.equals(once)
    assert all("was read as" not in note for note in again.notes)
