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
from logbook.service.api import analyses, logging_runs, marks, questions, runs
from logbook.service.api.description import about
from logbook.service.api.problems import (
    NOT_UNDERSTOOD,
    NothingInnerLeaks,
    Refusal,
    answer,
    details,
    details_of,
    details_of_status,
    reason,
)
from logbook.service.api.where import ROOT, as_address

ROUTERS = (
    logging_runs.logging,
    # Before the runs, whose references may hold any text.
    marks.reading,
    marks.marking,
    runs.reading,
    runs.amending,
    analyses.reading,
    questions.reading,
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
    """Put the API where it belongs, at :data:`where.ROOT`; built anew if not given."""
    here = Mount(ROOT, app=api() if app is None else app)
    # So that an address with a line break comes here, too, and is told what is wrong.
    here.path_regex = re.compile(here.path_regex.pattern, re.DOTALL)
    return here


async def _of_ours(request: Request, problem: Any) -> Response:
    told = details_of(problem, instance=_asked(request))
    return answer(told, told["status"])


async def _of_the_api(request: Request, problem: Any) -> Response:
    told = details(
        problem.kind,
        problem.detail,
        instance=_asked(request),
        hint=problem.hint,
        reasons=problem.reasons,
    )
    return answer(told, told["status"], headers=problem.headers)


async def _of_parameters(request: Request, problem: Any) -> Response:
    reasons = [reason(named(each), said(each)) for each in problem.errors()]
    told = details(
        NOT_UNDERSTOOD,
        f"Nothing was done: {'; '.join(each['reason'] for each in reasons)}.",
        instance=_asked(request),
        hint="mend what is named and ask again",
        reasons=reasons,
    )
    return answer(told, told["status"])


async def _of_http(request: Request, problem: Any) -> Response:
    headers = dict(problem.headers or {})
    if problem.status_code == 405:
        headers["Allow"] = ", ".join(_methods_here(request))
    if problem.status_code == 401:
        headers.setdefault("WWW-Authenticate", "Bearer")
    told = details_of_status(problem.status_code, str(problem.detail), instance=_asked(request))
    return answer(told, problem.status_code, headers=headers)


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


def _asked(request: Request) -> str:
    return as_address(request.scope["path"])
