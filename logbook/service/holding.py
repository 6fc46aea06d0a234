"""The one open book of this process: while it is held, no other process can open it."""

from __future__ import annotations

import threading

from logbook.store import book_place, open_book
from logbook.store.duckdb_store import DuckStore


class _Holder:
    """A place for one store; a lock, since every visitor of a page has a thread."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.store: DuckStore | None = None


_HOLDER = _Holder()


def hold(store: DuckStore) -> None:
    """Make an open store the one that every page and route of this process uses."""
    with _HOLDER.lock:
        _HOLDER.store = store


def let_go() -> None:
    """Close the book that is held; nothing happens where none is."""
    with _HOLDER.lock:
        store, _HOLDER.store = _HOLDER.store, None
    if store is not None:
        store.close()


def the_book() -> DuckStore:
    """Return the book of this process, opened once.

    The service hands over the book that it has opened. A page that runs without the service
    (under ``streamlit run``, or in a test) opens the one that ``LOGBOOK_BOOK`` names, else
    ``./book``.

    Raises
    ------
    NoBook, NotABook, BookBusy, BookNewer, BookReadOnly, SettingsError
        As when a book is opened.
    """
    with _HOLDER.lock:
        if _HOLDER.store is None:
            _HOLDER.store = open_book(book_place(None))
        return _HOLDER.store
