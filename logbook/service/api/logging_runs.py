"""Runs logged: the one route that many clients ask at once, all day."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

from logbook.service.access.rights import Caller
from logbook.service.api.asked import only
from logbook.service.api.bodies import JsonBytes, json_bytes, read_json
from logbook.service.api.callers import MAY_LOG, WhoLogs, may_log, source_of
from logbook.service.api.gathering import MOST_ENTRIES, Gathering
from logbook.service.api.idempotency import KEY_NAME, KeyHeader, Running, read_key
from logbook.service.api.problems import (
    BAD_KEY,
    CONFLICT,
    NOT_JSON,
    NOT_TAKEN,
    NOT_UNDERSTOOD,
    OTHER_BODY,
    STILL_RUNNING,
    TOO_LARGE,
    WRONG_MEDIA_TYPE,
    NothingInnerLeaks,
    answer,
)
from logbook.service.api.shapes import LOGGING, answers
from logbook.service.api.taking import Brought, Told, brought, take_runs
from logbook.service.api.where import RUNS, run_at
from logbook.service.state import the_book

logging = APIRouter(tags=["Runs"], dependencies=[MAY_LOG])

_OF_BODIES = (NOT_JSON, TOO_LARGE, WRONG_MEDIA_TYPE, NOT_UNDERSTOOD)
_OF_LOGGING = (BAD_KEY, CONFLICT, STILL_RUNNING, NOT_TAKEN, OTHER_BODY)
SMALL_BYTES = 64_000
"""A larger body is read on a thread: reading it would hold up all others."""
_NO_PARAMETERS = only()
_RUNNING = Running()
_GATHERING = Gathering(_RUNNING)


@logging.post(
    "/runs",
    summary="Log a run, or many",
    responses=answers("Logged", *_OF_BODIES, *_OF_LOGGING, adds=True),
    openapi_extra=LOGGING,
    dependencies=[_NO_PARAMETERS],
)
async def log_runs(caller: WhoLogs, body: JsonBytes, idempotency_key: KeyHeader = None) -> Response:
    """Log one run (an object) or many (a list), with the run sheet's names.

    `finished_at`, one of `pieces_inspected`, `pieces_sewn` and `stitches_sewn`, and one outcome
    are needed; what is left out, or null, is *not recorded*, which is never zero. The answer is
    201 where something was added, 200 where nothing was but some of it is in the book already,
    409 or 422 where none of it is in the book; each run that was not taken is in `rejected` with
    the reason.

    Sending the same runs again adds nothing: a run without `run_ref` gets one that is made from
    its content. Two runs that look alike and are meant as two need references of their own, or go
    into one list.
    """
    if len(body) > SMALL_BYTES:
        return await run_in_threadpool(_log_many, body, idempotency_key, caller)
    asked = _brought(body, idempotency_key, caller)
    if len(asked.entries) > MOST_ENTRIES:
        return await run_in_threadpool(_log_alone, asked)
    return _logged(await _GATHERING.take(asked))


class ShortWay:
    """Take requests to log runs straight to :func:`log_runs`, and all others on.

    For each request FastAPI works out anew which function is meant and what that needs, which
    takes longer than the logging. Asked for here is the same, in the same order.

    Parameters
    ----------
    app
        What answers all other requests.
    handlers
        What answers errors, by their kind.
    """

    def __init__(self, app: ASGIApp, handlers: Mapping[Any, Any]) -> None:
        self.app = app
        self.handlers = handlers
        self.straight = NothingInnerLeaks(self._log)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer the request, or pass it on."""
        is_log = scope["type"] == "http" and scope["method"] == "POST" and scope["path"] == RUNS
        await (self.straight if is_log else self.app)(scope, receive, send)

    async def _log(self, scope: Scope, receive: Receive, send: Send) -> None:
        request = Request(scope, receive)
        try:
            caller = await may_log(request)
            await _NO_PARAMETERS.dependency(request)
            body = await json_bytes(request)
            told = await log_runs(caller, body, request.headers.get(KEY_NAME))
        except Exception as problem:
            kinds = [kind for kind in type(problem).__mro__ if kind in self.handlers]
            if not kinds:
                raise
            told = await self.handlers[kinds[0]](request, problem)
        await told(scope, receive, send)


def _log_many(body: bytes, key: str | None, caller: Caller) -> Response:
    return _log_alone(_brought(body, key, caller))


def _log_alone(asked: Brought) -> Response:
    _RUNNING.claim(asked.key)
    try:
        return _logged(take_runs(asked))
    finally:
        _RUNNING.let_go(asked.key)


def _brought(body: bytes, key: str | None, caller: Caller) -> Brought:
    sent = read_json(body)
    own_key = read_key(key, caller.name)
    return brought(the_book(), sent, key=own_key, source=source_of(caller))


def _logged(told: Told) -> Response:
    return answer(told.content, told.status, headers=_place(told))


def _place(told: Told) -> dict[str, str]:
    """Where the run is, for an answer about one that was added."""
    if told.status != 201:
        return {}
    run_refs = json.loads(told.content)["run_refs"]
    return {"Location": run_at(run_refs[0])} if len(run_refs) == 1 else {}
