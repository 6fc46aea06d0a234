"""The chart asked of a book whose answers can be worked out by hand."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from small_shop import (
    MUCH_PUCKERED,
    PIECES,
    RUNS_A_WEEK,
    USUAL_PUCKERED,
    WEEK,
    WEEKS_BEFORE,
    small_book,
)

from logbook.errors import AnalysisError, ParameterError, TooLittleData
from logbook.questions.control import QUESTION, ChartParameters, ask
from logbook.store.duckdb_store import DuckStore

PIECES_A_WEEK = RUNS_A_WEEK * PIECES


def _puckered(per_run: int) -> int:
    """In a week: half of the runs, those on Cedar, show one piece more."""
    return RUNS_A_WEEK * per_run + RUNS_A_WEEK // 2


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with small_book(tmp_path_factory.mktemp("chart") / "book") as store:
        yield store


@pytest.mark.parametrize(
    ("by", "points"), [("run", RUNS_A_WEEK), ("day", 5), ("week", 1), ("month", 2)]
)
def test_a_window_counts_the_same_pieces_however_grouped(
    book: DuckStore, by: str, points: int
) -> None:
    asked = {"defect": "puckering", "by": by, "since": "2026-09-28", "until": "2026-10-04"}
    chart = ask(book, ChartParameters.model_validate(asked))
    assert chart.points.height == points
    assert chart.points["exposure"].sum() == PIECES_A_WEEK
    assert chart.points["count"].sum() == _puckered(MUCH_PUCKERED)


def test_a_baseline_sets_the_usual_rate(book: DuckStore) -> None:
    chart = ask(
        book,
        ChartParameters(defect="puckering", spread="plain", baseline="2026-W26..2026-W39"),
    )
    assert chart.baseline_points == WEEKS_BEFORE
    assert chart.centre == pytest.approx(_puckered(USUAL_PUCKERED) / PIECES_A_WEEK)
    assert WEEK in {signal.label for signal in chart.signals}


@pytest.mark.parametrize("by", ["run", "day"])
@pytest.mark.parametrize("baseline", ["2026-W26..2026-W39", "W26..W39"])
def test_weeks_set_the_usual_rate_of_shorter_points(
    book: DuckStore, by: str, baseline: str
) -> None:
    asked = {"defect": "puckering", "by": by, "spread": "plain", "baseline": baseline}
    chart = ask(book, ChartParameters.model_validate(asked))
    assert chart.centre == pytest.approx(_puckered(USUAL_PUCKERED) / PIECES_A_WEEK)
    assert 0 < chart.baseline_points < chart.points.height


def test_runs_are_named_as_the_chart_prints_them(book: DuckStore) -> None:
    asked = {"defect": "puckering", "by": "run", "spread": "plain"}
    labels = ask(book, ChartParameters.model_validate(asked)).points["label"]
    asked["baseline"] = f"{labels[3]}..{labels[9]}"
    chart = ask(book, ChartParameters.model_validate(asked))
    assert chart.points.filter("in_baseline")["label"].to_list() == labels[3:10].to_list()


@pytest.mark.parametrize("baseline", ["Tuesday..2026-W20", "R-1..R-2", "2026-13..2026-14"])
def test_what_is_no_label_of_a_chart_is_named(book: DuckStore, baseline: str) -> None:
    with pytest.raises(AnalysisError, match=f"'{baseline.partition('..')[0]}' is no day"):
        ask(book, ChartParameters(defect="puckering", baseline=baseline))


def test_a_window_without_runs_has_too_little(book: DuckStore) -> None:
    with pytest.raises(TooLittleData):
        ask(book, ChartParameters.model_validate({"defect": "puckering", "since": "2031-01-01"}))


@pytest.mark.parametrize("baseline", ["2026-W01", "..", "2026-W01..", "..2026-W20", " .. "])
def test_a_baseline_needs_both_ends(baseline: str) -> None:
    with pytest.raises(ParameterError, match=r"is not FROM\.\.TO"):
        QUESTION.parsed({"defect": "puckering", "baseline": baseline})


def test_its_tables_leave_the_drawing_to_figures(book: DuckStore) -> None:
    answer = QUESTION.answer(book, QUESTION.parsed({"defect": "puckering"}))
    [table] = answer.tables
    assert len(table.rows) == answer.result.points.height
    assert [heading.drawn for heading in table.headings].count(True) == 1
    assert answer.headline.startswith("Puckering: ")
