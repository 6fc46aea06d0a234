"""Requests turned away before any route has them, told in the way that the one who asks reads.

Beneath the API programs ask, which read problem details; everywhere else people do.
"""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI, HTTPException, Request
from starlette.responses import PlainTextResponse, Response

from logbook.errors import ServiceError
from logbook.service.access import NotAllowed
from logbook.service.api.problems import answer, details_of, details_of_status
from logbook.service.api.where import ROOT, as_address

API = f"{ROOT}/"
A_TOKEN: dict[str, str] = {"WWW-Authenticate": "Bearer"}
"""What is missing where nobody known asks."""


class TooLarge(HTTPException):
    """A body is larger than what may be sent there."""

    def __init__(self, most: float) -> None:
        super().__init__(413, f"At most {most:,.0f} bytes.")


def refusal(path: str, status: int, words: str) -> Response:
    """Answer a request that goes no further: a problem beneath the API, plain text elsewhere."""
    if not path.startswith(API):
        return PlainTextResponse(words, status_code=status)
    told = details_of_status(status, words, instance=as_address(path))
    return answer(told, status, headers=A_TOKEN if status == 401 else None)


def unreadable(path: str, problem: ServiceError) -> Response:
    """Answer where it cannot be read who may come in."""
    if not path.startswith(API):
        return PlainTextResponse(str(problem), status_code=503)
    told = details_of(problem, instance=as_address(path))
    return answer(told, told["status"])


def answer_refusals(app: FastAPI) -> None:
    """Answer what routes and bodies of an application are refused for in the same way."""

    async def refused(request: Request, problem: Any) -> Response:
        return refusal(request.scope["path"], problem.status_code, str(problem.detail))

    for kind in (NotAllowed, TooLarge):
        app.add_exception_handler(kind, refused)
