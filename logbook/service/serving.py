"""Start and stop the service: routes at the root, the pages beneath, one worker."""

from __future__ import annotations

import errno
import signal
import socket
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import NoReturn

import streamlit as st
import uvicorn
from fastapi import FastAPI
from starlette.middleware.trustedhost import TrustedHostMiddleware

from logbook.errors import ServiceError
from logbook.service.doors import LOOPBACK_HOSTS, OwnOriginOnly, only_this_machine
from logbook.service.holding import hold, let_go, the_book
from logbook.store import open_book

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8750
WARMED: tuple[str, ...] = ("logbook.answers.runs", "logbook.charts", "logbook.report")
"""Slow to load, and needed by the pages: loaded at the start, so that no visitor waits."""
SECONDS_TO_FINISH = 5
"""How long open pages may go on after the service is told to stop."""


def run(
    place: str,
    *,
    host: str = DEFAULT_HOST,
    port: int = DEFAULT_PORT,
    tell: Callable[[str], object] | None = None,
) -> None:
    """Serve the pages of a book until stopped (Ctrl-C, or SIGTERM).

    Parameters
    ----------
    place
        Folder of the book; it stays open, and closed to other processes, until the end.
    host, port
        Where to listen. Only this machine's own addresses are served.
    tell
        Told in words where to open the pages; the terminal's error stream if not given.

    Raises
    ------
    ServiceError
        The address is not this machine's own, or the port is taken.
    StoreError
        The book cannot be opened.
    """
    listening = _listen(only_this_machine(host), port)
    # Uvicorn stops gracefully and then raises the signal anew, which would skip the closing.
    before = signal.signal(signal.SIGTERM, _leave)
    say = _on_stderr if tell is None else tell
    try:
        hold(open_book(place))
        config = uvicorn.Config(
            application(started=lambda: say(_welcome(place, host, listening))),
            log_level="warning",
            ws="websockets-sansio",
            timeout_graceful_shutdown=SECONDS_TO_FINISH,
        )
        uvicorn.Server(config).run(sockets=[listening])
    except KeyboardInterrupt:
        say("Stopped; the book is closed.")
    finally:
        let_go()
        listening.close()
        signal.signal(signal.SIGTERM, before)


def application(*, started: Callable[[], object] | None = None) -> FastAPI:
    """Build the ASGI application over the book of this process.

    Parameters
    ----------
    started
        Called once everything is up.
    """
    for name in WARMED:
        import_module(name)
    pages = st.App(_pages_script())
    pages_lifespan = pages.lifespan()

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        async with pages_lifespan(app):
            if started is not None:
                started()
            yield

    # No /docs of FastAPI's own: it fetches its scripts from outside.
    app = FastAPI(title="logbook", lifespan=lifespan, docs_url=None, redoc_url=None)
    app.add_middleware(OwnOriginOnly)
    app.add_middleware(TrustedHostMiddleware, allowed_hosts=list(LOOPBACK_HOSTS))

    @app.get("/health")
    def health() -> dict[str, str]:
        """Answer once the book is open and can be read."""
        the_book().count()
        return {"status": "ok"}

    app.mount("/", pages)
    return app


def _pages_script() -> Path:
    # Found, not imported: the pages stand on a higher floor, and Streamlit runs the script.
    found = find_spec("dashboards")
    if found is None or not found.submodule_search_locations:
        raise ServiceError(
            "The pages are not installed: there is no package named dashboards.",
            "install the project anew, with: uv sync",
        )
    return Path(next(iter(found.submodule_search_locations))) / "app.py"


def _leave(*_: object) -> NoReturn:
    raise SystemExit(0)


def _listen(host: str, port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as cause:
        listening.close()
        raise _refused(host, port, cause) from cause
    return listening


def _refused(host: str, port: int, cause: OSError) -> ServiceError:
    if cause.errno == errno.EADDRINUSE:
        return ServiceError(
            f"Port {port} on {host} is in use by another program, or the pages are open already.",
            f"look at http://{host}:{port}, or choose another port: "
            f"logbook serve --port {port + 1 if port < 65535 else port - 1}",
        )
    if cause.errno == errno.EACCES:
        return ServiceError(
            f"This user may not listen on port {port}.",
            f"choose a port above 1023, such as: logbook serve --port {DEFAULT_PORT}",
        )
    return ServiceError(
        f"Port {port} on {host} cannot be listened on: {cause.strerror}.", "choose another --port"
    )


def _welcome(place: str, host: str, listening: socket.socket) -> str:
    port = listening.getsockname()[1]
    return f"The book at {place} is open at http://{host}:{port}   (Ctrl-C stops)"


def _on_stderr(words: str) -> None:
    sys.stderr.write(words + "\n")
    sys.stderr.flush()
