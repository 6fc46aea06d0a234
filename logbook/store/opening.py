"""Opening a DuckDB book: whose it is, which version, and the steps that bring it up to date."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import duckdb

from logbook.errors import (
    BookBusy,
    BookNewer,
    BookReadOnly,
    LogbookError,
    NoBook,
    NotABook,
    StoreError,
)
from logbook.store.schema import MIGRATIONS, NEWEST, RECORD_OF_MIGRATIONS, missing_columns
from logbook.vocabulary.defects import DefectKind

FILE_NAME = "logbook.duckdb"
SETTINGS: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}
BUSY_SECONDS = 3.0
"""How long a command waits for another that holds the book for a moment."""

_HOLDER = re.compile(r"PID (\d+)")


def now_utc() -> datetime:
    """The present moment as the book keeps it: naive, in UTC."""
    return datetime.now(UTC).replace(tzinfo=None)


def connect(folder: Path, *, wait_seconds: float = BUSY_SECONDS) -> duckdb.DuckDBPyConnection:
    """Open the book's file for reading and writing, refusing what is newer or foreign.

    Raises
    ------
    NoBook, NotABook, BookBusy, BookNewer, BookReadOnly
        Each with what was found and what to do.
    """
    path = folder / FILE_NAME
    if not path.exists():
        raise NoBook(
            f"There is no book at {folder}.",
            f"start one with: logbook new {folder}   (or name another with --book)",
        )
    _refuse_newer(path, wait_seconds)
    return _open(path, wait_seconds, read_only=False)


def create(folder: Path) -> duckdb.DuckDBPyConnection:
    """Make the file of an empty book in an existing folder."""
    return _open(folder / FILE_NAME, 0.0, read_only=False)


def bring_up_to_date(
    connection: duckdb.DuckDBPyConnection, own_kinds: Sequence[DefectKind]
) -> tuple[int, ...]:
    """Run the migrations that the book lacks, each in its own transaction.

    Returns
    -------
    tuple of int
        Numbers of the migrations that ran.
    """
    connection.execute(RECORD_OF_MIGRATIONS)
    done = {row[0] for row in connection.execute("SELECT number FROM migrations").fetchall()}
    ran = []
    for migration in MIGRATIONS:
        if migration.number in done:
            continue
        with transaction(connection):
            for statement in migration.statements:
                connection.execute(statement)
            connection.execute(
                "INSERT INTO migrations VALUES (?, ?, ?)",
                [migration.number, migration.name, now_utc()],
            )
        ran.append(migration.number)
    present = [row[0] for row in connection.execute("DESCRIBE runs").fetchall()]
    for statement in missing_columns(present, own_kinds):
        connection.execute(statement)
    return tuple(ran)


@contextmanager
def transaction(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """All or nothing: commit at the end, roll back on any error."""
    connection.execute("BEGIN TRANSACTION")
    try:
        yield
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


@contextmanager
def told_plainly(place: str) -> Iterator[None]:
    """Turn the database's own errors into ours, with what to do."""
    try:
        yield
    except LogbookError:
        raise
    except duckdb.IOException as cause:
        raise _from_disk(place, str(cause)) from cause
    except duckdb.Error as cause:
        raise StoreError(
            f"The book at {place} could not do what was asked: {_first_line(cause)}.",
            "nothing was changed; if this happens again, report it with this message",
        ) from cause


def _refuse_newer(path: Path, wait_seconds: float) -> None:
    # Read-only first: opening a newer book for writing could already change its file.
    connection = _open(path, wait_seconds, read_only=True)
    try:
        tables = {row[0] for row in connection.execute("SHOW TABLES").fetchall()}
        if "migrations" not in tables:
            if tables:
                raise NotABook(
                    f"{path} is a database, but not a book of this program.",
                    "name another folder with --book",
                )
            return
        newest = connection.execute("SELECT max(number) FROM migrations").fetchone()
    finally:
        connection.close()
    if newest is not None and newest[0] is not None and newest[0] > NEWEST:
        raise BookNewer(
            f"The book at {path.parent} was written by a newer version (step {newest[0]}, "
            f"this version knows {NEWEST}). It was left untouched.",
            "update this program, then open the book again",
        )


def _open(path: Path, wait_seconds: float, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    give_up = time.monotonic() + wait_seconds
    while True:
        try:
            return duckdb.connect(str(path), read_only=read_only, config=dict(SETTINGS))
        except duckdb.IOException as cause:
            problem = _from_disk(str(path.parent), str(cause))
            if not isinstance(problem, BookBusy) or time.monotonic() >= give_up:
                raise problem from cause
            time.sleep(0.05)
        except duckdb.Error as cause:
            raise NotABook(
                f"{path} cannot be opened as a book: {_first_line(cause)}.",
                "restore it from a backup, or name another folder with --book",
            ) from cause


def _from_disk(place: str, text: str) -> StoreError:
    lower = text.lower()
    if "lock" in lower:
        holder = _HOLDER.search(text)
        process = int(holder.group(1)) if holder else None
        who = f"process {process}" if process else "another program"
        return BookBusy(
            f"The book at {place} is in use by {who}.",
            "stop it first (for a running service: Ctrl-C where it was started), then try again",
            process_id=process,
        )
    if "no space left" in lower or "disk full" in lower:
        return BookReadOnly(
            f"The disk that holds the book at {place} is full; nothing was changed.",
            "make room and try again",
        )
    if "permission denied" in lower or "read-only" in lower:
        return BookReadOnly(
            f"The book at {place} cannot be written: the folder or file is read-only.",
            "allow writing there, or copy the book to a folder of your own",
        )
    if "version" in lower and "storage" in lower:
        return BookNewer(
            f"The book at {place} was written by a newer database version; it was left untouched.",
            "update this program, then open the book again",
        )
    return NotABook(
        f"The book at {place} cannot be read: {text.strip().splitlines()[0]}",
        "restore it from a backup, or name another folder with --book",
    )


def _first_line(cause: BaseException) -> str:
    return str(cause).strip().splitlines()[0].rstrip(".")
