"""Private routes for commands of this machine: the open book's store, question by question.

Every request carries the token that the service left in the book's folder, where only its user
can read it.
"""

from __future__ import annotations

import hmac
from collections.abc import Callable
from pathlib import Path
from typing import Any

from anyio import CapacityLimiter
from anyio.to_thread import run_sync
from fastapi import APIRouter, Depends, HTTPException, Request, Response
from fastapi.responses import JSONResponse

from logbook.errors import LogbookError
from logbook.service.holding import the_book
from logbook.service.unsettled import UnsettledPuts
from logbook.store.served.wire import (
    FRAME_TYPE,
    PROTOCOL,
    REFUSED,
    TOKEN_HEADER,
    apart_as_sent,
    card_out,
    change_out,
    error_out,
    frame_in,
    frame_out,
    kinds_out,
    stored_out,
    window_in,
)

AT_ONCE = 64
"""Requests worked on side by side; the pages have threads of their own."""


def book_routes(token: str) -> APIRouter:
    """Build the routes.

    Parameters
    ----------
    token
        What every request must carry.
    """

    async def known_caller(request: Request) -> None:
        told = request.headers.get(TOKEN_HEADER, "")
        if not hmac.compare_digest(told.encode(), token.encode()):
            raise HTTPException(403, "These routes are for commands of this book's user.")

    known = [Depends(known_caller)]
    router = APIRouter(prefix="/book", dependencies=known, include_in_schema=False)
    threads = CapacityLimiter(AT_ONCE)
    _add_questions(router, threads)
    _add_changes(router, threads)
    _add_corrections(router, threads)
    _add_cards(router, threads)
    return router


def _add_questions(router: APIRouter, threads: CapacityLimiter) -> None:
    @router.post("/hello")
    async def hello() -> Response:
        # Answered without a thread: a command asks this first, however busy the book is.
        return JSONResponse(
            {
                "protocol": PROTOCOL,
                "folder": str(the_book().folder.resolve()),
                "own_kinds": kinds_out(the_book().shop),
            }
        )

    @router.post("/ask/{what}")
    async def ask(what: str, request: Request) -> Response:
        if what not in QUESTIONS:
            raise HTTPException(404, "There is no such question.")
        asked = await request.json()
        return await _answered(threads, lambda: QUESTIONS[what](asked))


def _add_changes(router: APIRouter, threads: CapacityLimiter) -> None:
    unsettled = UnsettledPuts()

    @router.post("/put")
    async def put(
        request: Request, source: str, amend: bool, dry_run: bool, settling: bool
    ) -> Response:
        content = await request.body()

        def work() -> Response:
            runs, as_sent = apart_as_sent(frame_in(content))
            more: dict[str, Any] = {"source": source, "amend": amend, "as_sent": as_sent}
            if not settling:
                stored = the_book().put(runs, dry_run=dry_run, **more)
                return JSONResponse({"stored": stored_out(stored), "waiting": None})
            name, would = unsettled.begin(
                lambda settle: the_book().put(runs, settle=settle, **more)
            )
            return JSONResponse({"stored": stored_out(would), "waiting": name})

        return await _answered(threads, work)

    @router.post("/settled")
    async def settled(request: Request) -> Response:
        word = await request.json()

        def work() -> Response:
            stored = unsettled.settle(word["waiting"], keep=word["keep"])
            return JSONResponse(None if stored is None else stored_out(stored))

        return await _answered(threads, work)


def _add_corrections(router: APIRouter, threads: CapacityLimiter) -> None:
    @router.post("/amend")
    async def amend(
        request: Request, run_ref: str, source: str, why: str | None = None, seen: int | None = None
    ) -> Response:
        content = await request.body()

        def work() -> Response:
            the_book().amend(run_ref, frame_in(content), why=why, source=source, seen=seen)
            return JSONResponse(None)

        return await _answered(threads, work)

    @router.post("/withdraw")
    async def withdraw(request: Request) -> Response:
        asked = await request.json()

        def work() -> Response:
            the_book().withdraw(**asked)
            return JSONResponse(None)

        return await _answered(threads, work)


def _add_cards(router: APIRouter, threads: CapacityLimiter) -> None:
    @router.post("/keep_card")
    async def keep_card(request: Request) -> Response:
        asked = await request.json()
        return await _answered(threads, lambda: JSONResponse(the_book().keep_card(**asked)))

    @router.post("/withdraw_card")
    async def withdraw_card(request: Request) -> Response:
        asked = await request.json()

        def work() -> Response:
            the_book().withdraw_card(**asked)
            return JSONResponse(None)

        return await _answered(threads, work)


async def _answered(threads: CapacityLimiter, work: Callable[[], Response]) -> Response:
    """Do the work on a thread; an error of ours travels by its class and message."""
    try:
        return await run_sync(work, limiter=threads)
    except LogbookError as problem:
        return JSONResponse(error_out(problem), status_code=REFUSED)


def _runs(asked: Any) -> Response:
    frame = the_book().runs(
        window_in(asked["window"]),
        refs=asked["refs"],
        newest_first=asked["newest_first"],
        limit=asked["limit"],
        offset=asked["offset"],
    )
    return Response(frame_out(frame), media_type=FRAME_TYPE)


def _cells(asked: Any) -> Response:
    window = window_in(asked["window"])
    frame = the_book().cells(asked["kinds"], by=asked["by"], window=window)
    return Response(frame_out(frame), media_type=FRAME_TYPE)


def _totals(asked: Any) -> Response:
    frame = the_book().totals(by=asked["by"], window=window_in(asked["window"]))
    return Response(frame_out(frame), media_type=FRAME_TYPE)


def _history(asked: Any) -> Response:
    return JSONResponse([change_out(change) for change in the_book().history(asked["run_ref"])])


def _known(asked: Any) -> Response:
    return JSONResponse(the_book().known(asked["column"]))


def _span(_: Any) -> Response:
    days = the_book().span()
    return JSONResponse(None if days is None else [day.isoformat() for day in days])


def _count(_: Any) -> Response:
    return JSONResponse(the_book().count())


def _cards(asked: Any) -> Response:
    found = the_book().cards(asked["drawer"], refs=asked["refs"], about=asked["about"])
    return JSONResponse([card_out(card) for card in found])


def _card_history(asked: Any) -> Response:
    found = the_book().card_history(asked["drawer"], asked["card_ref"])
    return JSONResponse([card_out(card) for card in found])


def _snapshot(asked: Any) -> Response:
    return JSONResponse(the_book().snapshot(Path(asked["folder"])))


QUESTIONS: dict[str, Callable[[Any], Response]] = {
    "runs": _runs,
    "cells": _cells,
    "totals": _totals,
    "history": _history,
    "known": _known,
    "span": _span,
    "count": _count,
    "cards": _cards,
    "card_history": _card_history,
    "snapshot": _snapshot,
}
