"""What an order will probably lose, how many pieces to order for it, and how long it runs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field

from logbook.questions.advice import AdviceParameters
from logbook.questions.parameters import Metavar
from logbook.questions.question import Question, refused

if TYPE_CHECKING:
    from logbook.questions.forecast.result import ForecastResult
    from logbook.store import Store

MOST_PIECES = 100_000


class ForecastParameters(AdviceParameters):
    """The job and how many good pieces are wanted; every other parameter is part of the setup."""

    pieces: Annotated[
        int,
        Field(
            title="Pieces wanted",
            description="Good pieces that the order must deliver.",
            ge=1,
            le=MOST_PIECES,
        ),
        Metavar("N"),
    ]

    @classmethod
    def lacking(cls, asked: Mapping[str, Any]) -> str:
        """How many pieces are wanted must be said."""
        return "" if "pieces" in asked else "Say how many good pieces the order must deliver."


def ask(store: Store, parameters: ForecastParameters) -> ForecastResult:
    """Look ahead to an order.

    Raises
    ------
    ParameterError
        A part of the setup cannot be read, or is none.
    TooLittleData
        No run is on the fabric, or nobody wrote down what was spoiled.
    """
    from logbook.errors import RecordError  # late: not needed for --help
    from logbook.questions.forecast.asking import forecast

    try:
        return forecast(
            store,
            pieces=parameters.pieces,
            window=parameters.window(),
            **parameters.told(),
        )
    except RecordError as problem:
        raise refused(problem.reasons) from problem


QUESTION = Question(
    name="forecast",
    title="Forecast",
    help="Say what an order will probably lose, how many pieces to order and how long it runs.",
    asks="How many pieces must be ordered for this job, and how long will it run?",
    parameters=ForecastParameters,
    ask=ask,
    room=__name__,
    waiting="Looking at like jobs…",
    when_empty="Once runs say how many pieces were spoiled, an order's losses are told ahead here.",
)
