"""The API as an application of its own, so that its errors and its description are its own too."""

from __future__ import annotations

import re
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.routing import Match, Mount

from logbook.errors import LogbookError
from logbook.questions.faults import named, said
from logbook.service.api import log_runs, marks, questions, runs, trials
from logbook.service.api.addresses import ROOT, as_address
from logbook.service.api.description import about
from logbook.service.api.problems import (
    NothingInnerLeaks,
    Problem,
    Refusal,
    answer_problem,
    details,
    details_of,
    details_of_status,
    reason,
)

ROUTERS = (
    log_runs.logging,
    # Before the runs, whose references may hold any text.
    marks.reading,
    marks.marking,
    runs.reading,
    runs.amending,
    questions.reading,
    trials.deciding,
)
"""Each asks for the right that it needs; see :mod:`logbook.service.api.callers`."""
METHODS: tuple[str, ...] = ("GET", "POST", "PATCH", "DELETE")


def api() -> FastAPI:
    """Build the API over the book of this process."""
    app = FastAPI(
        title="logbook",
        summary="The record of an embroidery shop's runs, and what it says of their defects.",
        version="1",
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
    )
    for router in ROUTERS:
        app.include_router(router)
    app.include_router(about(app))
    app.add_exception_handler(LogbookError, _of_ours)
    app.add_exception_handler(Refusal, _of_the_api)
    app.add_exception_handler(RequestValidationError, _of_parameters)
    app.add_exception_handler(HTTPException, _of_http)
    app.add_middleware(NothingInnerLeaks)
    return app


def mounted(app: FastAPI | None = None) -> Mount:
    """Put the API where it belongs, at :data:`addresses.ROOT`; built anew if not given."""
    here = Mount(ROOT, app=api() if app is None else app)
    # So that an address with a line break comes here, too, and is told what is wrong.
    here.path_regex = re.compile(here.path_regex.pattern, re.DOTALL)
    return here


async def _of_ours(request: Request, error: Any) -> Response:
    return answer_problem(details_of(error, instance=_address(request)))


async def _of_the_api(request: Request, refusal: Any) -> Response:
    problem = details(
        refusal.problem,
        refusal.detail,
        instance=_address(request),
        hint=refusal.hint,
        reasons=refusal.reasons,
    )
    return answer_problem(problem, headers=refusal.headers)


async def _of_parameters(request: Request, error: Any) -> Response:
    reasons = [reason(named(each), said(each)) for each in error.errors()]
    problem = details(
        Problem.NOT_UNDERSTOOD,
        f"Nothing was done: {'; '.join(each['reason'] for each in reasons)}.",
        instance=_address(request),
        hint="mend what is named and ask again",
        reasons=reasons,
    )
    return answer_problem(problem)


async def _of_http(request: Request, error: Any) -> Response:
    headers = dict(error.headers or {})
    if error.status_code == 405:
        headers["Allow"] = ", ".join(_methods_here(request))
    if error.status_code == 401:
        headers.setdefault("WWW-Authenticate", "Bearer")
    problem = details_of_status(error.status_code, str(error.detail), instance=_address(request))
    return answer_problem(problem, headers=headers)


def _methods_here(request: Request) -> list[str]:
    """Every method that the address answers; each route by itself knows only its own."""
    routes = request.app.router.routes
    return [
        method
        for method in METHODS
        if any(
            route.matches({**request.scope, "method": method})[0] is Match.FULL for route in routes
        )
    ]


def _address(request: Request) -> str:
    return as_address(request.scope["path"])
