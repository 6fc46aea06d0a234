"""What the page of a weekly review is filled with: its charts, its photos, its sentences."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from typing import Any

import plotly.graph_objects as go

from logbook.book.thumbnails import RunPhotos, thumbnails_of_runs
from logbook.questions.answer import Answer
from logbook.questions.control import figure as control_figure
from logbook.questions.control.result import ControlResult
from logbook.questions.control.words import READING, sentences
from logbook.questions.costs import figure as costs_figure
from logbook.questions.costs import words as costs_words
from logbook.questions.costs.result import CostsResult
from logbook.questions.review.decided import NOT_A_TRIAL
from logbook.questions.review.result import ReviewResult
from logbook.questions.review.words import held_names, in_full
from logbook.questions.review.words.changes import change_sentence
from logbook.questions.review.words.charts import chart_words
from logbook.questions.review.words.kinds import says
from logbook.questions.watch.figure import course
from logbook.questions.watch.result import Finding
from logbook.questions.watch.words import PRACTICE
from logbook.questions.watch.words.findings import (
    beside,
    cautions,
    figures,
    known,
    look_first,
    news,
    short,
    tells_apart,
)
from logbook.report.drawings import drawing_of
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

CHART_HEIGHT = 290
"""Low enough that a phone shows a chart and its words together."""


def review_page(answer: Answer[ReviewResult]) -> Mapping[str, Any]:
    """Fill the template of the review."""
    review = answer.result
    return {
        "review": review,
        "held": held_names(review),
        "held_caution": BROKEN_NEEDLE_HELD,
        "in_full": in_full(review),
        "different": _different(review),
        "different_practice": PRACTICE,
        "different_cautions": ()
        if review.different is None
        else cautions(*review.different.findings),
        "standing_out": [says(each) for each in review.standing_out],
        "changed": [change_sentence(each) for each in review.changed],
        "kept_apart": [says(each) for each in review.kept_apart],
        "costs": _costs(review.costs),
        "charts": [_chart(each, review) for each in review.charts],
        "reading": READING,
        "photos": {name: _photos(each) for name, each in thumbnails_of_runs(review.photos).items()},
        "not_a_trial": NOT_A_TRIAL,
    }


def _different(review: ReviewResult) -> list[dict[str, Any]]:
    if review.different is None:
        return []
    return [
        {
            "news": news(each),
            "lines": [line for line in _lines(each, review.currency) if line],
            "drawing": drawing_of(course(each), short(each)),
        }
        for each in review.different.findings
    ]


def _lines(each: Finding, currency: str) -> tuple[str | None, ...]:
    told = (figures(each, currency), known(each), beside(each), tells_apart(each))
    return (*told, *look_first(each))


def _costs(result: CostsResult) -> dict[str, Any] | None:
    if not result.costed.total_count:
        return None
    drawn = result.only is None and result.drawn
    return {
        "words": costs_words.headline(result),
        "drawing": drawing_of(costs_figure.draw(result)) if drawn else None,
        "not_drawn": costs_words.not_drawn(result),
    }


def _chart(chart: ControlResult, review: ReviewResult) -> dict[str, Any]:
    return {
        "words": chart_words(chart, review),
        "drawing": drawing_of(chart_figure(chart)),
        "signals": sentences(chart),
    }


def chart_figure(chart: ControlResult, *, dark: bool = False) -> go.Figure:
    """A chart of a review: the chart's own figure, lower."""
    return control_figure.draw(chart, dark=dark).update_layout(height=CHART_HEIGHT)


def _photos(photos: RunPhotos) -> dict[str, Any]:
    return {
        "shown": [b64encode(each).decode() for each in photos.shown],
        "rest": photos.others_words,
    }
