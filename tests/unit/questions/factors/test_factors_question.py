"""What goes with a defect, asked of a book whose answers can be worked out by hand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from small_shop import PIECES, RUNS_A_WEEK, WEEKS_BEFORE, small_book

from logbook.errors import TooLittleData
from logbook.questions.factors import QUESTION
from logbook.questions.factors.result import FactorsResult
from logbook.store.duckdb_store import DuckStore

ALL_RUNS = RUNS_A_WEEK * (WEEKS_BEFORE + 1)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with small_book(tmp_path_factory.mktemp("causes") / "book") as store:
        yield store


def asked(book: DuckStore, **told: Any) -> FactorsResult:
    return QUESTION.answer(book, QUESTION.parsed({"defect": "puckering", **told})).result


def test_the_whole_book_is_counted(book: DuckStore) -> None:
    result = asked(book)
    assert result.exposure == ALL_RUNS * PIECES
    suppliers = {
        each.adjusted.level: each.adjusted
        for each in result.effects
        if each.adjusted.factor == "backing_supplier"
    }
    assert set(suppliers) == {"Alder", "Cedar"}
    assert suppliers["Cedar"].runs == ALL_RUNS // 2
    # By design every run on Cedar shows one puckered piece more.
    assert suppliers["Cedar"].count - suppliers["Alder"].count == ALL_RUNS // 2
    assert suppliers["Cedar"].ratio > 1


def test_a_window_narrows_what_is_counted(book: DuckStore) -> None:
    result = asked(book, since="2026-09-28", until="2026-10-04")
    assert result.exposure == RUNS_A_WEEK * PIECES


def test_any_defect_and_events_can_be_asked_about(book: DuckStore) -> None:
    assert asked(book, defect="any").kind.name == "any"
    events = asked(book, defect="thread_breaks")
    assert events.kind.measure == "events"
    assert events.count == 2 * ALL_RUNS


def test_too_little_is_refused(book: DuckStore) -> None:
    with pytest.raises(TooLittleData):
        asked(book, since="2031-01-01")
    with pytest.raises(TooLittleData):
        asked(book, defect="sinking")
