"""What is said beside the charts of a review agrees with its verdicts."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from weeks_of_runs import WEEK, book, plain_week, plain_weeks

from dashboards import review_titles
from dashboards.review_charts import is_news
from logbook.calendar_weeks import weeks_before
from logbook.questions import QUESTIONS, control
from logbook.questions.control.result import ControlResult
from logbook.questions.control.stretches import Signal
from logbook.questions.control.words import headline
from logbook.questions.costs import words as costs
from logbook.questions.review.charts import as_judged
from logbook.questions.review.result import ReviewResult
from logbook.questions.review.words import headline as summary
from logbook.questions.review.words import in_full
from logbook.questions.review.words.charts import chart_words, unsaid
from logbook.report import answer_page


def reviewed(place: Path, runs: list[dict[str, Any]]) -> tuple[ReviewResult, ControlResult, str]:
    """The review of the week, the plain chart of gaps, and the page as a file."""
    with book(place, runs) as store:
        answer = QUESTIONS["review"].asked(store, week=WEEK)
        before = weeks_before(WEEK, 14)
        plain = control.ask(
            store, control.ChartParameters(defect="gaps", baseline=f"{before[0]}..{before[-1]}")
        )
        return answer.result, plain, answer_page(answer)


def one_run(**changes: Any) -> list[dict[str, Any]]:
    """Fourteen plain weeks, then a week of one run of 36 pieces."""
    small = {"pieces_sewn": 36, "pieces_inspected": 36, "pieces_defective": 2, "gaps": 0}
    run = plain_week(WEEK)[0] | small | {"stitches_sewn": 180_000.0} | changes
    return [*plain_weeks(14), run]


def chart_of(result: ReviewResult, kind: str) -> ControlResult:
    (chart,) = [each for each in result.charts if each.kind.name == kind]
    return chart


def test_a_point_of_one_run_is_not_called_out(tmp_path: Path) -> None:
    result, plain, page = reviewed(tmp_path, one_run(gaps=2, pieces_sewn=30, pieces_inspected=30))
    (gaps,) = [each.judged for each in result.defects if each.judged.kind.name == "gaps"]
    assert gaps.verdict == "cannot_say"
    assert gaps.signals, "the answer to programs is as it was"
    assert WEEK in {signal.label for signal in plain.signals}, "and so is the chart by itself"
    chart = chart_of(result, "gaps")
    assert WEEK not in {signal.label for signal in chart.signals}
    assert chart.points["upper"].to_list() == plain.points["upper"].to_list()
    words = chart_words(chart, result)
    assert "above the limit" not in words
    assert "one run: 2 of 30 pieces inspected" in words
    assert words in page


def test_why_nothing_is_said_is_said(tmp_path: Path) -> None:
    result, _, page = reviewed(tmp_path, one_run(gaps=1))
    chart = chart_of(result, "gaps")
    words = chart_words(chart, result)
    why = f"Week {WEEK}, one run: 1 of 36 pieces inspected, where about 0.4 would be usual"
    assert f"{why}: too few to tell." in words
    assert words.endswith("No week before stands out.")
    assert words in page
    assert not is_news(chart, result)
    assert review_titles.over_the_weeks(chart, result) == (
        "Gaps between areas: too few this week to tell"
    )


def test_signals_of_weeks_before_are_told_as_such(tmp_path: Path) -> None:
    result, _, _ = reviewed(tmp_path, one_run(gaps=1))
    old, new = weeks_before(WEEK, 1)[0], WEEK
    signals = tuple(
        Signal(label, "run_of_8", "below", f"Week {label}: 9 weeks in a row below the usual rate.")
        for label in (old, new)
    )
    chart = as_judged(replace(chart_of(result, "gaps"), signals=signals), result)
    assert [signal.label for signal in chart.signals] == [old]
    assert chart_words(chart, result).endswith(
        f"too few to tell. 1 week before stood out; the last: Week {old}: 9 weeks in a row below "
        "the usual rate."
    )
    assert review_titles.over_the_weeks(chart, result) == (
        "Gaps between areas: too few this week to tell; 1 week before stood out"
    )


def test_a_low_week_of_few_is_no_news_though_its_verdict_is_as_usual(tmp_path: Path) -> None:
    result, _, _ = reviewed(tmp_path, one_run(pieces_sewn=100, pieces_inspected=100))
    (gaps,) = [each.judged for each in result.defects if each.judged.kind.name == "gaps"]
    assert (gaps.verdict, gaps.count) == ("as_usual", 0)
    signals = tuple(
        Signal(WEEK, rule, side, "Week.")
        for rule, side in (("run_of_8", "below"), ("two_of_three", "above"))
    )
    mould = replace(result.charts[0], kind=gaps.kind, signals=signals)
    assert [each.direction for each in as_judged(mould, result).signals] == ["above"]
    assert unsaid(mould, result) == ""


def test_a_full_week_is_told_as_before(tmp_path: Path) -> None:
    result, plain, _ = reviewed(tmp_path, [*plain_weeks(14), *plain_week(WEEK, gaps=6)])
    chart = chart_of(result, "gaps")
    assert chart.signals == plain.signals
    assert chart_words(chart, result) == headline(chart)
    assert is_news(chart, result)


def test_a_thin_week_says_that_little_is_known(tmp_path: Path) -> None:
    result, _, _ = reviewed(tmp_path, one_run())
    assert {each.judged.verdict for each in result.defects} >= {"cannot_say"}
    assert summary(result).startswith("Too little was recorded in this week to say how")


def test_kinds_left_are_said_in_whole_words(tmp_path: Path) -> None:
    result, _, _ = reviewed(tmp_path, one_run())
    unsaid_kinds = [each for each in result.defects if each.judged.verdict == "cannot_say"]
    assert review_titles.kinds_left(unsaid_kinds * 3) == (
        f"{3 * len(unsaid_kinds)} more kinds of defect, of all of which too little is known to say"
    )
    usual = replace(unsaid_kinds[0], judged=replace(unsaid_kinds[0].judged, verdict="as_usual"))
    assert review_titles.kinds_left([usual, usual, unsaid_kinds[0]]) == (
        "3 more kinds of defect: 2 as usual; of 1 too little is known to say"
    )
    assert review_titles.kinds_left([usual, usual]) == "2 more kinds of defect, all as usual"


def test_a_single_kind_that_cost_anything_is_said_without_a_chart(tmp_path: Path) -> None:
    result, _, page = reviewed(tmp_path, one_run(pieces_spoiled=0))
    assert result.costs.only is not None
    assert costs.headline(result.costs).startswith("Only thread breaks cost anything: EUR ")
    assert "100 %" not in costs.headline(result.costs)
    assert f"<p>{costs.headline(result.costs)}</p>" in page
    assert "Only thread breaks cost anything" in in_full(result)


def test_several_kinds_that_cost_keep_their_chart(tmp_path: Path) -> None:
    result, _, page = reviewed(tmp_path, [*plain_weeks(14), *plain_week(WEEK)])
    assert result.costs.only is None
    assert f"<figcaption>{costs.headline(result.costs)}</figcaption>" in page


def test_faults_of_the_goods_are_said_in_whole_words(tmp_path: Path) -> None:
    few, _, _ = reviewed(tmp_path, one_run(fabric_faults=0))
    assert review_titles.came_in(few.kept_apart) == "Faults of the fabric: 0 %, too few to say"
    none, _, _ = reviewed(tmp_path / "none", one_run(fabric_faults=None))
    assert review_titles.came_in(none.kept_apart) == "Faults of the fabric: nothing recorded"
