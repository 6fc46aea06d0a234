"""One self-contained HTML page of an answer: no scripts, nothing from outside, made for A4."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from markupsafe import Markup

from logbook.assets import page_template
from logbook.atomic_files import atomic_write
from logbook.charts.theme import LIGHT
from logbook.questions.answer import Answer
from logbook.report.drawings import drawing_of
from logbook.report.review import review_page
from logbook.report.tables import table_html

__all__ = ["RECORD_ONLY", "answer_page", "write_answer"]

RECORD_ONLY = (
    "This page is a record of the shop's own counts, not a safety certificate. The makers' "
    "instructions, the customer's specification and local rules come first."
)
COMPOSED: Mapping[str, Callable[[Answer[Any]], Mapping[str, Any]]] = {"review": review_page}
"""Questions with a template of their own, and what that is filled with besides."""


def answer_page(answer: Answer[Any]) -> str:
    """Write an answer as one HTML page; every text of users is escaped."""
    composed = COMPOSED.get(answer.question.name)
    figure = answer.figure()
    return page_template("answer" if composed is None else answer.question.name).render(
        answer=answer,
        shop=answer.shop,
        colours=LIGHT,
        table_of=lambda table: Markup(table_html(table)),
        drawing=None if figure is None else drawing_of(figure, answer.headline),
        further=[
            drawing_of(draw(answer.result), answer.headline) for draw in answer.further_figures
        ],
        record_only=RECORD_ONLY,
        **({} if composed is None else composed(answer)),
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
