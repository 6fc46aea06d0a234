"""Private routes for commands of this machine: the open book's store, operation by operation.

Every request carries the token that the service left in the book's folder, where only its user
can read it.
"""

from __future__ import annotations

import hmac

from anyio import CapacityLimiter
from anyio.to_thread import run_sync
from fastapi import APIRouter, Depends, HTTPException, Request, Response
from fastapi.responses import JSONResponse

from logbook.errors import LogbookError
from logbook.service.state import the_book
from logbook.store.served.operations import PENDING_OPERATIONS, STORE_OPERATIONS
from logbook.store.served.pending import PendingPuts
from logbook.store.served.wire import (
    CONTENT_TYPE,
    PROTOCOL,
    REFUSED,
    TOKEN_HEADER,
    error_out,
    plain_values,
)

AT_ONCE = 64
"""Requests worked on side by side; the pages have threads of their own."""


def store_routes(token: str) -> APIRouter:
    """Build the routes.

    Parameters
    ----------
    token
        What every request must carry.
    """

    async def known_caller(request: Request) -> None:
        presented = request.headers.get(TOKEN_HEADER, "")
        if not hmac.compare_digest(presented.encode(), token.encode()):
            raise HTTPException(403, "These routes are for commands of this book's user.")

    known = [Depends(known_caller)]
    router = APIRouter(prefix="/book", dependencies=known, include_in_schema=False)
    threads = CapacityLimiter(AT_ONCE)
    pending = PendingPuts(the_book)

    @router.post("/hello")
    async def hello() -> Response:
        # Answered without a thread: a command asks this first, however busy the book is.
        return JSONResponse(
            {
                "protocol": PROTOCOL,
                "folder": str(the_book().folder.resolve()),
                "own": plain_values(the_book().shop.own),
            }
        )

    @router.post("/{operation}")
    async def answer(operation: str, request: Request) -> Response:
        body = await request.body()

        def work() -> bytes:
            if operation in STORE_OPERATIONS:
                return STORE_OPERATIONS[operation].answered(the_book(), body)
            if operation in PENDING_OPERATIONS:
                return PENDING_OPERATIONS[operation].answered(pending, body)
            raise HTTPException(404, "There is no such operation.")

        try:
            content = await run_sync(work, limiter=threads)
        except LogbookError as problem:
            # It travels by its class and message, to be raised again by the command.
            return JSONResponse(error_out(problem), status_code=REFUSED)
        return Response(content, media_type=CONTENT_TYPE)

    return router
