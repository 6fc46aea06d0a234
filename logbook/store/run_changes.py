"""Putting runs into a DuckDB book: whole frames or nothing, history kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import duckdb
import polars as pl

from logbook.errors import RunChanged, RunConflict, RunNotFound
from logbook.runs.content import content_digests
from logbook.store.history import supersede
from logbook.store.interface import Stored
from logbook.store.opening import now_utc, transaction
from logbook.store.put_rules import counted, outcomes_of

CHUNK_ROWS = 100_000
NOT_BEFORE = "greatest(CAST(? AS TIMESTAMP), recorded_at)"
"""The moment of a change, never before the version it replaces: clocks are set back at times."""
NOT_BEFORE_OF_RUNS = "greatest(CAST($recorded_at AS TIMESTAMP), runs.recorded_at)"


def put_frame(
    cursor: duckdb.DuckDBPyConnection,
    runs: pl.DataFrame,
    digests: pl.Series,
    *,
    source: str,
    amend: bool,
    dry_run: bool,
    settle: Callable[[Stored], None],
    progress: Callable[[int], None] | None,
    sent: pl.DataFrame | None = None,
) -> Stored:
    """Store a frame in one transaction; see :meth:`logbook.store.interface.Store.put`.

    Parameters
    ----------
    runs, digests
        Runs with every column of the book, and their content digests.
    source, amend, dry_run, settle, progress
        As of ``Store.put``.
    sent
        The frame as it was sent, where it has something filled in.
    """
    whole = runs.with_columns(digests.alias("content_mark"))
    with transaction(cursor):
        outcomes = outcomes_of(cursor, runs, digests, amend=amend, sent=sent)
        keeping = {"source": source, "recorded_at": now_utc()}
        for start in range(0, runs.height, CHUNK_ROWS):
            chunk = slice(start, start + CHUNK_ROWS)
            if not dry_run:
                _add(cursor, whole[chunk].filter(outcomes[chunk] == "new"), keeping)
            if progress is not None:
                progress(outcomes[chunk].len())
        if not dry_run:
            _change(cursor, whole.filter(outcomes == "change"), keeping)
        stored = counted(outcomes.to_list())
        settle(stored)
    return stored


def digests_of(runs: pl.DataFrame) -> pl.Series:
    """Content digests, a chunk at a time: the texts they are made of take much memory."""
    chunks = runs.iter_slices(CHUNK_ROWS)
    return pl.concat([content_digests(runs.clear()), *map(content_digests, chunks)])


def _add(
    cursor: duckdb.DuckDBPyConnection, runs: pl.DataFrame, keeping: Mapping[str, object]
) -> None:
    if runs.is_empty():
        return
    names = ", ".join(f'"{name}"' for name in runs.columns)
    cursor.register("chunk", runs.to_arrow())
    cursor.execute(
        f"INSERT INTO runs ({names}, version, change_what, source, recorded_at) "
        f"SELECT {names}, 1, 'logged', $source, $recorded_at FROM chunk",
        keeping,
    )
    cursor.unregister("chunk")


def _change(
    cursor: duckdb.DuckDBPyConnection, runs: pl.DataFrame, keeping: Mapping[str, object]
) -> None:
    supersede(cursor, runs["run_ref"].to_list())
    values = ", ".join(f'"{name}" = changed."{name}"' for name in runs.columns if name != "run_ref")
    for chunk in runs.iter_slices(CHUNK_ROWS):
        cursor.register("changed", chunk.to_arrow())
        cursor.execute(
            f"UPDATE runs SET {values}, version = version + 1, change_what = 'amended', "
            f"change_why = NULL, source = $source, recorded_at = {NOT_BEFORE_OF_RUNS} "
            "FROM changed WHERE changed.run_ref = runs.run_ref",
            keeping,
        )
        cursor.unregister("changed")


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
    digest = content_digests(run).item()
    if _digest_of(cursor, run_ref) == digest:
        return
    supersede(cursor, [run_ref])
    names = [name for name in run.columns if name != "run_ref"]
    settings = ", ".join(f'"{name}" = ?' for name in names)
    values = [run[name].item() for name in names]
    cursor.execute(
        f"UPDATE runs SET {settings}, content_mark = ?, version = version + 1, "
        f"change_what = 'amended', change_why = ?, source = ?, recorded_at = {NOT_BEFORE} "
        "WHERE run_ref = ?",
        [*values, digest, why, source, now_utc(), run_ref],
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


def _digest_of(cursor: duckdb.DuckDBPyConnection, run_ref: str) -> str | None:
    rows = cursor.execute("SELECT content_mark FROM runs WHERE run_ref = ?", [run_ref]).fetchall()
    return str(rows[0][0]) if rows else None
