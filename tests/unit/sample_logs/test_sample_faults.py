"""The faulty sheet: every row stands where its expectation says, and says what it tests."""

import csv
import json
from typing import Any

import pytest

from sample_logs import FOLDER
from sample_logs.fault_rows import COLUMNS, ROWS


@pytest.fixture(scope="module")
def expected() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((FOLDER / "faults_expected.json").read_text("utf-8"))
    return loaded


@pytest.fixture(scope="module")
def lines() -> dict[int, list[str]]:
    """The sheet's data rows by the line on which they begin, read with the standard library."""
    with (FOLDER / "faults.csv").open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        assert next(reader) == list(COLUMNS)
        rows = {}
        begins = reader.line_num + 1
        for row in reader:
            rows[begins] = row
            begins = reader.line_num + 1
    return rows


def test_rows_stand_on_the_lines_named(
    expected: dict[str, Any], lines: dict[int, list[str]]
) -> None:
    assert [row["line"] for row in expected["rows"]] == list(lines)
    assert [row["row"] for row in expected["rows"]] == list(range(1, len(lines) + 1))


def test_each_row_says_what_it_tests(expected: dict[str, Any], lines: dict[int, list[str]]) -> None:
    notes = COLUMNS.index("notes")
    silent = [
        row["tests"]
        for row in expected["rows"]
        if any(lines[row["line"]]) and not lines[row["line"]][notes].startswith(("tests: ", "="))
    ]
    assert silent == []
    assert len({row.tests for row in ROWS}) == len(ROWS)


def test_about_half_the_rows_are_good(expected: dict[str, Any]) -> None:
    counts = expected["counts"]
    assert counts["good"] + counts["reject"] + counts["skip"] == len(ROWS)
    assert 40 <= len(ROWS) <= 65
    assert 0.4 <= counts["good"] / len(ROWS) <= 0.6


def test_rejects_name_a_column_that_the_sheet_has(expected: dict[str, Any]) -> None:
    for row in expected["rows"]:
        assert set(row["columns"]) <= set(COLUMNS)
        if row["outcome"] == "reject" and "too many" not in row["tests"]:
            assert row["column"] in COLUMNS


def test_one_good_row_is_held(expected: dict[str, Any], lines: dict[int, list[str]]) -> None:
    held = [row for row in expected["rows"] if row["held"]]
    assert [row["outcome"] for row in held] == ["good"]
    cells = dict(zip(COLUMNS, lines[held[0]["line"]], strict=True))
    assert (cells["needle_breaks"], cells["needle_parts_found"]) == ("1", "false")


def test_twins_differ_only_where_they_should(lines: dict[int, list[str]]) -> None:
    first, same, other = [row for row in lines.values() if row[:1] == ["F-TWIN"]]
    assert first == same
    changed = [name for name, a, b in zip(COLUMNS, first, other, strict=True) if a != b]
    assert changed == ["puckering"]


def test_ragged_and_empty_rows_are_there(lines: dict[int, list[str]]) -> None:
    widths = [len(row) for row in lines.values()]
    assert widths.count(len(COLUMNS) + 2) == 1
    assert [any(row) for row in lines.values()][-2:] == [False, False]
    assert widths[-2:] == [len(COLUMNS), 0]
