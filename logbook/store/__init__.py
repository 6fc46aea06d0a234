"""The book: opened, made and kept. The only room that speaks SQL."""

from __future__ import annotations

import os
from pathlib import Path

from duckdb import DuckDBPyConnection

from logbook.errors import BookReadOnly, NotABook, StoreError
from logbook.shop import Shop
from logbook.store.duckdb_store import DuckStore
from logbook.store.interface import Change, Document, Store, Stored, Window
from logbook.store.opening import BUSY_SECONDS, FILE_NAME, connect, create
from logbook.store.settings import FILE_NAME as SETTINGS_NAME
from logbook.store.settings import STARTING_SETTINGS, parse_settings, read_settings

__all__ = ["Change", "Document", "Store", "Stored", "Window", "book_place", "new_book", "open_book"]

FOLDERS = ("photos", "designs", "imports")


def book_place(named: str | None) -> str:
    """Which book is meant: the one named, else ``LOGBOOK_BOOK``, else ``./book``."""
    return named or os.environ.get("LOGBOOK_BOOK") or "book"


def open_book(place: str, *, wait_seconds: float = BUSY_SECONDS) -> DuckStore:
    """Open a book, bringing it up to date.

    Parameters
    ----------
    place
        Folder of the book.
    wait_seconds
        How long to wait for another command that holds the book for a moment.

    Raises
    ------
    NoBook, NotABook, BookBusy, BookNewer, BookReadOnly, SettingsError
        Each says what was found and what to do.
    """
    folder = _folder(place)
    if folder.is_file():
        raise NotABook(
            f"{place} is a file; a book is a folder.", "name the folder that holds the book"
        )
    shop = read_settings(folder / SETTINGS_NAME)
    return _opened(connect(folder, wait_seconds=wait_seconds), folder, shop)


def new_book(place: str, *, settings: str = STARTING_SETTINGS) -> DuckStore:
    """Start an empty book in a new or empty folder.

    Raises
    ------
    SettingsError
        The settings do not make sense; nothing was made.
    NotABook
        The folder already holds something.
    BookReadOnly
        The folder cannot be made.
    """
    folder = _folder(place)
    if (folder / FILE_NAME).exists():
        raise NotABook(f"There is already a book at {place}.", "open it, or name another folder")
    if folder.is_file() or (folder.exists() and any(folder.iterdir())):
        raise NotABook(
            f"{place} is not an empty folder; a new book was not started there.",
            "name a folder that does not exist yet",
        )
    shop = parse_settings(settings, SETTINGS_NAME)
    try:
        for name in FOLDERS:
            (folder / name).mkdir(parents=True, exist_ok=True)
        (folder / SETTINGS_NAME).write_text(settings, encoding="utf-8")
    except OSError as cause:
        raise BookReadOnly(
            f"A book cannot be started at {place}: {cause.strerror}.", "name another folder"
        ) from cause
    return _opened(create(folder), folder, shop)


def _opened(connection: DuckDBPyConnection, folder: Path, shop: Shop) -> DuckStore:
    try:
        return DuckStore(connection, folder=folder, shop=shop)
    except BaseException:
        connection.close()
        raise


def _folder(place: str) -> Path:
    if "://" in place:
        raise StoreError(
            f"{place.split('://', 1)[0]}:// books are not served by this version.",
            "name a folder; shared databases come in a later version",
        )
    folder = Path(place).expanduser()
    try:
        folder.is_dir()
    except OSError as cause:
        raise StoreError(
            f"The folder {place} cannot be looked at: {cause.strerror}.", "name another folder"
        ) from cause
    return folder
