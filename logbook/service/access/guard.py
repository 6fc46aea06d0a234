"""The guard before the pages and the API: who may not come in goes no further.

There is no header by which anybody could say who they are: the guard reads the session's cookie
or the token, and so do the pages each time they are drawn, and each route of the API. Beneath the
API programs ask, which are refused with problem details; everywhere else people do.
"""

from __future__ import annotations

from collections.abc import MutableMapping
from typing import Any
from urllib.parse import quote

from fastapi import FastAPI, HTTPException, Request
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send
from starlette.websockets import WebSocketClose

from logbook.errors import ServiceError
from logbook.service.access.rights import Access, NotAllowed
from logbook.service.api.addresses import ROOT, as_address
from logbook.service.api.problems import answer_problem, details_of, details_of_status

API = f"{ROOT}/"
SIGN_IN = "/sign-in"
SIGN_OUT = "/sign-out"
OPEN: frozenset[str] = frozenset({"/health", "/ready", SIGN_IN, SIGN_OUT})
"""Answered to anyone; they say nothing about the record."""
BOOK = "/book/"
"""Routes for commands of the book's user, which carry a token of their own."""
FORM_BYTES = 4096
API_BYTES = 32 * 2**20
POLICY_VIOLATION = 1008
Message = MutableMapping[str, Any]


class TooLarge(HTTPException):
    """A body is larger than what may be sent there."""

    def __init__(self, most: float) -> None:
        super().__init__(413, f"At most {most:,.0f} bytes.")


def refusal(path: str, status: int, words: str) -> Response:
    """Answer a request that goes no further: a problem beneath the API, plain text elsewhere."""
    if not path.startswith(API):
        return PlainTextResponse(words, status_code=status)
    problem = details_of_status(status, words, instance=as_address(path))
    token = {"WWW-Authenticate": "Bearer"} if status == 401 else None
    return answer_problem(problem, headers=token)


def unreadable(path: str, problem: ServiceError) -> Response:
    """Answer where it cannot be read who may come in."""
    if not path.startswith(API):
        return PlainTextResponse(str(problem), status_code=503)
    return answer_problem(details_of(problem, instance=as_address(path)))


def answer_refusals(app: FastAPI) -> None:
    """Answer what routes and bodies of an application are refused for in the same way."""

    async def refused(request: Request, problem: Any) -> Response:
        return refusal(request.scope["path"], problem.status_code, str(problem.detail))

    for kind in (NotAllowed, TooLarge):
        app.add_exception_handler(kind, refused)


class Guarded:
    """Let in who may come in, cut off whose session ends, and turn away what is too large."""

    def __init__(self, app: ASGIApp, access: Access) -> None:
        self.app = app
        self.access = access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        try:
            turned_away = self._refusal(scope)
        except ServiceError as problem:
            turned_away = unreadable(scope["path"], problem)
        if turned_away is None and scope["type"] == "http":
            await self.app(scope, _limited(scope, receive), send)
        elif turned_away is None:
            await _Watched(self.access, scope, receive, send).run(self.app)
        elif scope["type"] == "http":
            await turned_away(scope, receive, send)
        else:
            await WebSocketClose(code=POLICY_VIOLATION)(scope, receive, send)

    def _refusal(self, scope: Scope) -> Response | None:
        request, path = HTTPConnection(scope), scope["path"]
        http = scope["type"] == "http"
        if http and _announced(request) > _most_bytes(path):
            return refusal(path, 413, f"At most {_most_bytes(path):,.0f} bytes.")
        if http and (path in OPEN or (path.startswith(BOOK) and scope["method"] == "POST")):
            return None
        if http and path.startswith(API):
            if self.access.caller(request) is not None:
                return None
            return refusal(path, 401, "Send a token: Authorization: Bearer ….")
        if self.access.visitor(request.cookies) is not None:
            return None
        if http and scope["method"] == "GET" and "text/html" in request.headers.get("accept", ""):
            return RedirectResponse(f"{SIGN_IN}?next={quote(_address(scope))}", status_code=303)
        return refusal(path, 401, "Sign in first.")


class _Watched:
    """A page's open line, cut as soon as its session counts no more."""

    def __init__(self, access: Access, scope: Scope, receive: Receive, send: Send) -> None:
        self.access = access
        self.scope, self.receive, self.send = scope, receive, send
        self.cookies = HTTPConnection(scope).cookies
        self.cut = False

    async def run(self, app: ASGIApp) -> None:
        await app(self.scope, self._receive, self._send)

    async def _receive(self) -> Message:
        message = await self.receive()
        if message["type"] == "websocket.receive" and not self._still_counts():
            self.cut = True
            await self.send({"type": "websocket.close", "code": POLICY_VIOLATION})
            return {"type": "websocket.disconnect", "code": POLICY_VIOLATION}
        return message

    async def _send(self, message: Message) -> None:
        if not self.cut:
            await self.send(message)

    def _still_counts(self) -> bool:
        try:
            return self.access.visitor(self.cookies) is not None
        except ServiceError:
            return False


def _limited(scope: Scope, receive: Receive) -> Receive:
    most, got = _most_bytes(scope["path"]), 0

    async def counted() -> Message:
        nonlocal got
        message = await receive()
        got += len(message.get("body", b""))
        if got > most:
            raise TooLarge(most)
        return message

    return counted


def _most_bytes(path: str) -> float:
    if path in OPEN:
        return FORM_BYTES
    # The pages' uploads have Streamlit's own limit, and commands of this machine have none.
    return API_BYTES if path.startswith(API) else float("inf")


def _announced(request: HTTPConnection) -> int:
    length = request.headers.get("content-length", "")
    return int(length) if length.isdecimal() else 0


def _address(scope: Scope) -> str:
    path, query = str(scope["path"]), scope["query_string"].decode("latin-1")
    return f"{path}?{query}" if query else path
