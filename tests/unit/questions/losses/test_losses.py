"""Losses added up by a column, on a book whose sums can be worked out by hand."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest
from scipy import stats

from logbook.book.runs import log_run
from logbook.errors import ParameterError, TooLittleData
from logbook.questions.losses import QUESTION
from logbook.questions.losses.result import LossesResult
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

COSTS = """
[costs]
piece_value = 10.0
labour_minute = 0.5
"""
RUNS: tuple[dict[str, Any], ...] = (
    {"machine": "M1", "job": "J1", "puckering": 3, "pieces_spoiled": 2, "rework_minutes": 0},
    {"machine": "M1", "job": "J2", "puckering": 0, "pieces_spoiled": 0, "rework_minutes": 0},
    {"machine": "M2", "job": "J2", "puckering": 2, "pieces_spoiled": 0, "rework_minutes": 30},
    {"machine": "M3", "job": "J3", "puckering": 4},
    {"job": "J3", "puckering": 0, "pieces_spoiled": 0, "rework_minutes": 0},
)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    place = tmp_path_factory.mktemp("losses") / "book"
    with new_book(str(place), settings=COSTS) as store:
        for day, run in enumerate(RUNS, 1):
            whole = {"pieces_sewn": 50, "pieces_inspected": 50, **run}
            log_run(store, {"finished_at": datetime(2026, 10, day, 12), **whole}, source="test")
        yield store


def asked(book: DuckStore, **given: Any) -> LossesResult:
    result: LossesResult = QUESTION.answer(book, QUESTION.parsed(given)).result
    return result


def test_money_is_added_up_level_by_level_dearest_first(book: DuckStore) -> None:
    result = asked(book, by="machine")
    assert [each.level for each in result.levels] == ["M1", "M2", None, "M3"]
    assert [each.cost for each in result.levels][:3] == pytest.approx([20.0, 15.0, 0.0])
    assert math.isnan(result.levels[3].cost)
    assert result.total_cost == pytest.approx(35.0)
    assert [each.share_of_cost for each in result.levels][:2] == pytest.approx([20 / 35, 15 / 35])
    assert result.levels[0].cost_per_100_pieces == pytest.approx(20.0)


def test_rates_are_of_any_defect_with_wilsons_interval(book: DuckStore) -> None:
    first = asked(book, by="machine").levels[0]
    assert (first.count, first.pieces_inspected, first.rate) == (3, 100.0, pytest.approx(0.03))
    # Wilson (1927), as a general-purpose library works it out.
    wilson = stats.binomtest(3, 100).proportion_ci(method="wilson")
    assert first.interval == pytest.approx((wilson.low, wilson.high))


def test_what_cannot_be_costed_is_said(book: DuckStore) -> None:
    answer = QUESTION.answer(book, QUESTION.parsed({"by": "machine"}))
    assert answer.headline.startswith("Most was lost on M1: EUR 20.00 of EUR 35.00 (57 %)")
    assert any("4 defective pieces are at levels" in note for note in answer.notes)
    [row] = [each for each in answer.as_json()["levels"] if each["level"] == "M3"]
    assert row["cost"] is None


def test_labels_are_understood_and_strange_columns_refused(book: DuckStore) -> None:
    assert asked(book, by="Machine").by == "machine"
    assert [each.level for each in asked(book, by="job").levels] == ["J1", "J2", "J3"]
    with pytest.raises(ParameterError, match="'colour' is no column to group by"):
        asked(book, by="colour")


def test_a_window_without_runs_has_too_little(book: DuckStore) -> None:
    with pytest.raises(TooLittleData):
        asked(book, by="machine", since="2031-01-01")
