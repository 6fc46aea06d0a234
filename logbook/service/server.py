"""Start and stop the service: one book, one port, one worker."""

from __future__ import annotations

import errno
import signal
import socket
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import uvicorn
from fastapi import FastAPI

from logbook.errors import ServiceError
from logbook.service.access.origins import Reach
from logbook.service.access.rights import Access
from logbook.service.app import application, on_stderr
from logbook.service.logs import Style, say_as_line, set_up_logging
from logbook.service.state import close_book, set_access, set_book
from logbook.store import open_book
from logbook.store.served import Notice, remove_notice, running_service, write_notice
from logbook.store.served.notice import new_notice

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8750
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
    say = (on_stderr if log == "plain" else say_as_line) if tell is None else tell
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
        set_up_logging(log)
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
