"""Every question as a route, made of its one declaration: it answers what its command writes."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Query, Response

from logbook.questions import QUESTIONS
from logbook.questions.question import Question
from logbook.service.api.callers import MAY_READ
from logbook.service.api.problems import Problem, answer
from logbook.service.api.query_parameters import GIVEN_ONCE
from logbook.service.api.shapes import answers, parameters_of
from logbook.service.state import the_book

reading = APIRouter(tags=["Questions"], dependencies=[MAY_READ, GIVEN_ONCE])


def _route_of(question: Question[Any, Any]) -> Callable[..., Response]:
    def route(parameters: Any) -> Response:
        return answer(question.answer(the_book(), parameters).as_json())

    kind: Any = Annotated[question.parameters, Query()]
    route.__annotations__ = {"parameters": kind, "return": Response}
    route.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
        [inspect.Parameter("parameters", inspect.Parameter.KEYWORD_ONLY, annotation=kind)],
        return_annotation=Response,
    )
    route.__name__ = question.name
    return route


for each in QUESTIONS.values():
    reading.add_api_route(
        f"/{each.name}",
        _route_of(each),
        summary=each.asks,
        description=each.help,
        responses=answers(each.schema_name, Problem.NOT_UNDERSTOOD, Problem.NO_ANSWER),
        openapi_extra={"parameters": parameters_of(each.parameters.further())},
    )
