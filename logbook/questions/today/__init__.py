"""What needs somebody now, how the last weeks went, and what was sewn last on which machine."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.questions.parameters import Parameters, Site
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.today.result import TodayResult
    from logbook.store import Store


class TodayParameters(Parameters):
    """Of which site."""

    site: Site = None


def ask(store: Store, parameters: TodayParameters) -> TodayResult:
    """Say how things stand; an empty book has nothing that needs anybody."""
    from logbook.questions.today.analyse import analyse  # late: not needed for --help
    from logbook.questions.today.asking import today_data

    return analyse(today_data(store, site=parameters.site), shop=store.shop)


QUESTION = Question(
    name="today",
    title="Today",
    help="Say what needs somebody now, and how the last weeks went.",
    asks="What needs somebody now, and how did the last weeks go?",
    parameters=TodayParameters,
    ask=ask,
    room=__name__,
    answers_empty=True,
    waiting="Looking at how things stand…",
    when_empty="Once runs are logged, this shows what needs somebody.",
)
