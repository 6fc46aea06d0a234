"""A review asked of a book whose answers can be worked out by hand."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from small_shop import MUCH_PUCKERED, PIECES, RUNS_A_WEEK, USUAL_PUCKERED, WEEK, small_book

from logbook.book.weeks import last_week
from logbook.questions.review import ReviewParameters, ask
from logbook.questions.review.charts import CHARTED_KINDS
from logbook.questions.review.result import ReviewResult
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

PIECES_A_WEEK = RUNS_A_WEEK * PIECES


def reviewed(store: DuckStore, **asked: Any) -> ReviewResult:
    return ask(store, ReviewParameters(**asked))


def _puckered(per_run: int) -> int:
    """In a week: half of the runs, those on Cedar, show one piece more."""
    return RUNS_A_WEEK * per_run + RUNS_A_WEEK // 2


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with small_book(tmp_path_factory.mktemp("review") / "book") as store:
        yield store


def test_the_last_week_with_runs_is_reviewed_unless_told(book: DuckStore) -> None:
    assert last_week(book) == WEEK
    assert reviewed(book).week == WEEK
    earlier = reviewed(book, week="2026-W39")
    assert earlier.week == "2026-W39"
    assert earlier.pieces_inspected == PIECES_A_WEEK


def test_the_review_counts_the_week_and_the_weeks_before_it(book: DuckStore) -> None:
    result = reviewed(book, week=WEEK)
    [puckering] = [each for each in result.defects if each.judged.kind.name == "puckering"]
    judged = puckering.judged
    assert (judged.count, judged.exposure) == (_puckered(MUCH_PUCKERED), PIECES_A_WEEK)
    assert judged.rate_before == pytest.approx(_puckered(USUAL_PUCKERED) / PIECES_A_WEEK)
    assert judged.verdict == "more_than_usual"


def test_a_site_nobody_logged_for_has_no_runs(book: DuckStore) -> None:
    assert reviewed(book, week=WEEK, site="Elsewhere").runs == 0


def test_an_empty_book_is_reviewed_for_the_present_week(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as empty:
        result = reviewed(empty)
        assert result.monday <= date.today() <= result.sunday
        assert (result.runs, result.defects) == (0, ())
    assert (result.costs.costed.total_count, result.charts) == (0, ())


def test_a_review_is_illustrated_by_what_wants_a_look_first(book: DuckStore) -> None:
    result = reviewed(book, week=WEEK)
    names = [chart.kind.name for chart in result.charts]
    assert names[0] == "any"
    assert names[1] == "puckering"
    assert len(names) <= CHARTED_KINDS + 1
    assert all(chart.points["label"][-1] <= WEEK for chart in result.charts)


def test_the_charts_of_an_earlier_week_stop_there(book: DuckStore) -> None:
    charts = reviewed(book, week="2026-W39").charts
    assert charts
    assert {chart.points["label"][-1] for chart in charts} == {"2026-W39"}
