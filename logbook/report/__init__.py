"""One self-contained HTML page: no scripts, nothing from outside, prints well on A4."""

from __future__ import annotations

from base64 import b64encode
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from logbook.assets import page_template
from logbook.atomic_files import atomic_write
from logbook.charts.theme import LIGHT
from logbook.questions.answer import Answer
from logbook.questions.asking import ReviewCharts
from logbook.questions.control.words import READING, sentences
from logbook.questions.review.analyse import ReviewResult
from logbook.questions.review.chart_words import chart_words
from logbook.questions.review.decided import NOT_A_TRIAL
from logbook.report import paper
from logbook.report.tables import table_html
from logbook.shop import Shop
from logbook.short_figures import count_short, interval_short, money_or_not_known, rate_short
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

if TYPE_CHECKING:
    from logbook.book.thumbnails import RunPhotos
    from logbook.questions.control.result import ControlResult
    from logbook.questions.costs.analyse import ParetoResult
    from logbook.questions.review.analyse import Defect

__all__ = ["RECORD_ONLY", "answer_page", "review_page", "write_answer", "write_review"]


RECORD_ONLY = (
    "This page is a record of the shop's own counts, not a safety certificate. The makers' "
    "instructions, the customer's specification and local rules come first."
)


def review_page(result: ReviewResult, charts: ReviewCharts, shop: Shop) -> str:
    """Write a weekly review as one HTML page.

    Parameters
    ----------
    result, charts
        The review and what illustrates it.
    shop
        Whose name stands at the head.

    Returns
    -------
    str
        HTML; every text of users is escaped.
    """
    return page_template("review").render(
        review=result,
        shop=shop,
        colours=LIGHT,
        rows=[_row(each) for each in result.rows],
        loud=[each.says for each in result.standing_out],
        apart=[each.says for each in result.kept_apart],
        pareto=_pareto(charts.pareto),
        charts=[_control(each, result) for each in charts.control],
        reading=READING,
        photos={run_ref: _photos(each) for run_ref, each in charts.photos.items()},
        not_a_trial=NOT_A_TRIAL,
        record_only=RECORD_ONLY,
        held_caution=BROKEN_NEEDLE_HELD,
        by_cost=result.ordered_by == "cost",
    )


def write_review(path: Path, result: ReviewResult, charts: ReviewCharts, shop: Shop) -> None:
    """Write the page to a file, as a whole or not at all.

    Raises
    ------
    IntakeError
        The file cannot be written.
    """
    with atomic_write(path) as part:
        part.write_text(review_page(result, charts, shop), encoding="utf-8")


def answer_page(answer: Answer[Any]) -> str:
    """Write an answer as one HTML page; every text of users is escaped."""
    return page_template("answer").render(
        answer=answer,
        shop=answer.shop,
        colours=LIGHT,
        table_of=lambda table: Markup(table_html(table)),
        record_only=RECORD_ONLY,
    )


def write_answer(path: Path, answer: Answer[Any]) -> None:
    """Write the page of an answer to a file, as a whole or not at all.

    Raises
    ------
    IntakeError
        The file cannot be written.
    """
    with atomic_write(path) as part:
        part.write_text(answer_page(answer), encoding="utf-8")


def _pareto(result: ParetoResult | None) -> dict[str, Any] | None:
    if result is None or not result.costed.total_count:
        return None
    return {
        "words": result.finding(),
        "drawn": result.only is None and bool(result.drawn),
        "not_drawn": result.not_drawn(),
        "wide": Markup(paper.pareto(result)),
        "narrow": Markup(paper.pareto(result, paper.PHONE)),
    }


def _control(chart: ControlResult, result: ReviewResult) -> dict[str, Any]:
    return {
        "words": chart_words(chart, result),
        "wide": Markup(paper.control(chart)),
        "narrow": Markup(paper.control(chart, paper.PHONE)),
        "signals": sentences(chart),
    }


def _photos(photos: RunPhotos) -> dict[str, Any]:
    return {
        "shown": [b64encode(each).decode() for each in photos.shown],
        "rest": photos.others_words,
    }


def _row(defect: Defect) -> dict[str, str]:
    judged = defect.judged
    measure = judged.kind.measure
    return {
        "label": judged.kind.label,
        "counted": count_short(measure, judged.count, judged.exposure),
        "rate": rate_short(measure, judged.rate),
        "interval": interval_short(measure, judged.interval),
        "before": rate_short(measure, judged.rate_before),
        "verdict": defect.verdict_words,
        "tone": judged.verdict,
        "cost": money_or_not_known(defect.amount),
    }
