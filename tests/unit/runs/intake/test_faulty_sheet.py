"""The sheet with every fault: each row ends as its own list of answers says."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from logbook.runs.intake import Parsed, open_sheet, parse_sheet
from logbook.shop import Shop

FOLDER = Path(__file__).parents[4] / "sample_logs"
ANSWERS: list[dict[str, Any]] = json.loads((FOLDER / "faults_expected.json").read_text())["rows"]
NOW = datetime(2026, 11, 25, 12, 0)


@pytest.fixture(scope="module")
def outcomes() -> Mapping[int, tuple[str, str, str]]:
    """For each data row (from 1): what became of it, the columns blamed and the reason."""
    raw = open_sheet(FOLDER / "faults.csv")
    parsed: Parsed = parse_sheet(raw, shop=Shop(), known={"backing_supplier": ("Alder",)}, now=NOW)
    first = {
        position: raw.numbers[position] - 1
        for position in (*parsed.good_positions, *(reject.position for reject in parsed.rejects))
    }
    good = {first[position]: ("good", "", "") for position in parsed.good_positions}
    bad = {first[r.position]: ("reject", r.column, r.reason) for r in parsed.rejects}
    assert len(good) + len(bad) == raw.rows
    return good | bad


@pytest.mark.parametrize("answer", ANSWERS, ids=lambda answer: f"{answer['row']}-{answer['tests']}")
def test_each_row_ends_as_it_should(
    answer: dict[str, Any], outcomes: Mapping[int, tuple[str, str, str]]
) -> None:
    outcome, columns, reason = outcomes.get(answer["row"], ("skip", "", ""))
    # A row that repeats an earlier one is let in here, and skipped by the store.
    repeated = answer["outcome"] == "skip" and answer["columns"] == ["run_ref"]
    assert outcome == ("good" if repeated else answer["outcome"])
    if outcome == "reject":
        assert reason
        assert set(columns.split(", ")) & set(answer["columns"]) or answer["columns"] == []
