"""Costs asked of a book whose answers can be worked out by hand."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from small_shop import MUCH_PUCKERED, RUNS_A_WEEK, WEEKS_BEFORE, small_book

from logbook.errors import TooLittleData
from logbook.questions.costs import QUESTION
from logbook.store.duckdb_store import DuckStore


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with small_book(tmp_path_factory.mktemp("costs") / "book") as store:
        yield store


def test_days_narrow_what_is_added_up(book: DuckStore) -> None:
    whole = QUESTION.asked(book).as_json()
    week = QUESTION.asked(book, since="2026-09-28", until="2026-10-04").as_json()
    breaks = [
        next(each for each in answer["kinds"] if each["kind"] == "thread_breaks")
        for answer in (whole, week)
    ]
    assert [each["count"] for each in breaks] == [
        2 * RUNS_A_WEEK * (WEEKS_BEFORE + 1),
        2 * RUNS_A_WEEK,
    ]
    puckering = next(each for each in week["kinds"] if each["kind"] == "puckering")
    assert puckering["count"] == RUNS_A_WEEK * MUCH_PUCKERED + RUNS_A_WEEK // 2


def test_the_order_may_be_by_count(book: DuckStore) -> None:
    answer = QUESTION.asked(book, order="count")
    counts = [each["count"] for each in answer.as_json()["kinds"]]
    assert counts == sorted(counts, reverse=True)
    assert " came up most: " in answer.headline


def test_the_table_has_the_order_and_the_sums(book: DuckStore) -> None:
    answer = QUESTION.asked(book)
    kinds, apart = answer.tables
    assert [row[0].words for row in kinds.rows] == [
        each["label"] for each in answer.as_json()["kinds"]
    ]
    assert kinds.rows[-1][-1].words == "100 %"
    assert apart.rows == ()


def test_days_without_runs_have_too_little(book: DuckStore) -> None:
    with pytest.raises(TooLittleData, match="of any kind"):
        QUESTION.asked(book, since="2031-01-01")
