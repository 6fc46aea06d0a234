"""What this process serves: one open book, which no other process can open, and its access."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field

from logbook.service.access.rights import Access
from logbook.store import book_place, open_book
from logbook.store.duckdb_store import DuckStore


@dataclass(slots=True)
class _State:
    lock: threading.Lock = field(default_factory=threading.Lock)
    """Since every visitor of a page has a thread."""
    book: DuckStore | None = None
    access: Access | None = None


_STATE = _State()


def set_book(book: DuckStore | None) -> None:
    """Make an open book the one that every page and route of this process uses.

    ``None`` parts with the one before, which stays open.
    """
    with _STATE.lock:
        _STATE.book = book


def close_book() -> None:
    """Close the book of this process; nothing happens where none is open."""
    with _STATE.lock:
        book, _STATE.book = _STATE.book, None
    if book is not None:
        book.close()


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
    with _STATE.lock:
        if _STATE.book is None:
            _STATE.book = open_book(book_place(None))
        return _STATE.book


def set_access(access: Access | None) -> None:
    """Set whom every page and route of this process asks for rights."""
    _STATE.access = access


def the_access() -> Access:
    """Return the access of this process.

    A page that runs without the service (in a test) asks the folder of the book it has open.
    """
    return Access(the_book().folder) if _STATE.access is None else _STATE.access
