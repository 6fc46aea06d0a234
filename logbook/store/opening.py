"""Opening a DuckDB book: whose it is, which version, and the steps that bring it up to date."""

from __future__ import annotations

import os
import random
import re
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from logbook.errors import (
    BookBusy,
    BookNewer,
    BookReadOnly,
    LogbookError,
    NoBook,
    NotABook,
    StoreError,
)
from logbook.store.migrations import MIGRATIONS, NEWEST, RECORD_OF_MIGRATIONS, missing_columns
from logbook.vocabulary.own_columns import Own

FILE_NAME = "logbook.duckdb"
SETTINGS: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
    # It counts rows that were deleted since: the newest run would be none after a withdrawal.
    "disabled_optimizers": "row_group_pruner",
}
BUSY_SECONDS = 3.0
"""How long a command waits for another that holds the book for a moment."""

LONGEST_PAUSE_SECONDS = 0.4

_HOLDER = re.compile(r"PID (\d+)")
_QUOTED = re.compile(r'"[^"]*"')


def now_utc() -> datetime:
    """The present moment as the book keeps it: naive, in UTC."""
    return datetime.now(UTC).replace(tzinfo=None)


# Nothing here may look into the file itself: closing any handle of a file lets go of every lock
# that the process holds on it (POSIX fcntl), and a second program could then open a book in use.


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


def bring_up_to_date(connection: duckdb.DuckDBPyConnection, own: Sequence[Own]) -> tuple[int, ...]:
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
    for statement in missing_columns(present, own):
        connection.execute(statement)
    return tuple(ran)


@contextmanager
def transaction(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """All or nothing: commit at the end, roll back on any error."""
    connection.execute("BEGIN TRANSACTION")
    try:
        yield
    except BaseException:
        # After a failure of the disk there is nothing left to roll back: the first error counts.
        with suppress(duckdb.Error):
            connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def read_frame(cursor: duckdb.DuckDBPyConnection, sql: str, values: Sequence[Any]) -> pl.DataFrame:
    """What a query finds, as a frame."""
    frame = pl.from_arrow(cursor.sql(sql, params=list(values)).to_arrow_table())
    assert isinstance(frame, pl.DataFrame)
    return frame


@contextmanager
def told_plainly(place: str) -> Iterator[None]:
    """Turn the database's own errors into ours, with what to do."""
    try:
        yield
    except LogbookError:
        raise
    except duckdb.Error as cause:
        if problem := _from_disk(place, str(cause)):
            raise problem from cause
        if isinstance(cause, duckdb.IOException):
            raise _damaged(place, cause) from cause
        if isinstance(cause, duckdb.FatalException):
            raise StoreError(
                f"The book at {place} has stopped after a failure: {_first_line(cause)}.",
                "start this program again; what was kept before is safe",
            ) from cause
        raise StoreError(
            f"The book at {place} could not do what was asked: {_first_line(cause)}.",
            "nothing was changed; if this happens again, report it with this message",
        ) from cause


def _refuse_newer(path: Path, wait_seconds: float) -> None:
    # Read-only first: opening a newer book for writing could already change its file.
    connection = _open(path, wait_seconds, read_only=True)
    try:
        tables = {row[0] for row in connection.execute("SHOW TABLES").fetchall()}
        step = _newest_step(connection) if "migrations" in tables else 0
    except duckdb.Error as cause:
        raise _foreign(path) from cause
    finally:
        connection.close()
    if step > NEWEST:
        raise BookNewer(
            f"The book at {path.parent} was written by a newer version (step {step}, "
            f"this version knows {NEWEST}). It was left untouched.",
            "update this program, then open the book again",
        )
    # A book whose making was cut short has no tables yet, or only the record of its steps.
    if (step > 0 and "runs" not in tables) or (step == 0 and tables - {"migrations"}):
        raise _foreign(path)


def _newest_step(connection: duckdb.DuckDBPyConnection) -> int:
    rows = connection.execute("SELECT CAST(max(number) AS BIGINT) FROM migrations").fetchall()
    return int(rows[0][0] or 0)


def _foreign(path: Path) -> NotABook:
    return NotABook(
        f"{path} is a database, but not a book of this program.",
        "name another folder with --book",
    )


def _open(path: Path, wait_seconds: float, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    give_up = time.monotonic() + wait_seconds
    pause = 0.05
    while True:
        try:
            return duckdb.connect(str(path), read_only=read_only, config=dict(SETTINGS))
        except duckdb.Error as cause:
            problem = _from_disk(str(path.parent), str(cause)) or _damaged(str(path.parent), cause)
            if not isinstance(problem, BookBusy) or time.monotonic() >= give_up:
                raise problem from cause
            # A try costs the processor some 20 ms: those who wait must not hold up who works.
            time.sleep(pause * random.uniform(0.5, 1.5))
            pause = min(pause * 1.5, LONGEST_PAUSE_SECONDS)


def _from_disk(place: str, text: str) -> StoreError | None:
    """What the database's own words mean, where it is about the file; else None."""
    # Names of folders may hold any of the words looked for: only the rest of the text counts.
    lower = _QUOTED.sub("", text.replace(place, "")).lower()
    if "set lock on file" in lower or "used by another process" in lower:
        holder = _HOLDER.search(text)
        return _busy(place, int(holder.group(1)) if holder else None)
    if "different configuration than existing connections" in lower:
        return _busy(place, os.getpid())
    if any(said in lower for said in ("no space left", "file too large", "quota exceeded")):
        return BookReadOnly(
            f"The disk that holds the book at {place} is full; the last change was not kept.",
            "make room, start this program again and repeat the last step: nothing is added twice",
        )
    if any(said in lower for said in ("permission denied", "read-only file", "not permitted")):
        return BookReadOnly(
            f"The book at {place} cannot be written: the folder or file is read-only.",
            "allow writing there, or copy the book to a folder of your own",
        )
    if "extension" in lower and "not found" in lower:
        return NotABook(
            f"The file of the book at {place} is of another program.",
            "restore it from a backup, or name another folder with --book",
        )
    if "newer version of duckdb" in lower:
        return BookNewer(
            f"The book at {place} was written by a newer database version; it was left untouched.",
            "update this program, then open the book again",
        )
    return None


def _busy(place: str, process: int | None) -> BookBusy:
    if process == os.getpid():
        who = "this very program"
    else:
        who = f"process {process}" if process else "another program"
    return BookBusy(
        f"The book at {place} is in use by {who}.",
        "stop it first (for a running service: Ctrl-C where it was started), then try again",
        process_id=process,
    )


def _damaged(place: str, cause: BaseException) -> NotABook:
    return NotABook(
        f"The book at {place} cannot be read: {_first_line(cause)}.",
        "restore it from a backup, or name another folder with --book",
    )


def _first_line(cause: BaseException) -> str:
    return str(cause).strip().splitlines()[0].rstrip(".")
