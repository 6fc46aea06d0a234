"""The whole book as Parquet files of one moment, and a book made of such files."""

from __future__ import annotations

import re
from pathlib import Path

import duckdb

from logbook.errors import BookNewer, NotABook, StoreError
from logbook.shop.own_columns import OWN_NAME
from logbook.store.migrations import MIGRATIONS, NEWEST, RECORD_OF_MIGRATIONS
from logbook.store.opening import bring_up_to_date, create, told_plainly, transaction

RECORD = "migrations"
"""The table that says which steps a book has taken."""

OWN_TYPES = ("BIGINT", "VARCHAR")
"""Those of a shop's own defect kinds and columns."""


def write_snapshot(cursor: duckdb.DuckDBPyConnection, folder: Path) -> dict[str, int]:
    """Write every table to ``folder``, all as of one moment; others may go on writing.

    Every stored value is read on the way, so that the database checks its own checksums.

    Returns
    -------
    dict
        Rows by table; the file of a table is its name with ``.parquet``.

    Raises
    ------
    StoreError
        The files cannot be written.
    """
    try:
        with transaction(cursor):
            return {
                name: _copied(cursor, name, folder / f"{name}.parquet")
                for name in table_names(cursor)
            }
    except duckdb.IOException as cause:
        # The database names the file: it may as well be its own that cannot be read.
        if not re.search(r"\.parquet[\"'.:]", str(cause)):
            raise
        raise StoreError(
            f"The book's tables cannot be copied to {folder}: {str(cause).splitlines()[0]}.",
            "make room there, or set TMPDIR to a folder with room",
        ) from cause


def table_names(cursor: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """The book's tables in the order in which they were made."""
    rows = cursor.execute(
        "SELECT table_name FROM duckdb_tables() WHERE NOT temporary AND NOT internal "
        "AND database_name = current_database() ORDER BY table_oid"
    ).fetchall()
    return tuple(row[0] for row in rows)


def book_from_snapshot(folder: Path, book: Path) -> dict[str, int]:
    """Make a book's database of a snapshot, and bring it up to date.

    Parameters
    ----------
    folder
        The snapshot: one Parquet file a table.
    book
        An existing folder without a database.

    Returns
    -------
    dict
        Rows taken, by table.

    Raises
    ------
    BookNewer
        The snapshot is of a newer version.
    NotABook
        The files are not those of a book.
    """
    files = {path.stem: path for path in sorted(folder.glob("*.parquet"))}
    if RECORD not in files:
        raise _foreign(f"there is no table of {RECORD}")
    with told_plainly(str(book)):
        connection = create(book)
        try:
            step = _step(connection, files[RECORD])
            with transaction(connection):
                _make_tables(connection, step)
                made = table_names(connection)
                if set(made) != set(files):
                    odd = sorted(set(made) ^ set(files))
                    raise _foreign(f"its tables are not those of step {step} ({', '.join(odd)})")
                rows = {name: _taken(connection, name, files[name]) for name in made}
            bring_up_to_date(connection, ())
            connection.execute("CHECKPOINT")
        finally:
            connection.close()
    return rows


def _copied(cursor: duckdb.DuckDBPyConnection, name: str, path: Path) -> int:
    [(rows,)] = cursor.execute(
        f'COPY "{name}" TO {_quoted(path)} (FORMAT parquet, COMPRESSION zstd)'
    ).fetchall()
    return int(rows)


def _quoted(path: Path) -> str:
    return "'" + str(path).replace("'", "''") + "'"


def _step(connection: duckdb.DuckDBPyConnection, record: Path) -> int:
    rows = connection.execute(
        "SELECT number FROM read_parquet(?) ORDER BY number", [str(record)]
    ).fetchall()
    numbers = [int(row[0]) for row in rows]
    if numbers and numbers[-1] > NEWEST:
        raise BookNewer(
            f"The backup is of a newer version (step {numbers[-1]}, this version knows {NEWEST}).",
            "update this program, then restore again",
        )
    if not numbers or numbers != list(range(1, len(numbers) + 1)):
        raise _foreign(f"its steps are {numbers}")
    return numbers[-1]


def _make_tables(connection: duckdb.DuckDBPyConnection, step: int) -> None:
    connection.execute(RECORD_OF_MIGRATIONS)
    for migration in MIGRATIONS[:step]:
        for statement in migration.statements:
            connection.execute(statement)


def _taken(connection: duckdb.DuckDBPyConnection, name: str, path: Path) -> int:
    # A step may have filled the table; the snapshot alone says what it holds.
    connection.execute(f'DELETE FROM "{name}"')
    present = {row[0] for row in connection.execute(f'DESCRIBE "{name}"').fetchall()}
    described = connection.execute("DESCRIBE SELECT * FROM read_parquet(?)", [str(path)]).fetchall()
    for column, kept, *_ in described:
        if column in present:
            continue
        # What a shop has added to its run sheet is in no migration.
        if name != "runs" or kept not in OWN_TYPES or not OWN_NAME.fullmatch(column):
            raise _foreign(f"its table {name} has a column {column!r}")
        connection.execute(f'ALTER TABLE "{name}" ADD COLUMN "{column}" {kept}')
    [(rows,)] = connection.execute(
        f'INSERT INTO "{name}" BY NAME SELECT * FROM read_parquet(?)', [str(path)]
    ).fetchall()
    return int(rows)


def _foreign(found: str) -> NotABook:
    return NotABook(
        f"These are not the tables of a book: {found}.", "restore another backup of the book"
    )
