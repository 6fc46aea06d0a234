"""Start and stop the service: routes at the root, the pages beneath, one worker."""

from __future__ import annotations

import errno
import gc
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
from fastapi import FastAPI, Request
from fastapi.responses import JSONResponse, RedirectResponse

from logbook.errors import LogbookError, ServiceError
from logbook.service.access.attempts import Attempts
from logbook.service.access.guard import Guarded, answer_refusals
from logbook.service.access.headers import SafeHeaders
from logbook.service.access.origins import KnownHostsOnly, OwnOriginOnly, Reach
from logbook.service.access.rights import Access
from logbook.service.access.sign_in import sign_in_routes
from logbook.service.api import ShortWay, api, mounted
from logbook.service.book_routes import book_routes
from logbook.service.daily import backed_up_daily
from logbook.service.devices import NamedDevices
from logbook.service.log_lines import Style, ToldRequests, say_as_line, say_in
from logbook.service.state import close_book, set_access, set_book, the_access, the_book
from logbook.store import open_book
from logbook.store.served import Notice, remove_notice, running_service, write_notice
from logbook.store.served.notice import new_notice

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8750
WARMED: tuple[str, ...] = ("logbook.book.runs", "logbook.charts", "logbook.report")
"""Slow to load, and needed by the pages: loaded at the start, so that no visitor waits."""
SECONDS_BETWEEN_LOOKS = 0.05
"""How long a token that was withdrawn may still be good."""
SECONDS_A_TURN = 0.0005
"""How long one thread may keep the others waiting. Judging and committing let others go first
hundreds of times, and with Python's usual turn would each time wait ten times as long."""
SECONDS_TO_FINISH = 5
"""How long open pages may go on after the service is told to stop."""


def run(
    place: str,
    *,
    host: str = DEFAULT_HOST,
    port: int = DEFAULT_PORT,
    names: tuple[str, ...] = (),
    proxies: tuple[str, ...] = (),
    log: Style = "plain",
    tell: Callable[[str], object] | None = None,
) -> None:
    """Serve the pages of a book until stopped (Ctrl-C, or SIGTERM).

    Parameters
    ----------
    place
        Folder of the book; it stays open, and closed to other processes, until the end.
    host, port
        Where to listen. Where other machines can reach it, both passcodes must be set.
    names
        More names under which browsers ask for the pages.
    proxies
        Addresses of reverse proxies; what they say of a request's sender and scheme is believed.
    log
        How its own lines are written.
    tell
        Told in words where to open the pages; the terminal's error stream if not given.

    Raises
    ------
    ServiceError
        Others can reach it and a passcode is missing, or the port is taken.
    StoreError
        The book cannot be opened.
    """
    reach = Reach(host, names, proxies)
    if (other := running_service(place)) is not None:
        raise ServiceError(
            f"The book at {place} is served already, at {other.address} (process "
            f"{other.process_id}).",
            f"open {other.address}, or stop that service first",
        )
    notice: Notice | None = None
    listening = _listen(host, port)
    # Uvicorn stops gracefully and then raises the signal anew, which would skip the closing.
    before = signal.signal(signal.SIGTERM, _leave)
    turn_before = sys.getswitchinterval()
    sys.setswitchinterval(SECONDS_A_TURN)
    say = (_on_stderr if log == "plain" else say_as_line) if tell is None else tell
    try:
        store = open_book(place)
        set_book(store)
        access = Access(
            store.folder,
            reached_by_others=reach.by_others,
            seconds_between_looks=SECONDS_BETWEEN_LOOKS,
        )
        if reach.by_others:
            access.demand_passcodes()
        set_access(access)
        notice = new_notice(_own_address(host, listening))
        served = application(
            reach=reach,
            started=lambda: say(_welcome(place, reach, listening)),
            say=say,
            token=notice.token,
        )
        write_notice(store.folder, notice)
        say_in(log)
        uvicorn.Server(_config(served, proxies)).run(sockets=[listening])
    except KeyboardInterrupt:
        say("Stopped; the book is closed.")
    finally:
        if notice is not None:
            remove_notice(Path(place).expanduser(), notice)
        set_access(None)
        close_book()
        listening.close()
        signal.signal(signal.SIGTERM, before)
        sys.setswitchinterval(turn_before)


def _config(served: FastAPI, proxies: tuple[str, ...]) -> uvicorn.Config:
    return uvicorn.Config(
        served,
        log_config=None,
        # Its lines hold whole addresses with what was asked; ours hold the path alone.
        access_log=False,
        server_header=False,
        proxy_headers=bool(proxies),
        forwarded_allow_ips=list(proxies),
        ws="websockets-sansio",
        timeout_graceful_shutdown=SECONDS_TO_FINISH,
    )


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
    say = _on_stderr if say is None else say
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
    # Innermost: what stands at the doors is asked before it.
    app.add_middleware(ShortWay, handlers=the_api.exception_handlers)
    _keep_doors(app, Reach(DEFAULT_HOST) if reach is None else reach)

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

    @app.get("/log", include_in_schema=False)
    def form(request: Request) -> RedirectResponse:
        """Lead to the first of the pages, which Streamlit gives no address of its own."""
        return RedirectResponse(f"/?{request.url.query}" if request.url.query else "/")

    if token is not None:
        app.include_router(book_routes(token))
    app.router.routes.append(mounted(the_api))
    app.mount("/", pages)
    return app


def _keep_doors(app: FastAPI, reach: Reach) -> None:
    access = the_access()
    app.include_router(sign_in_routes(access, Attempts()))
    answer_refusals(app)
    # The one added last is asked first.
    app.add_middleware(Guarded, access=access)
    app.add_middleware(NamedDevices)
    app.add_middleware(OwnOriginOnly)
    app.add_middleware(KnownHostsOnly, reach=reach)
    app.add_middleware(SafeHeaders)
    app.add_middleware(ToldRequests)


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


def _own_address(host: str, listening: socket.socket) -> str:
    """Where commands of this machine find it."""
    reached = "127.0.0.1" if host in ("0.0.0.0", "localhost") else host
    return f"http://{reached}:{listening.getsockname()[1]}"


def _welcome(place: str, reach: Reach, listening: socket.socket) -> str:
    port = listening.getsockname()[1]
    return f"The book at {place} is open at http://{reach.from_here}:{port}   (Ctrl-C stops)"


def _on_stderr(words: str) -> None:
    sys.stderr.write(words + "\n")
    sys.stderr.flush()
