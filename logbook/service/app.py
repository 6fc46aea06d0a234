"""The ASGI application: what every request passes, the API, the pages beneath."""

from __future__ import annotations

import gc
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

import streamlit as st
from fastapi import FastAPI, Request
from fastapi.responses import JSONResponse, RedirectResponse

from logbook.errors import LogbookError, ServiceError
from logbook.service.access.attempts import Attempts
from logbook.service.access.guard import Guarded, answer_refusals
from logbook.service.access.headers import SafeHeaders
from logbook.service.access.origins import LOOPBACK_HOSTS, KnownHostsOnly, OwnOriginOnly, Reach
from logbook.service.access.sign_in import sign_in_routes
from logbook.service.api.app import api, mounted
from logbook.service.api.log_runs import FastPath
from logbook.service.daily_backup import backed_up_daily
from logbook.service.devices import NamedDevices
from logbook.service.logs import LoggedRequests
from logbook.service.state import the_access, the_book
from logbook.service.store_routes import store_routes

WARMED: tuple[str, ...] = ("logbook.book.runs", "logbook.charts", "logbook.report")
"""Slow to load, and needed by the pages: loaded at the start, so that no visitor waits."""


def application(
    *,
    reach: Reach | None = None,
    started: Callable[[], object] | None = None,
    say: Callable[[str], object] | None = None,
    token: str | None = None,
) -> FastAPI:
    """Build the ASGI application over the book of this process.

    Parameters
    ----------
    reach
        Where it listens; this machine alone if not given.
    started
        Called once everything is up.
    say
        Told in words of what goes wrong beside the requests; the error stream if not given.
    token
        What commands of this machine show to work on the book; without one they cannot.
    """
    say = on_stderr if say is None else say
    for name in WARMED:
        import_module(name)
    pages = st.App(_pages_script())
    pages_lifespan = pages.lifespan()

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        async with pages_lifespan(app):
            with backed_up_daily(the_book(), say=say):
                # What is there now stays; looking through it for rubbish stops all for 0.1 s.
                gc.collect()
                gc.freeze()
                if started is not None:
                    started()
                yield

    # No /docs of FastAPI's own: it fetches its scripts from outside.
    app = FastAPI(title="logbook", lifespan=lifespan, docs_url=None, redoc_url=None)
    the_api = api()
    # Innermost: the guards are asked before it.
    app.add_middleware(FastPath, handlers=the_api.exception_handlers)
    _put_guards(app, Reach(LOOPBACK_HOSTS[0]) if reach is None else reach)

    @app.get("/health")
    def health() -> dict[str, str]:
        """Answer once the book is open and can be read."""
        the_book().count()
        return {"status": "ok"}

    @app.get("/ready", response_model=None)
    def ready() -> dict[str, str] | JSONResponse:
        """Answer whether requests can be served now: the book and who may come in can be read."""
        try:
            the_book().count()
            the_access().credentials()
        except LogbookError:
            return JSONResponse({"status": "not ready"}, status_code=503)
        return {"status": "ready"}

    @app.get("/today", include_in_schema=False)
    def today(request: Request) -> RedirectResponse:
        """Lead to the first of the pages, which Streamlit gives no address of its own."""
        return RedirectResponse(f"/?{request.url.query}" if request.url.query else "/")

    if token is not None:
        app.include_router(store_routes(token))
    app.router.routes.append(mounted(the_api))
    app.mount("/", pages)
    return app


def _put_guards(app: FastAPI, reach: Reach) -> None:
    access = the_access()
    app.include_router(sign_in_routes(access, Attempts()))
    answer_refusals(app)
    # The one added last is asked first.
    app.add_middleware(Guarded, access=access)
    app.add_middleware(NamedDevices)
    app.add_middleware(OwnOriginOnly)
    app.add_middleware(KnownHostsOnly, reach=reach)
    app.add_middleware(SafeHeaders)
    app.add_middleware(LoggedRequests)


def _pages_script() -> Path:
    # Found, not imported: the pages stand on a higher floor, and Streamlit runs the script.
    found = find_spec("dashboards")
    if found is None or not found.submodule_search_locations:
        raise ServiceError(
            "The pages are not installed: there is no package named dashboards.",
            "install the project anew, with: uv sync",
        )
    return Path(next(iter(found.submodule_search_locations))) / "app.py"


def on_stderr(words: str) -> None:
    """Say words on the terminal, beside whatever is piped on."""
    sys.stderr.write(words + "\n")
    sys.stderr.flush()
