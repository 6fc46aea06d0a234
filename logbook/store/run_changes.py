"""Putting runs into a DuckDB book: whole frames or nothing, history kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import duckdb
import polars as pl

from logbook.errors import RunChanged, RunConflict, RunNotFound
from logbook.runs.content import content_digests
from logbook.store.history import supersede
from logbook.store.interface import Stored
from logbook.store.opening import now_utc, transaction

CHUNK_ROWS = 100_000
NOT_BEFORE = "greatest(CAST(? AS TIMESTAMP), recorded_at)"
"""The moment of a change, never before the version it replaces: clocks are set back at times."""
NOT_BEFORE_OF_RUNS = NOT_BEFORE.replace("recorded_at", "runs.recorded_at")


class _RolledBack(Exception):
    """Leaves a transaction without keeping anything."""


def put_frame(
    cursor: duckdb.DuckDBPyConnection,
    columns: Sequence[str],
    *,
    source: str,
    amend: bool,
    dry_run: bool,
    settle: Callable[[Stored], None] | None,
    sent: pl.DataFrame | None = None,
) -> Stored:
    """Store the staged frame in one transaction; see :meth:`logbook.store.interface.Store.put`.

    Parameters
    ----------
    cursor
        The one on which :func:`stage` was called.
    columns
        Names of the frame's columns.
    source, amend, dry_run, settle
        As of ``Store.put``.
    sent
        The frame as it was sent, where it has something filled in.
    """
    stored: Stored | None = None
    try:
        with transaction(cursor):
            stored = _merge(cursor, columns, source=source, amend=amend, sent=sent)
            cursor.execute("DROP TABLE incoming")
            if settle is not None:
                settle(stored)
            if dry_run:
                raise _RolledBack
    except _RolledBack:
        pass
    assert stored is not None
    return stored


def stage(
    cursor: duckdb.DuckDBPyConnection,
    runs: pl.DataFrame,
    progress: Callable[[int], None] | None,
) -> None:
    """Lay a frame ready in a table that only this cursor sees, and that goes with it."""
    cursor.execute("DROP TABLE IF EXISTS incoming")
    for start in range(0, max(runs.height, 1), CHUNK_ROWS):
        # Marked a chunk at a time: the texts that marks are made of take much memory.
        chunk = runs.slice(start, CHUNK_ROWS)
        marked = chunk.with_columns(content_digests(chunk)).with_row_index("position", offset=start)
        cursor.register("chunk", marked.to_arrow())
        if start == 0:
            cursor.execute("CREATE TEMP TABLE incoming AS SELECT * FROM chunk")
        else:
            cursor.execute("INSERT INTO incoming SELECT * FROM chunk")
        cursor.unregister("chunk")
        if progress is not None:
            progress(chunk.height)


def _merge(
    cursor: duckdb.DuckDBPyConnection,
    columns: Sequence[str],
    *,
    source: str,
    amend: bool,
    sent: pl.DataFrame | None,
) -> Stored:
    _decide_fates(cursor, amend=amend)
    if sent is not None:
        _skip_known_as_sent(cursor, sent, amend=amend)
    moment = now_utc()
    names = ", ".join(f'"{name}"' for name in columns)
    cursor.execute(
        f"INSERT INTO runs ({names}, content_mark, version, change_what, change_why, source, "
        f"recorded_at) SELECT {names}, content_mark, 1, 'logged', NULL, ?, ? FROM incoming "
        "WHERE fate IS NULL",
        [source, moment],
    )
    changed = cursor.execute(
        "SELECT run_ref FROM incoming WHERE fate = 'change' ORDER BY position"
    ).fetchall()
    if changed:
        supersede(cursor, [row[0] for row in changed])
        settings = ", ".join(
            f'"{name}" = incoming."{name}"' for name in columns if name != "run_ref"
        )
        cursor.execute(
            f"UPDATE runs SET {settings}, content_mark = incoming.content_mark, "
            "version = runs.version + 1, change_what = 'amended', change_why = NULL, "
            f"source = ?, recorded_at = {NOT_BEFORE_OF_RUNS} FROM incoming "
            "WHERE incoming.fate = 'change' AND incoming.run_ref = runs.run_ref",
            [source, moment],
        )
    return _counted(cursor, len(changed))


def _decide_fates(cursor: duckdb.DuckDBPyConnection, *, amend: bool) -> None:
    """Mark each incoming row: skip, conflict or change; those left without are new."""
    cursor.execute("ALTER TABLE incoming ADD COLUMN fate VARCHAR")
    # Within one frame the first row of a reference counts: its twins are skipped if they agree.
    cursor.execute(
        "UPDATE incoming SET fate = CASE WHEN content_mark = f.mark THEN 'skip' "
        "ELSE 'conflict' END FROM (SELECT run_ref AS ref, min(position) AS first, "
        "arg_min(content_mark, position) AS mark FROM incoming GROUP BY run_ref "
        "HAVING count(*) > 1) AS f WHERE run_ref = f.ref AND position > f.first"
    )
    # What an earlier version already said is not news, nor is a withdrawn run.
    cursor.execute(
        "UPDATE incoming SET fate = CASE WHEN r.content_mark = incoming.content_mark THEN 'skip' "
        "ELSE 'change' END FROM runs AS r WHERE incoming.fate IS NULL "
        "AND r.run_ref = incoming.run_ref"
    )
    if not amend:
        # A twin that differs from the first may still say what the book says already.
        cursor.execute(
            "UPDATE incoming SET fate = 'skip' FROM runs AS r WHERE incoming.fate = 'conflict' "
            "AND r.run_ref = incoming.run_ref AND r.content_mark = incoming.content_mark"
        )
    cursor.execute(
        "UPDATE incoming SET fate = 'skip' FROM run_history AS h WHERE "
        "(incoming.fate IS NULL OR (incoming.fate = 'change' AND NOT ?)) "
        "AND h.run_ref = incoming.run_ref AND h.content_mark = incoming.content_mark",
        [amend],
    )
    cursor.execute(
        "UPDATE incoming SET fate = 'conflict' FROM run_history AS h WHERE incoming.fate IS NULL "
        "AND h.run_ref = incoming.run_ref"
    )
    if not amend:
        cursor.execute("UPDATE incoming SET fate = 'conflict' WHERE fate = 'change'")


def _skip_known_as_sent(
    cursor: duckdb.DuckDBPyConnection, sent: pl.DataFrame, *, amend: bool
) -> None:
    """Take back conflicts about runs that the book has just as they were sent."""
    conflicts = cursor.execute("SELECT position FROM incoming WHERE fate = 'conflict'").fetchall()
    if not conflicts:
        return
    places = [int(row[0]) for row in conflicts]
    rows = sent[places]
    marks = rows.select("run_ref", content_digests(rows), position=pl.Series(places))
    cursor.register("sent", marks.to_arrow())
    # With amend a run that stands is changed; what was withdrawn stays so all the same.
    present = "" if amend else "SELECT run_ref, content_mark FROM runs UNION ALL "
    cursor.execute(
        "UPDATE incoming SET fate = 'skip' WHERE position IN (SELECT position FROM sent SEMI JOIN "
        f"({present}SELECT run_ref, content_mark FROM run_history) USING (run_ref, content_mark))"
    )
    cursor.unregister("sent")


def _counted(cursor: duckdb.DuckDBPyConnection, amended: int) -> Stored:
    fates: dict[str | None, int] = dict(
        cursor.execute("SELECT fate, count(*) FROM incoming GROUP BY fate").fetchall()
    )
    conflicts = cursor.execute(
        "SELECT position FROM incoming WHERE fate = 'conflict' ORDER BY position"
    ).fetchall()
    return Stored(
        added=fates.get(None, 0),
        skipped=fates.get("skip", 0),
        amended=amended,
        conflicts=tuple(int(row[0]) for row in conflicts),
    )


def amend_run(
    cursor: duckdb.DuckDBPyConnection,
    run: pl.DataFrame,
    *,
    why: str | None,
    source: str,
    seen: int | None = None,
) -> None:
    """Replace one run, keeping the version before in the history; within a transaction.

    What is refused is refused before anything is written.
    """
    run_ref = run["run_ref"].item()
    _require(cursor, run_ref, seen)
    mark = content_digests(run).item()
    if _mark_of(cursor, run_ref) == mark:
        return
    supersede(cursor, [run_ref])
    names = [name for name in run.columns if name != "run_ref"]
    settings = ", ".join(f'"{name}" = ?' for name in names)
    values = [run[name].item() for name in names]
    cursor.execute(
        f"UPDATE runs SET {settings}, content_mark = ?, version = version + 1, "
        f"change_what = 'amended', change_why = ?, source = ?, recorded_at = {NOT_BEFORE} "
        "WHERE run_ref = ?",
        [*values, mark, why, source, now_utc(), run_ref],
    )


def withdraw_run(
    cursor: duckdb.DuckDBPyConnection,
    run_ref: str,
    *,
    why: str,
    source: str,
    seen: int | None = None,
) -> None:
    """Move a run out of the counts, within a transaction; its last entry says why.

    What is refused is refused before anything is written.
    """
    _require(cursor, run_ref, seen)
    supersede(cursor, [run_ref])
    cursor.execute(
        "INSERT INTO run_history SELECT run_ref, version + 1, content_mark, 'withdrawn', ?, "
        f"?, {NOT_BEFORE}, content FROM run_history WHERE run_ref = ? AND version = "
        "(SELECT max(version) FROM run_history WHERE run_ref = ?)",
        [why, source, now_utc(), run_ref, run_ref],
    )
    cursor.execute("DELETE FROM runs WHERE run_ref = ?", [run_ref])


def _require(cursor: duckdb.DuckDBPyConnection, run_ref: str, seen: int | None = None) -> None:
    found = cursor.execute("SELECT version FROM runs WHERE run_ref = ?", [run_ref]).fetchall()
    if found:
        if seen is not None and found[0][0] != seen:
            raise RunChanged(
                f"The run {run_ref} was changed by somebody else meanwhile; nothing was written.",
                "look at the run as it stands now, then decide again",
            )
        return
    # Rows are fetched to the end everywhere: a half-read result blocks the cursor's next statement.
    gone = cursor.execute(
        "SELECT 1 FROM run_history WHERE run_ref = ? AND change_what = 'withdrawn'", [run_ref]
    ).fetchall()
    if gone:
        raise RunConflict(
            f"The run {run_ref} was withdrawn.", "log it anew under another reference"
        )
    raise RunNotFound(
        f"There is no run {run_ref} in the book.", "look its reference up on the Runs page"
    )


def _mark_of(cursor: duckdb.DuckDBPyConnection, run_ref: str) -> str | None:
    rows = cursor.execute("SELECT content_mark FROM runs WHERE run_ref = ?", [run_ref]).fetchall()
    return str(rows[0][0]) if rows else None
