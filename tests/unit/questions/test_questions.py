"""The commands' questions, asked of a book whose answers can be worked out by hand."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from small_shop import (
    MUCH_PUCKERED,
    PIECES,
    RUNS_A_WEEK,
    USUAL_PUCKERED,
    WEEK,
    small_book,
)

from logbook.errors import VocabularyError
from logbook.questions.asking import (
    CHARTED_KINDS,
    review_charts,
    weekly_review,
)
from logbook.questions.parameters import kind_of
from logbook.questions.review.weeks import last_week
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

PIECES_A_WEEK = RUNS_A_WEEK * PIECES


def _puckered(per_run: int) -> int:
    """In a week: half of the runs, those on Cedar, show one piece more."""
    return RUNS_A_WEEK * per_run + RUNS_A_WEEK // 2


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with small_book(tmp_path_factory.mktemp("questions") / "book") as store:
        yield store


def test_the_last_week_with_runs_is_reviewed_unless_told(book: DuckStore) -> None:
    assert last_week(book) == WEEK
    assert weekly_review(book).week == WEEK
    earlier = weekly_review(book, week="2026-W39")
    assert earlier.week == "2026-W39"
    assert earlier.pieces_inspected == PIECES_A_WEEK


def test_the_review_counts_the_week_and_the_weeks_before_it(book: DuckStore) -> None:
    result = weekly_review(book, week=WEEK)
    [puckering] = [each for each in result.defects if each.judged.kind.name == "puckering"]
    judged = puckering.judged
    assert (judged.count, judged.exposure) == (_puckered(MUCH_PUCKERED), PIECES_A_WEEK)
    assert judged.rate_before == pytest.approx(_puckered(USUAL_PUCKERED) / PIECES_A_WEEK)
    assert judged.verdict == "more_than_usual"


def test_a_site_nobody_logged_for_has_no_runs(book: DuckStore) -> None:
    assert weekly_review(book, week=WEEK, site="Elsewhere").runs == 0


def test_an_empty_book_is_reviewed_for_the_present_week(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as empty:
        result = weekly_review(empty)
        assert result.monday <= date.today() <= result.sunday
        assert (result.runs, result.defects) == (0, ())
        charts = review_charts(empty, result)
    assert (charts.pareto, charts.control) == (None, ())


def test_a_review_is_illustrated_by_what_wants_a_look_first(book: DuckStore) -> None:
    result = weekly_review(book, week=WEEK)
    charts = review_charts(book, result)
    assert charts.pareto is not None
    names = [chart.kind.name for chart in charts.control]
    assert names[0] == "any"
    assert names[1] == "puckering"
    assert len(names) <= CHARTED_KINDS + 1
    assert all(chart.points["label"][-1] <= WEEK for chart in charts.control)


def test_the_charts_of_an_earlier_week_stop_there(book: DuckStore) -> None:
    charts = review_charts(book, weekly_review(book, week="2026-W39"))
    assert charts.control
    assert {chart.points["label"][-1] for chart in charts.control} == {"2026-W39"}


def test_kinds_are_found_by_name(book: DuckStore) -> None:
    assert kind_of(book, "puckering").measure == "pieces"
    assert kind_of(book, "any").name == "any"
    with pytest.raises(VocabularyError):
        kind_of(book, "sunshine")
