"""Which way leads to a book: its file, or the service that holds it."""

from __future__ import annotations

import random
import time
from pathlib import Path

from logbook.errors import BookBusy, StoreError
from logbook.store import open_book
from logbook.store.duckdb_store import DuckStore
from logbook.store.opening import BUSY_SECONDS, LONGEST_PAUSE_SECONDS
from logbook.store.served.calling import HELLO_SECONDS, NoAnswer, call, read_json
from logbook.store.served.notice import Notice, read_notice
from logbook.store.served.served_store import ServedStore
from logbook.store.served.wire import PROTOCOL, plain_values
from logbook.store.settings import FILE_NAME as SETTINGS_NAME
from logbook.store.settings import read_settings

STARTING_SECONDS = 30.0
"""How long a command waits for a service that has the book open already, to answer."""


def reach_book(place: str, *, wait_seconds: float = BUSY_SECONDS) -> DuckStore | ServedStore:
    """Open a book, or reach it through the service that holds it.

    Parameters
    ----------
    place
        Folder of the book.
    wait_seconds
        How long to wait for another command that holds the book for a moment.

    Raises
    ------
    NoBook, NotABook, BookBusy, BookNewer, BookReadOnly, SettingsError
        As :func:`logbook.store.open_book`.
    StoreError
        The service was started by another version, or with other defect kinds.
    """
    begun = time.monotonic()
    pause = 0.05
    while True:
        found = _knock(place)
        if found is not None:
            return _served(*found, place)
        try:
            return open_book(place, wait_seconds=0.0)
        except BookBusy as busy:
            left = _notice_of(place)
            starting = left is not None and left.process_id == busy.process_id
            patience = max(wait_seconds, STARTING_SECONDS if starting else 0.0)
            if time.monotonic() - begun >= patience:
                raise
        time.sleep(pause * random.uniform(0.5, 1.5))
        pause = min(pause * 1.5, LONGEST_PAUSE_SECONDS)


def running_service(place: str) -> Notice | None:
    """The service that holds the book at a place and answers; None where there is none."""
    found = _knock(place)
    return None if found is None else found[0]


def _notice_of(place: str) -> Notice | None:
    return None if "://" in place else read_notice(Path(place).expanduser())


def _knock(place: str) -> tuple[Notice, dict[str, object]] | None:
    notice = _notice_of(place)
    if notice is None:
        return None
    try:
        reply = read_json(call(notice, "hello", seconds=HELLO_SECONDS))
        served = Path(reply["folder"])
        # A folder that was copied or moved while it was served holds the notice of another book.
        same = served.is_dir() and served.samefile(Path(place).expanduser())
    except (NoAnswer, KeyError, TypeError, OSError):
        # A notice that was left behind by a service that was killed.
        return None
    return (notice, reply) if same else None


def _served(notice: Notice, reply: dict[str, object], place: str) -> ServedStore:
    again = (
        f"stop the service (process {notice.process_id}) with Ctrl-C where it was started, "
        "then start it again"
    )
    if reply.get("protocol") != PROTOCOL:
        raise StoreError(
            f"The book at {place} is held by a service that another version started.", again
        )
    folder = Path(place).expanduser()
    shop = read_settings(folder / SETTINGS_NAME)
    if reply.get("own") != plain_values(shop.own):
        raise StoreError(
            f"The defect kinds or columns in {folder / SETTINGS_NAME} were changed since the "
            f"service at {notice.address} was started.",
            again,
        )
    # Its operations are made from the interface: no type checker can see them.
    return ServedStore(notice, folder=folder, shop=shop)  # type: ignore[abstract]
