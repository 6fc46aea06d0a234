"""What is put into a book comes out of it, and putting it again changes nothing."""

from __future__ import annotations

import tempfile
from datetime import datetime
from pathlib import Path

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from run_frames import frame

from logbook.runs.columns import COLUMNS, Column
from logbook.runs.content import content_digests
from logbook.store import Stored, new_book, open_book

BOOKS = settings(max_examples=12, deadline=None)
TEXT = st.text(max_size=30)


def values_of(column: Column) -> st.SearchStrategy[object]:
    if column.name == "finished_at":
        return st.datetimes(datetime(1900, 1, 1), datetime(2200, 1, 1))
    kept: dict[str, st.SearchStrategy[object]] = {
        "text": TEXT,
        "choice": TEXT,
        "integer": st.integers(-(2**63), 2**63 - 1),
        "number": st.floats(allow_nan=False),
        "boolean": st.booleans(),
    }
    return st.none() | kept[column.type]


SHEET = st.lists(
    st.fixed_dictionaries({column.name: values_of(column) for column in COLUMNS[1:]}), max_size=8
).flatmap(
    lambda rows: st.lists(TEXT, min_size=len(rows), max_size=len(rows), unique=True).map(
        lambda names: frame(
            [{**row, "run_ref": name} for row, name in zip(rows, names, strict=True)]
        )
    )
)


@BOOKS
@given(SHEET)
def test_runs_come_out_as_they_went_in_and_a_second_time_adds_nothing(sheet: pl.DataFrame) -> None:
    with tempfile.TemporaryDirectory() as folder:
        place = str(Path(folder) / "book")
        with new_book(place) as store:
            assert store.put(sheet, source="test") == Stored(sheet.height, 0, 0)
        with open_book(place) as store:
            back = store.runs()
            by_name = back.sort("run_ref")
            assert by_name.equals(sheet.sort("run_ref"))
            assert back["finished_at"].is_sorted()
            assert store.put(back, source="export") == Stored(0, sheet.height, 0)
            assert store.count() == sheet.height
            for name in sheet["run_ref"]:
                assert len(store.history(name)) == 1


@BOOKS
@given(SHEET, st.permutations([column.name for column in COLUMNS]))
def test_marks_depend_on_content_alone(sheet: pl.DataFrame, order: list[str]) -> None:
    marks = content_digests(sheet).to_list()
    assert content_digests(sheet.select(order)).to_list() == marks
    assert content_digests(sheet.reverse()).to_list() == marks[::-1]
    renamed = sheet.with_columns(run_ref=pl.lit("another"), later=pl.lit(None, pl.Int64))
    assert content_digests(renamed).to_list() == marks
    emptied = [name for name in sheet.columns if sheet[name].null_count() == sheet.height]
    assert content_digests(sheet.drop(emptied)).to_list() == marks if sheet.height else True


STEP = st.tuples(
    st.sampled_from(["put", "amending put", "amend", "withdraw"]),
    st.sampled_from(["R-1", "R-2"]),
    st.integers(0, 2),
)


@pytest.mark.parametrize("way", ["in a group", "on its own"])
@BOOKS
@given(steps=st.lists(STEP, max_size=14))
def test_any_order_of_changes_keeps_the_rules(way: str, steps: list[tuple[str, str, int]]) -> None:
    """Against a plain model: a list of versions for each reference."""
    told = None if way == "in a group" else [].append
    versions: dict[str, list[int | None]] = {"R-1": [], "R-2": []}
    with tempfile.TemporaryDirectory() as folder, new_book(str(Path(folder) / "b")) as store:
        for what, name, gaps in steps:
            sheet = frame([{"run_ref": name, "finished_at": datetime(2026, 1, 5), "gaps": gaps}])
            past = versions[name]
            if what.endswith("put"):
                amend = what == "amending put"
                expected = Stored(0, 0, 0, (0,))
                if not past:
                    expected = Stored(1, 0, 0)
                elif past[-1] == gaps or (gaps in past and (past[-1] is None or not amend)):
                    expected = Stored(0, 1, 0)
                elif amend and past[-1] is not None:
                    expected = Stored(0, 0, 1)
                assert store.put(sheet, source="test", amend=amend, progress=told) == expected
                if expected.added or expected.amended:
                    past.append(gaps)
            elif past and past[-1] is not None:
                if what == "withdraw":
                    store.withdraw(name, why="test", source="test")
                    past.append(None)
                else:
                    store.amend(name, sheet, why=None, source="test")
                    if past[-1] != gaps:
                        past.append(gaps)
            present = {
                each: past[-1] for each, past in versions.items() if past and past[-1] is not None
            }
            assert dict(store.runs().select("run_ref", "gaps").rows()) == present
            for each, past in versions.items():
                changes = store.history(each)
                assert [change.version for change in changes] == list(range(1, len(past) + 1))
                said = [None if c.what == "withdrawn" else c.content["gaps"] for c in changes]
                assert said == past


TWINS = st.lists(st.tuples(st.sampled_from(["R-1", "R-2"]), st.integers(0, 2)), max_size=5)


@BOOKS
@given(st.lists(STEP, max_size=6), TWINS)
def test_a_frame_fares_in_a_group_as_it_does_on_its_own(
    steps: list[tuple[str, str, int]], rows: list[tuple[str, int]]
) -> None:
    sheet = frame(
        [{"run_ref": n, "finished_at": datetime(2026, 1, 5), "gaps": gaps} for n, gaps in rows]
    )
    told = []
    for way in (None, [].append):
        with tempfile.TemporaryDirectory() as folder, new_book(str(Path(folder) / "b")) as store:
            for what, name, gaps in steps:
                one = frame([{"run_ref": name, "finished_at": datetime(2026, 1, 5), "gaps": gaps}])
                if what.endswith("put"):
                    store.put(one, source="test", amend=what == "amending put")
                elif not store.runs(refs=[name]).is_empty():
                    if what == "withdraw":
                        store.withdraw(name, why="test", source="test")
                    else:
                        store.amend(name, one, why=None, source="test")
            stored = store.put(sheet, source="test", progress=way)
            versions = [
                [(change.version, change.what, change.content) for change in store.history(name)]
                for name in ("R-1", "R-2")
            ]
            told.append((stored, store.runs().rows(), versions))
    assert told[0] == told[1]
