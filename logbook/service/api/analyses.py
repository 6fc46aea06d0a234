"""The questions: each answers what its command writes with --json."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Response

from logbook.questions.factors.asking import which_factors
from logbook.service.api.asked import (
    GIVEN_ONCE,
    FactorsAsked,
    kind_named,
)
from logbook.service.api.callers import MAY_READ
from logbook.service.api.problems import Problem, answer
from logbook.service.api.shapes import answers
from logbook.service.state import the_book

_OF_QUESTIONS = (Problem.NOT_UNDERSTOOD, Problem.NO_ANSWER)

reading = APIRouter(tags=["Questions"], dependencies=[MAY_READ, GIVEN_ONCE])


@reading.get(
    "/factors",
    summary="What goes with a defect, on like jobs",
    responses=answers("Factors", *_OF_QUESTIONS),
)
def factors(asked: Annotated[FactorsAsked, Query()]) -> Response:
    """Every level of every setup factor against its other levels on like jobs."""
    book = the_book()
    result = which_factors(book, kind=kind_named(book, asked.defect), window=asked.window())
    return answer(result.as_json())
