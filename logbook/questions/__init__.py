"""One folder a question: what is asked, the numbers of the answer, its words, tables and figure.

A new question is a folder here and a line in :data:`QUESTIONS`; the command, the route under
``/api/``, the page and the Python call are made of its one declaration.
"""

from __future__ import annotations

from typing import Any

from logbook.questions import (
    advice,
    breaks,
    control,
    costs,
    factors,
    forecast,
    places,
    review,
    suppliers,
    today,
    trace,
    trials,
    watch,
    where,
)
from logbook.questions.question import Question

QUESTIONS: dict[str, Question[Any, Any]] = {
    each.name: each
    for each in (
        today.QUESTION,
        review.QUESTION,
        control.QUESTION,
        costs.QUESTION,
        suppliers.QUESTION,
        factors.QUESTION,
        advice.QUESTION,
        forecast.QUESTION,
        trials.QUESTION,
        breaks.QUESTION,
        places.QUESTION,
        watch.QUESTION,
        where.QUESTION,
        trace.QUESTION,
    )
}
