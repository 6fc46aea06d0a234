"""How a week went: how much went wrong, luck or not, what it cost, what to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from logbook.questions.parameters import Metavar, Parameters, Site
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.review.result import ReviewResult
    from logbook.store import Store


class ReviewParameters(Parameters):
    """Which week to review."""

    week: Annotated[
        str | None,
        Field(title="Week", description="Such as 2026-W40; else the last week with runs."),
        Metavar("WEEK"),
    ] = None
    site: Site = None


def ask(store: Store, parameters: ReviewParameters) -> ReviewResult:
    """Review a week; the last with runs by today where none is named.

    Raises
    ------
    AnalysisError
        The text is no week.
    """
    from dataclasses import replace

    from logbook.book.photos import photos_of  # late: not needed for --help
    from logbook.book.weeks import last_week
    from logbook.questions.review.analyse import analyse
    from logbook.questions.review.reading import review_data
    from logbook.questions.watch import WatchParameters
    from logbook.questions.watch import ask as watched

    week = parameters.week or last_week(store)
    result = analyse(review_data(store, week, site=parameters.site), week=week, shop=store.shop)
    photos = {run.run_ref: tuple(photos_of(store, run.run_ref)) for run in result.look_at}
    return replace(
        result,
        photos={name: files for name, files in photos.items() if files},
        different=watched(store, WatchParameters(week=week, site=parameters.site)),
    )


QUESTION = Question(
    name="review",
    title="Weekly review",
    help="Review a week's defects: how much, more than usual or luck, what cost most.",
    asks="How did the week go: more defects than usual, what did they cost, what to look at?",
    parameters=ReviewParameters,
    ask=ask,
    room=__name__,
    no_figure="a review is illustrated by the charts of the kinds to look at, and by the costs",
    answers_empty=True,
    waiting="Reviewing…",
    when_empty="Once runs are logged, the week's defects are reviewed here.",
)
