"""Runs logged: the one route that many clients ask at once, all day."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

from logbook.service.access.rights import Caller
from logbook.service.api.addresses import RUNS, run_at
from logbook.service.api.bodies import JsonBytes, json_bytes, read_json
from logbook.service.api.callers import MAY_LOG, WhoLogs, may_log, source_of
from logbook.service.api.idempotency import KEY_NAME, KeyHeader, KeysInUse, read_key
from logbook.service.api.log_requests import LogRequest, log_alone, log_request
from logbook.service.api.problems import OF_BODIES, NothingInnerLeaks, Problem, answer
from logbook.service.api.query_parameters import only
from logbook.service.api.shapes import LOGGING, answers
from logbook.service.batching import MOST_ENTRIES, Batcher
from logbook.service.state import the_book
from logbook.store.replies import Reply

logging = APIRouter(tags=["Runs"], dependencies=[MAY_LOG])

SMALL_BYTES = 64_000
"""A larger body is read on a thread: reading it would hold up all others."""
_NO_PARAMETERS = only()
_KEYS = KeysInUse()
_BATCHER = Batcher(_KEYS)


@logging.post(
    "/runs",
    summary="Log a run, or many",
    responses=answers(
        "Logged",
        *OF_BODIES,
        *(Problem.BAD_KEY, Problem.CONFLICT, Problem.STILL_RUNNING),
        *(Problem.NOT_TAKEN, Problem.OTHER_BODY),
        adds=True,
    ),
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
    request = _request(body, idempotency_key, caller)
    if len(request.entries) > MOST_ENTRIES:
        return await run_in_threadpool(_log_alone, request)
    return _response(await _BATCHER.log(request))


class FastPath:
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
            response = await log_runs(caller, body, request.headers.get(KEY_NAME))
        except Exception as problem:
            kinds = [kind for kind in type(problem).__mro__ if kind in self.handlers]
            if not kinds:
                raise
            response = await self.handlers[kinds[0]](request, problem)
        await response(scope, receive, send)


def _log_many(body: bytes, key: str | None, caller: Caller) -> Response:
    return _log_alone(_request(body, key, caller))


def _log_alone(request: LogRequest) -> Response:
    _KEYS.claim(request.key)
    try:
        return _response(log_alone(request))
    finally:
        _KEYS.release(request.key)


def _request(body: bytes, key: str | None, caller: Caller) -> LogRequest:
    read = read_json(body)
    own_key = read_key(key, caller.name)
    return log_request(the_book(), read, key=own_key, source=source_of(caller))


def _response(reply: Reply) -> Response:
    headers = {}
    if reply.status == 201:
        run_refs = json.loads(reply.content)["run_refs"]
        headers = {"Location": run_at(run_refs[0])} if len(run_refs) == 1 else {}
    return answer(reply.content, reply.status, headers=headers)
